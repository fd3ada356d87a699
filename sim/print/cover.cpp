#include "print/cover.h"

#include "base/check.h"
#include "base/flags.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kFull = 65535;
constexpr int kBlurBlock = 64;

std::uint16_t to_cover(double share) {
  return static_cast<std::uint16_t>(std::lround(std::clamp(share, 0.0, 1.0) * kFull));
}

ToneSettings tone_of(const CoverSettings& settings) {
  ToneSettings tone = settings.tone;
  if (settings.field) tone.spread = {0};  // what spreads is not more ink
  return tone;
}

int code_value(const PlateImage& image, int x, int y) {
  const std::size_t i = static_cast<std::size_t>(y) * image.width + x;
  return image.bits == 8 ? image.ink8[i] : image.ink16[i];
}

/// Whose rows these are; what they hold of covers may be anything yet.
void start(const PixelBox& box, bool field, CoverRows& out) {
  out.width = box.width;
  out.rows = box.rows;
  out.x0 = box.x0;
  out.y0 = box.y0;
  out.cover.resize(static_cast<std::size_t>(box.width) * static_cast<std::size_t>(box.rows));
  if (!field) return;
  out.distance.clear();
  out.tint.clear();
  out.near.clear();
}

/// True if sixteen samples are one value.
template <class Sample>
bool alike(const Sample* v) {
  constexpr std::size_t kWords = kNearBlock * sizeof(Sample) / sizeof(std::uint64_t);
  std::uint64_t words[kWords], first = v[0];
  for (std::size_t bits = 8 * sizeof(Sample); bits < 64; bits *= 2) first |= first << bits;
  std::memcpy(words, v, sizeof words);
  return std::all_of(words, words + kWords, [&](std::uint64_t w) { return w == first; });
}

}  // namespace

PlateCover::PlateCover(const PlateImage& image, double ppi, const CoverSettings& settings)
    : image_(image), settings_(settings), curve_(tone_of(settings)), ppi_(ppi) {
  KIRTLE_CHECK(ppi, >, 0);
  spread_px_ = settings_.field ? 0 : settings_.tone.spread.v / kUmPerInch * ppi;
  KIRTLE_CHECK(std::abs(spread_px_), <=, kMostSpreadPx);
  // Held as a float, because distances are: "beyond reach" is an exact comparison.
  reach_px_ = static_cast<double>(static_cast<float>(std::clamp(std::abs(spread_px_) + 2.25, 2.25, 64.0)));
  tone_.resize(static_cast<std::size_t>(image.max()) + 1);
  for (std::size_t v = 0; v < tone_.size(); ++v) {
    tone_[v] = to_cover(curve_.printed(static_cast<double>(v) / image.max()));
  }
  const double sigma = settings_.wick.v / kMmPerInch * ppi;
  if (settings_.field && sigma > 0.05) {
    const int half = static_cast<int>(std::ceil(3.5 * sigma));
    double sum = 0;
    for (int i = 0; i <= half; ++i) {
      const double s = sigma * std::numbers::sqrt2;
      const double w = 0.5 * (std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s));
      kernel_.push_back(static_cast<float>(w));
      sum += i == 0 ? w : 2 * w;
    }
    for (float& w : kernel_) w = static_cast<float>(w / sum);
  }
  const RegisterOffset& o = settings_.offset;
  const double turn = o.turn_deg * std::numbers::pi / 180, c = std::cos(turn), s = std::sin(turn);
  // Cloth = centre + R(turn) diag(1 + stretch) (plate - centre) + shift; here its inverse.
  map_[0] = c / (1 + o.stretch_x);
  map_[1] = s / (1 + o.stretch_x);
  map_[2] = -s / (1 + o.stretch_y);
  map_[3] = c / (1 + o.stretch_y);
}

/// Film to print, tints alone.
template <class Sample>
void PlateCover::tone_row(const Sample* v, std::size_t width, std::uint16_t* cover) const {
  std::size_t x = 0;
  for (; x + kNearBlock <= width; x += kNearBlock) {
    if (alike(v + x)) {
      std::fill_n(cover + x, kNearBlock, tone_[v[x]]);
    } else {
      for (std::size_t i = x; i < x + kNearBlock; ++i) cover[i] = tone_[v[i]];
    }
  }
  for (; x < width; ++x) cover[x] = tone_[v[x]];
}

void PlateCover::sharp(const PixelBox& box, DistanceFill fill, CoverScratch& scratch, CoverRows& out) const {
  start(box, settings_.field, out);
  const std::size_t width = static_cast<std::size_t>(box.width), blocks = near_blocks(box.x0, box.width);
  const auto tones = [&](const auto& ink) {
    for (int y = box.y0; y < box.y0 + box.rows; ++y) {
      std::uint16_t* c = out.cover.data() + static_cast<std::size_t>(y - box.y0) * width;
      if (y < 0 || y >= image_.height) {
        std::fill_n(c, width, std::uint16_t{0});
      } else {
        tone_row(ink.data() + static_cast<std::size_t>(y) * image_.width + box.x0, width, c);
      }
    }
  };
  if (image_.bits == 8) {
    tones(image_.ink8);
  } else {
    tones(image_.ink16);
  }
  if (settings_.field) return;
  DistanceRows& d = scratch.distance;
  contour_distance(image_, box, spread_px_, reach_px_, ContourPieces::overlapping, scratch.contour, d, fill);
  const auto reach = static_cast<float>(reach_px_);
  for_each_flag(d.near.data(), d.near.size(), [&](std::size_t block) {
    const auto [begin, end] = near_columns(box.x0, box.width, block % blocks);
    const std::size_t row = block / blocks * width;
    for (std::size_t i = row + begin; i < row + end; ++i) {
      d.distance[i] = d.tint[i] ? reach : d.distance[i];
      const float share = std::clamp(0.5F - d.distance[i], 0.0F, 1.0F);
      const auto cover =
          static_cast<std::uint16_t>(static_cast<int>(share * static_cast<float>(kFull) + 0.5F));
      out.cover[i] = std::abs(d.distance[i]) < reach ? cover : out.cover[i];
    }
  });
  out.distance.swap(d.distance);
  out.tint.swap(d.tint);
  out.near.swap(d.near);
}

void PlateCover::blur(const CoverRows& in, CoverRows& out) const {
  const int half = static_cast<int>(kernel_.size()) - 1;
  const std::size_t width = static_cast<std::size_t>(in.width);
  std::vector<float> column(static_cast<std::size_t>(kBlurBlock + 2 * half));
  const int x_end = out.x0 + out.width;
  for (int block = out.x0; block < x_end; block += kBlurBlock) {
    const int end = std::min(x_end, block + kBlurBlock);
    const int x0 = std::max(0, block - half), x1 = std::min(image_.width, end + half);
    const std::uint16_t first = in.cover[static_cast<std::size_t>(x0 - in.x0)];
    bool flat = block >= half && end + half <= image_.width;
    for (int y = 0; flat && y < in.rows; ++y) {
      const std::uint16_t* c = in.cover.data() + static_cast<std::size_t>(y) * width - in.x0;
      flat = std::all_of(c + x0, c + x1, [first](std::uint16_t v) { return v == first; });
    }
    for (int y = 0; y < out.rows; ++y) {
      std::uint16_t* to = out.cover.data() + static_cast<std::size_t>(y) * out.width - out.x0;
      if (flat) {
        std::fill(to + block, to + end, first);
        continue;
      }
      // Down the columns first, then along the row; always the same taps in the same order, whatever the
      // block.
      std::fill(column.begin(), column.end(), 0.0F);
      for (int k = -half; k <= half; ++k) {
        const float w = kernel_[static_cast<std::size_t>(std::abs(k))];
        const std::uint16_t* c = in.cover.data() + static_cast<std::size_t>(y + half + k) * width - in.x0;
        float* to_column = column.data() + (x0 - (block - half));
        for (int x = x0; x < x1; ++x) to_column[x - x0] += w * static_cast<float>(c[x]);
      }
      for (int x = block; x < end; ++x) {
        float sum = 0;
        for (int k = 0; k <= 2 * half; ++k) {
          sum += kernel_[static_cast<std::size_t>(std::abs(k - half))] *
                 column[static_cast<std::size_t>(x - block + k)];
        }
        to[x] = static_cast<std::uint16_t>(std::clamp(sum + 0.5F, 0.0F, 65535.0F));
      }
    }
  }
}

void PlateCover::unshifted(const PixelBox& box, DistanceFill fill, CoverScratch& scratch,
                           CoverRows& out) const {
  if (kernel_.empty()) return sharp(box, fill, scratch, out);
  const int half = static_cast<int>(kernel_.size()) - 1;
  const int left = std::max(0, box.x0 - half), right = std::min(image_.width, box.x0 + box.width + half);
  sharp({left, box.y0 - half, right - left, box.rows + 2 * half}, fill, scratch, scratch.sharp);
  start(box, true, out);
  blur(scratch.sharp, out);
}

/// Plate pixels that a box of the print is made from; may lie outside the plate.
PixelBox PlateCover::source_box(const PixelBox& box) const {
  if (settings_.offset.is_zero()) return box;
  double left = 1e30, right = -1e30, low = 1e30, high = -1e30;
  for (const double x : {static_cast<double>(box.x0), box.x0 + box.width - 1.0}) {
    for (const double y : {static_cast<double>(box.y0), box.y0 + box.rows - 1.0}) {
      double sx = 0, sy = 0;
      source_of(x, y, sx, sy);
      left = std::min(left, sx);
      right = std::max(right, sx);
      low = std::min(low, sy);
      high = std::max(high, sy);
    }
  }
  const int x0 = static_cast<int>(std::floor(left)) - 1, y0 = static_cast<int>(std::floor(low)) - 1;
  return {x0, y0, static_cast<int>(std::ceil(right)) + 2 - x0, static_cast<int>(std::ceil(high)) + 2 - y0};
}

int PlateCover::halo_px() const {
  return settings_.field ? static_cast<int>(kernel_.size()) : contour_halo(spread_px_, reach_px_);
}

void PlateCover::even_cells(int y0, int rows, CoverScratch& scratch,
                            std::span<std::optional<std::uint16_t>> cells) const {
  if (image_.bits == 8) {
    even_cells_of(image_.ink8.data(), y0, rows, scratch, cells);
  } else {
    even_cells_of(image_.ink16.data(), y0, rows, scratch, cells);
  }
}

template <class Sample>
void PlateCover::even_cells_of(const Sample* ink, int y0, int rows, CoverScratch& scratch,
                               std::span<std::optional<std::uint16_t>> cells) const {
  const int halo = halo_px();
  const auto width = static_cast<std::size_t>(image_.width);
  // Rows that any of the cells may be made from.
  const PixelBox strip = source_box({0, y0 - 1, image_.width, rows + 2});
  const int top = strip.y0 - halo, bottom = strip.y0 + strip.rows + halo;
  const int from = std::max(top, 0), to = std::min(bottom, image_.height);
  if (from >= to) return std::fill(cells.begin(), cells.end(), std::uint16_t{0});  // all beyond the plate
  const Sample* first = ink + static_cast<std::size_t>(from) * width;
  scratch.differs.assign(width, 0);
  std::uint16_t* differs = scratch.differs.data();
  for (int y = from + 1; y < to; ++y) {
    const Sample* row = ink + static_cast<std::size_t>(y) * width;
    for (std::size_t x = 0; x < width; ++x)
      differs[x] = static_cast<std::uint16_t>(differs[x] | (row[x] ^ first[x]));
  }
  // From which column on all are of one value, up to here; beyond here if this column itself is not.
  scratch.since.resize(width);
  int* since = scratch.since.data();
  for (int x = 0, start = 0; x < image_.width; ++x) {
    if (differs[x] != 0) {
      start = x + 1;
    } else if (x > 0 && first[x] != first[x - 1]) {
      start = x;
    }
    since[x] = start;
  }
  for (std::size_t cell = 0; cell < cells.size(); ++cell) {
    const int left_px = static_cast<int>(cell) * kEvenCell;
    const int right_px = std::min(left_px + kEvenCell, image_.width);
    const PixelBox source = source_box({left_px - 1, y0 - 1, right_px - left_px + 2, rows + 2});
    const int left = source.x0 - halo, right = source.x0 + source.width + halo;
    const int x0 = std::max(left, 0), x1 = std::min(right, image_.width);
    cells[cell].reset();
    if (x0 >= x1) {
      cells[cell] = 0;  // all of it beyond the plate
    } else if (since[x1 - 1] <= x0) {
      const std::uint16_t cover = tone_[first[x0]];
      // Beyond the plate there is no ink.
      const bool beyond = from > top || to < bottom || x0 > left || x1 < right;
      if (!beyond || cover == 0) cells[cell] = cover;
    }
  }
}

CoverRows PlateCover::rows(int y0, int rows) const { return box({0, y0, image_.width, rows}); }

CoverRows PlateCover::box(const PixelBox& box) const {
  CoverScratch scratch;
  CoverRows out;
  make(box, DistanceFill::everywhere, scratch, out);
  return out;
}

void PlateCover::make(const PixelBox& box, DistanceFill fill, CoverScratch& scratch, CoverRows& out) const {
  KIRTLE_CHECK(box.x0, >=, 0);
  KIRTLE_CHECK(box.x0 + box.width, <=, image_.width);
  if (settings_.offset.is_zero()) return unshifted(box, fill, scratch, out);
  PixelBox from = source_box(box);
  const int right = std::clamp(from.x0 + from.width, 1, image_.width);
  from.x0 = std::clamp(from.x0, 0, image_.width - 1);
  from.width = right - from.x0;
  CoverRows& source = scratch.unshifted;
  unshifted(from, DistanceFill::everywhere, scratch, source);
  const auto reach = static_cast<float>(reach_px_);
  start(box, settings_.field, out);
  if (!settings_.field) {
    out.distance.assign(out.cover.size(), reach);
    out.tint.assign(out.cover.size(), 0);
    out.near.assign(near_blocks(box.x0, box.width) * static_cast<std::size_t>(box.rows), 0);
  }
  for (int y = 0; y < box.rows; ++y) {
    for (int x = 0; x < box.width; ++x) {
      double sx = 0, sy = 0;
      source_of(box.x0 + x, box.y0 + y, sx, sy);
      const int ix = static_cast<int>(std::floor(sx)), iy = static_cast<int>(std::floor(sy));
      const double fx = sx - ix, fy = sy - iy;
      const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
      double cover = 0, distance = 0;
      // A contour is interpolated as a contour; where a tint takes part, coverage is.
      bool near = false, tinted = false;
      for (int k = 0; k < 4; ++k) {
        const int px = ix + k % 2, py = iy + k / 2 - from.y0;
        const bool outside = px < 0 || px >= image_.width;
        const std::size_t i = static_cast<std::size_t>(py) * source.width + (px - source.x0);
        if (!outside) cover += w[k] * source.cover[i];
        if (source.distance.empty() || w[k] == 0) continue;
        const float d = outside ? reach : source.distance[i];
        near = near || std::abs(d) < reach - 1;
        tinted = tinted || (!outside && source.tint[i] != 0);
        distance += w[k] * static_cast<double>(d);
      }
      const std::size_t o = static_cast<std::size_t>(y) * box.width + x;
      if (!source.tint.empty()) out.tint[o] = tinted;
      if (near && !tinted) {
        cover = kFull * std::clamp(0.5 - distance, 0.0, 1.0);
        out.distance[o] = static_cast<float>(distance);
        out.near[static_cast<std::size_t>(y) * near_blocks(box.x0, box.width) + near_block_of(box.x0, x)] = 1;
      }
      out.cover[o] = static_cast<std::uint16_t>(std::lround(cover));
    }
  }
}

double PlateCover::cover_at(int x, int y) const {
  bool tinted = false;
  const auto at_plate = [&](int px, int py, double& distance) {
    distance = reach_px_;
    if (px < 0 || py < 0 || px >= image_.width || py >= image_.height) return 0.0;
    const auto film = [&](int fx, int fy) {
      return curve_.printed(code_value(image_, fx, fy) / static_cast<double>(image_.max()));
    };
    if (settings_.field) {
      const double sigma = settings_.wick.v / kMmPerInch * ppi_;
      if (!(sigma > 0.05)) return film(px, py);
      const int half = static_cast<int>(std::ceil(3.5 * sigma));
      double sum = 0, weights = 0;
      for (int j = -half; j <= half; ++j) {
        for (int i = -half; i <= half; ++i) {
          const double s = sigma * std::numbers::sqrt2;
          const double w = (std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s)) *
                           (std::erf((j + 0.5) / s) - std::erf((j - 0.5) / s));
          weights += w;
          const int qx = px + i, qy = py + j;
          if (qx >= 0 && qy >= 0 && qx < image_.width && qy < image_.height) sum += w * film(qx, qy);
        }
      }
      return sum / weights;
    }
    const DistanceRows d = contour_distance(image_, py, 1, spread_px_, reach_px_);
    const auto here = static_cast<std::size_t>(px);
    if (d.tint[here]) {
      tinted = true;
      return film(px, py);
    }
    distance = static_cast<double>(d.distance[here]);
    return std::abs(distance) < reach_px_ ? std::clamp(0.5 - distance, 0.0, 1.0) : film(px, py);
  };
  double sx = x, sy = y, d = 0;
  if (settings_.offset.is_zero()) return at_plate(x, y, d);
  source_of(x, y, sx, sy);
  const int ix = static_cast<int>(std::floor(sx)), iy = static_cast<int>(std::floor(sy));
  double cover = 0, distance = 0;
  bool near = false;
  for (int k = 0; k < 4; ++k) {
    const double w = (k % 2 ? sx - ix : 1 - (sx - ix)) * (k / 2 ? sy - iy : 1 - (sy - iy));
    if (w == 0) continue;
    cover += w * at_plate(ix + k % 2, iy + k / 2, d);
    distance += w * d;
    near = near || std::abs(d) < reach_px_ - 1;
  }
  return near && !tinted && !settings_.field ? std::clamp(0.5 - distance, 0.0, 1.0) : cover;
}

}  // namespace kirtle
