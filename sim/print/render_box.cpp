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

/// One row at a time: where colours change, then the colours.
class BoxRows {
 public:
  BoxRows(const PixelBox& box, int height, const Tuple& cover, const std::vector<Uneven>& uneven,
          Mixer& mixer)
      : box_(box),
        height_(height),
        wide_(static_cast<std::size_t>(box.width)),
        lead_(uneven.front().rows->x0 < box.x0 ? 1 : 0),
        cover_(cover),
        uneven_(uneven),
        mixer_(mixer) {}

  void render(int row, XYZf* to, std::uint64_t* begins) {
    to_ = to;
    row_ = row + 1;
    first_ = static_cast<std::size_t>(row_) * static_cast<std::size_t>(uneven_.front().rows->width) + lead_;
    survey();
    std::fill_n(begins, ColourRuns::words(box_.width), std::uint64_t{0});
    for_each_flag(fresh_.data(), wide_, [&](std::size_t x) {
      const std::uint64_t pixels = fresh_[x] == kTogether ? (std::uint64_t{1} << kFormLanes) - 1 : 1;
      begins[x / 64] |= pixels << (x % 64);
      if (fresh_[x] == kAlone) mix_pixel(x);
    });
  }

 private:
  static_assert(64 % kFormLanes == 0);
  static constexpr std::uint8_t kAlone = 1, kTogether = 2;  // of fresh_: with the fifteen to the right

  void survey() {
    std::fill_n(cut_.begin(), wide_, std::uint16_t{0});
    std::fill_n(other_.begin(), wide_, std::uint16_t{0});
    for (std::size_t u = 0; u < uneven_.size(); ++u) {
      const std::uint16_t* c = uneven_[u].rows->cover.data() + first_;
      for (std::size_t x = 1; x < wide_; ++x)
        other_[x] = static_cast<std::uint16_t>(other_[x] | (c[x] ^ c[x - 1]));
      find_cuts(*uneven_[u].rows, static_cast<std::uint16_t>(1u << u));
    }
    fresh_[0] = kAlone;
    for (std::size_t x = 1; x < wide_; ++x) fresh_[x] = (cut_[x] | cut_[x - 1] | other_[x]) != 0;
    if (!mixer_.two_levels()) return;
    constexpr std::size_t kGroup = kFormLanes;
    for (std::size_t x = 0; x + kGroup <= wide_; x += kGroup) {
      int changes = 0, cuts = 0;
      for (std::size_t i = x + 1; i < x + kGroup; ++i) changes += fresh_[i];
      if (changes < kWorthWhile) continue;
      for (std::size_t i = x; i < x + kGroup; ++i) cuts |= cut_[i];
      if (cuts != 0 || !mix_group(x)) continue;
      std::fill_n(fresh_.begin() + static_cast<std::ptrdiff_t>(x), kGroup, std::uint8_t{0});
      fresh_[x] = kTogether;
      if (x + kGroup < wide_) fresh_[x + kGroup] = kAlone;
    }
  }

  void find_cuts(const CoverRows& rows, std::uint16_t bit) {
    if (rows.distance.empty()) return;
    const float* d = rows.distance.data() + first_;
    const std::size_t blocks = near_blocks(rows.width);
    for_each_flag(rows.near.data() + static_cast<std::size_t>(row_) * blocks, blocks, [&](std::size_t block) {
      const std::size_t column = block * kNearBlock;
      const std::size_t from = column > lead_ ? column - lead_ : 0;
      const std::size_t to = std::min(column + kNearBlock - lead_, wide_);
      for (std::size_t x = from; x < to; ++x)
        cut_[x] = static_cast<std::uint16_t>(cut_[x] | (std::abs(d[x]) < kEdgeHalfWidth ? bit : 0));
    });
  }

  /// Sixteen neighbours without an edge, in the cell in which each plate that is between none and solid in
  /// any of them is fractional: its form holds to both ends. False if there is none.
  bool mix_group(std::size_t x) {
    std::uint32_t fractional = 0, solid = 0;
    for (int p = 0; p < mixer_.plates(); ++p) {
      fractional |= static_cast<std::uint32_t>(cover_[p] != 0 && cover_[p] != 65535) << p;
      solid |= static_cast<std::uint32_t>(cover_[p] == 65535) << p;
    }
    for (const Uneven& u : uneven_) {
      const std::uint16_t* c = u.rows->cover.data() + first_ + x;
      std::uint16_t low = c[0], high = c[0];
      for (std::size_t i = 1; i < kFormLanes; ++i) {
        low = std::min(low, c[i]);
        high = std::max(high, c[i]);
      }
      const std::uint32_t bit = 1u << u.plate;
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
      while (u < uneven_.size() && uneven_[u].plate < p) ++u;
      if (!(fractional >> p & 1u)) continue;
      float* share = lanes.share[lane++];
      if (u < uneven_.size() && uneven_[u].plate == p) {
        const std::uint16_t* c = uneven_[u].rows->cover.data() + first_ + x;
        for (std::size_t i = 0; i < kFormLanes; ++i) share[i] = static_cast<float>(c[i]) * kFormShare;
      } else {
        std::fill_n(share, kFormLanes, static_cast<float>(cover_[p]) * kFormShare);
      }
    }
    mix_lanes(*form, lanes);
    for (std::size_t i = 0; i < kFormLanes; ++i)
      to_[x + i] = {lanes.xyz[0][i], lanes.xyz[1][i], lanes.xyz[2][i]};
    return true;
  }

  void mix_pixel(std::size_t x) {
    const std::size_t i = first_ + x;
    Tuple cover = cover_;
    for (const Uneven& u : uneven_) cover[u.plate] = u.rows->cover[i];
    const auto mix = [&](const Tuple& t) { return to_double(mixer_.mix(t.data())); };
    if (cut_[x] == 0) {
      mixer_.put(cover.data(), to_ + x);
    } else if (std::has_single_bit(cut_[x])) {
      const int e = uneven_[static_cast<std::size_t>(std::countr_zero(cut_[x]))].plate;
      const double share = cover[e] / 65535.0;
      cover[e] = 65535;
      const XYZ in = mix(cover);
      cover[e] = 0;
      to_[x] = to_float(in * share + mix(cover) * (1 - share));
    } else {
      std::array<int, kMostPlates> edges;
      std::array<std::uint64_t, kMostPlates> masks;
      std::size_t count = 0;
      for (std::size_t u = 0; u < uneven_.size(); ++u) {
        if (!(cut_[x] >> u & 1u)) continue;
        float gx = 0, gy = 0;
        slope(*uneven_[u].rows, height_, static_cast<int>(x + lead_), row_, gx, gy);
        masks[count] = points_inside(uneven_[u].rows->distance[i], gx, gy);
        edges[count++] = uneven_[u].plate;
      }
      to_[x] = to_float(mix_cut<XYZ>(std::span(edges).first(count), masks, cover, mix));
    }
  }

  const PixelBox box_;
  const int height_;
  const std::size_t wide_, lead_;  // lead_: columns of the plates' rows before the box
  const Tuple cover_;
  const std::vector<Uneven>& uneven_;
  Mixer& mixer_;
  XYZf* to_ = nullptr;
  int row_ = 0;                                       // of the plates' rows
  std::size_t first_ = 0;                             // place of the box's first pixel in that row
  std::array<std::uint16_t, kMostBoxColumns> cut_;    // which of the uneven plates cut the pixel
  std::array<std::uint16_t, kMostBoxColumns> other_;  // not 0: some cover differs from the left neighbour's
  std::array<std::uint8_t, kMostBoxColumns> fresh_;   // not 0: the colour is not the left neighbour's
};

}  // namespace

void render_box(const PixelBox& box, int height, Tuple cover, const std::vector<Uneven>& uneven, Mixer& mixer,
                const RunTarget& out) {
  for (const Uneven& u : uneven) cover[u.plate] = 0;
  BoxRows rows(box, height, cover, uneven, mixer);
  for (std::size_t row = 0; row < static_cast<std::size_t>(box.rows); ++row)
    rows.render(static_cast<int>(row), out.xyz + row * out.stride, out.begins + row * out.words);
  mixer.settle();
}

}  // namespace kirtle::detail
