#include "print/render_box.h"

#include "base/flags.h"
#include "light/colour_runs.h"
#include "print/cut_pixel.h"
#include "print/shrinker.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace kirtle::detail {

namespace {

/// Of sixteen neighbours, so many changes of tuple make it worth while to mix all of them, equal ones too.
constexpr int kWorthWhile = 4;

/// At least `count` bits are set. (Counting all of them is a call where the processor may not know how to.)
bool so_many(std::uint32_t bits, int count) {
  for (int i = 1; i < count; ++i) bits &= bits - 1;
  return bits != 0;
}

/// One bit for each of a group's pixels: whether its cover differs from the left neighbour's, which is there.
std::uint32_t changes(const std::uint16_t* c, int count) {
  if (count == kGroup) return differing(c, c - 1);
  std::uint32_t out = 0;
  for (int i = 0; i < count; ++i) out |= static_cast<std::uint32_t>(c[i] != c[i - 1]) << i;
  return out;
}

/// The same: whether a contour at these distances cuts it.
std::uint32_t cuts_of(const float* d, int count) {
  if (count == kGroup) return within(d, kEdgeHalfWidth);
  std::uint32_t out = 0;
  for (int i = 0; i < count; ++i) out |= static_cast<std::uint32_t>(std::abs(d[i]) < kEdgeHalfWidth) << i;
  return out;
}

/// One row at a time, a group of pixels at a time: where colours change, and the colours.
class SpanRows {
 public:
  SpanRows(std::span<const BoxSpan> spans, int height, Mixer& mixer)
      : spans_(spans), height_(height), mixer_(mixer) {}

  void render(int row, XYZf* to, std::uint64_t* begins) {
    to_ = to;
    row_ = row + 1;
    anew_ = true;
    last_cut_ = false;
    const auto begin = [&](int x, std::uint32_t pixels) {
      begins[x / 64] |= std::uint64_t{pixels} << (x % 64);
    };
    for (const BoxSpan& span : spans_) {
      span_ = &span;
      const int end = span.x0 + span.width;
      if (span.count > 0) {
        for (int x = span.x0; x < end; x += kGroup) begin(x, render_group(x, std::min(kGroup, end - x)));
      } else if (anew_ || last_cut_) {
        // Where a plate begins or ends to be uneven it does not change, so that the colour before goes on.
        mixer_.put(span.cover.data(), to_ + span.x0);
        begin(span.x0, 1);
        anew_ = last_cut_ = false;
      }
    }
  }

 private:
  /// Place of a pixel in a plate's rows.
  std::size_t place(const CoverRows& rows, int x) const {
    return static_cast<std::size_t>(row_) * static_cast<std::size_t>(rows.width) +
           static_cast<std::size_t>(x - rows.x0);
  }

  /// Colours of the pixels from x on; which of them begin one.
  std::uint32_t render_group(int x, int count) {
    std::uint32_t cuts = 0, fresh = 0;
    for (std::size_t u = 0; u < span_->count; ++u) {
      const CoverRows& rows = *span_->uneven[u].rows;
      const std::size_t at = place(rows, x);
      cover_at_[u] = rows.cover.data() + at;
      // There is always a row above, so that something lies left of the first pixel.
      fresh |= changes(cover_at_[u], count);
      cut_[u] = 0;
      if (rows.near.empty()) continue;
      const std::size_t block = static_cast<std::size_t>(row_) * near_blocks(rows.x0, rows.width) +
                                near_block_of(rows.x0, x - rows.x0);
      if (rows.near[block] != 0) cuts |= cut_[u] = cuts_of(rows.distance.data() + at, count);
    }
    fresh = (fresh | cuts | cuts << 1 | (anew_ || last_cut_ ? 1U : 0U)) & ((1U << count) - 1);
    anew_ = false;
    last_cut_ = cuts >> (kGroup - 1) != 0;
    if (cuts == 0 && count == kGroup && mixer_.two_levels() && so_many(fresh & ~1U, kWorthWhile) &&
        mix_group(x)) {
      anew_ = true;
      return (1U << kGroup) - 1;
    }
    for (std::uint32_t rest = fresh; rest != 0; rest &= rest - 1) mix_pixel(x, std::countr_zero(rest));
    return fresh;
  }

  /// Sixteen neighbours without an edge, in the cell in which each plate that is between none and solid in
  /// any of them is fractional: its form holds to both ends. False if there is none.
  bool mix_group(int x) {
    std::uint32_t fractional = 0, solid = 0;
    for (int p = 0; p < mixer_.plates(); ++p) {
      fractional |= static_cast<std::uint32_t>(span_->cover[p] != 0 && span_->cover[p] != 65535) << p;
      solid |= static_cast<std::uint32_t>(span_->cover[p] == 65535) << p;
    }
    for (std::size_t u = 0; u < span_->count; ++u) {
      const std::uint16_t* c = cover_at_[u];
      std::uint16_t low = c[0], high = c[0];
      for (std::size_t i = 1; i < kFormLanes; ++i) {
        low = std::min(low, c[i]);
        high = std::max(high, c[i]);
      }
      const std::uint32_t bit = 1u << span_->uneven[u].plate;
      const bool all_none = high == 0, all_solid = low == 65535;
      fractional = all_none || all_solid ? fractional & ~bit : fractional | bit;
      solid = all_solid ? solid | bit : solid & ~bit;
    }
    const CellForm* form = mixer_.form_of(fractional, solid);
    if (form == nullptr) return false;
    FormLanes lanes;
    std::size_t u = 0;
    int lane = 0;
    for (int p = 0; p < mixer_.plates(); ++p) {
      while (u < span_->count && span_->uneven[u].plate < p) ++u;
      if (!(fractional >> p & 1u)) continue;
      float* share = lanes.share[lane++];
      if (u < span_->count && span_->uneven[u].plate == p) {
        for (std::size_t i = 0; i < kFormLanes; ++i)
          share[i] = static_cast<float>(cover_at_[u][i]) * kFormShare;
      } else {
        std::fill_n(share, kFormLanes, static_cast<float>(span_->cover[p]) * kFormShare);
      }
    }
    mix_lanes(*form, lanes);
    for (int i = 0; i < kFormLanes; ++i) to_[x + i] = {lanes.xyz[0][i], lanes.xyz[1][i], lanes.xyz[2][i]};
    return true;
  }

  /// Pixel i of the group at x.
  void mix_pixel(int x, int i) {
    Tuple cover = span_->cover;
    std::array<std::size_t, kMostPlates> cut;  // of the uneven plates, those that cut the pixel
    std::size_t count = 0;
    for (std::size_t u = 0; u < span_->count; ++u) {
      cover[span_->uneven[u].plate] = cover_at_[u][i];
      if (cut_[u] >> i & 1U) cut[count++] = u;
    }
    XYZf& to = to_[x + i];
    if (count == 0) return mixer_.put(cover.data(), &to);
    const auto mix = [&](const Tuple& t) { return to_double(mixer_.mix(t.data())); };
    if (count == 1) {
      const int e = span_->uneven[cut[0]].plate;
      const double share = cover[e] / 65535.0;
      cover[e] = 65535;
      const XYZ in = mix(cover);
      cover[e] = 0;
      to = to_float(in * share + mix(cover) * (1 - share));
      return;
    }
    std::array<int, kMostPlates> edges;
    std::array<std::uint64_t, kMostPlates> masks;
    for (std::size_t k = 0; k < count; ++k) {
      const auto& [plate, rows] = span_->uneven[cut[k]];
      float gx = 0, gy = 0;
      slope(*rows, height_, x + i - rows->x0, row_, gx, gy);
      masks[k] = points_inside(rows->distance[place(*rows, x + i)], gx, gy);
      edges[k] = plate;
    }
    to = to_float(mix_cut<XYZ>(std::span(edges).first(count), masks, cover, mix));
  }

  const std::span<const BoxSpan> spans_;
  const int height_;
  Mixer& mixer_;
  XYZf* to_ = nullptr;             // of the print's first column
  int row_ = 0;                    // of the plates' rows
  bool anew_ = true;               // the next pixel begins a colour whatever it is like
  bool last_cut_ = false;          // a contour cuts the pixel before
  const BoxSpan* span_ = nullptr;  // the one at hand
  // Of the group at hand, by uneven plate: its first cover, and which pixels a contour cuts.
  std::array<const std::uint16_t*, kMostPlates> cover_at_;
  std::array<std::uint32_t, kMostPlates> cut_;
};

}  // namespace

void render_spans(std::span<const BoxSpan> spans, int rows, int height, Mixer& mixer, const RunTarget& out) {
  SpanRows work(spans, height, mixer);
  for (std::size_t row = 0; row < static_cast<std::size_t>(rows); ++row)
    work.render(static_cast<int>(row), out.xyz + row * out.stride, out.begins + row * out.words);
  mixer.settle();
}

}  // namespace kirtle::detail
