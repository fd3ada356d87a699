#include "plate/holdings.h"

#include "base/check.h"
#include "base/parallel.h"
#include "plate/contour.h"
#include "plate/line_widths.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <numbers>
#include <numeric>
#include <vector>

namespace kirtle {

namespace {

constexpr int kBand = 128;
constexpr double kReach = 2;          // the least that contours are looked for with
constexpr double kWidest_mm = 2;      // of lines and gaps that are measured
constexpr int kShortestTint = 4;      // pixels along a row; what is shorter is the corner of a shape
constexpr double kSmallestDot = 0.5;  // pixels; what is smaller is the fringe of a fade, or noise
constexpr double kTail = 0.001;       // of the tints' area, left out at either end

/// A piece of a row that is ink, of any kind.
struct InkRun {
  int y = 0, from = 0, to = 0;
  double area = 0;  // pixels
  bool tint = false;
};

/// What one band of rows holds.
struct Band {
  double ink = 0;         // sum of film coverage
  double cut = 0;         // the same, without tints
  std::size_t tints = 0;  // pixels
  std::vector<std::size_t> tones;
  std::vector<InkRun> runs;
};

void drop_short_tints(std::uint8_t* tint, int width) {
  for (int x = 0; x < width;) {
    const void* next = std::memchr(tint + x, 1, static_cast<std::size_t>(width - x));
    if (next == nullptr) return;
    const int from = static_cast<int>(static_cast<const std::uint8_t*>(next) - tint);
    for (x = from; x < width && tint[x] != 0;) ++x;
    if (x - from < kShortestTint) std::fill(tint + from, tint + x, std::uint8_t{0});
  }
}

template <class Sample>
void read_band(const PlateImage& plate, const Sample* samples, int y0, int rows, detail::CutPixels& pixels,
               Band& band) {
  DistanceRows contours = contour_distance(plate, y0, rows, 0, kReach);
  const int max = plate.max(), low = max / 255, high = max - max / 255;
  const std::size_t width = static_cast<std::size_t>(plate.width);
  band.tones.resize(static_cast<std::size_t>(max) + 1);
  std::array<std::uint8_t, 256> cut_of{};  // by the value's upper 8 bits: enough for where a contour lies
  for (std::size_t v = 0; v < cut_of.size(); ++v)
    cut_of[v] =
        static_cast<std::uint8_t>(std::clamp<long>(std::lround(static_cast<double>(v) * 254 / 255), 1, 253));
  for (int row = 0; row < rows; ++row) {
    const std::size_t at = static_cast<std::size_t>(y0 + row) * width;
    const Sample* v = samples + at;
    std::uint8_t* tint = contours.tint.data() + static_cast<std::size_t>(row) * width;
    drop_short_tints(tint, plate.width);
    std::uint8_t* cut = pixels.cut.data() + at;
    std::uint64_t all = 0, in_tints = 0;
    for (std::size_t x = 0; x < width; ++x) {
      all += v[x];
      if (tint[x]) {
        in_tints += v[x];
        ++band.tones[v[x]];
        ++band.tints;
        cut[x] = detail::kCutTint;
      } else if (v[x] <= low) {
        cut[x] = 0;
      } else if (v[x] >= high) {
        cut[x] = detail::kCutSolid;
      } else {
        cut[x] = cut_of[sizeof(Sample) == 1 ? v[x] : v[x] >> 8];
      }
    }
    band.ink += static_cast<double>(all) / max;
    band.cut += static_cast<double>(all - in_tints) / max;
    for (int x = 0; x < plate.width;) {
      if (cut[x] == 0) {
        ++x;
        continue;
      }
      InkRun run{y0 + row, x, x, 0, false};
      int sum = 0;
      for (; run.to < plate.width && cut[run.to] != 0; ++run.to) {
        run.tint = run.tint || cut[run.to] == detail::kCutTint;
        sum += std::min<int>(cut[run.to], detail::kCutSolid);
      }
      run.area = static_cast<double>(sum) / detail::kCutSolid;
      band.runs.push_back(run);
      x = run.to;
    }
  }
}

/// Value below which a share of the tints' area lies.
double tone_at(const std::vector<std::size_t>& tones, double share, std::size_t tints) {
  const double wanted = share * static_cast<double>(tints);
  double below = 0;
  for (std::size_t v = 0; v < tones.size(); ++v) {
    below += static_cast<double>(tones[v]);
    if (below > wanted) return static_cast<double>(v) / static_cast<double>(tones.size() - 1);
  }
  return 1;
}

/// Islands: runs that touch, corners included, joined.
class Islands {
 public:
  explicit Islands(const std::vector<InkRun>& runs) : runs_(runs), parent_(runs.size()) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
    std::size_t above = 0, above_end = 0;  // runs of the row before
    for (std::size_t from = 0; from < runs.size();) {
      std::size_t to = from;
      while (to < runs.size() && runs[to].y == runs[from].y) ++to;
      if (above_end > above && runs[above].y + 1 == runs[from].y) {
        for (std::size_t a = above, b = from; a < above_end && b < to;) {
          if (runs[a].from <= runs[b].to && runs[b].from <= runs[a].to) join(a, b);
          (runs[a].to < runs[b].to ? a : b)++;
        }
      }
      above = from;
      above_end = to;
      from = to;
    }
  }

  /// The one of least area that has no tint. Returns its area in pixels, or 0 if there is none.
  double smallest(double& x, double& y) {
    struct Sum {
      double area = 0, x = 0, y = 0;
      bool tint = false;
    };
    std::vector<Sum> sums(runs_.size());
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      const InkRun& run = runs_[i];
      Sum& sum = sums[root(i)];
      sum.area += run.area;
      sum.x += run.area * 0.5 * (run.from + run.to);
      sum.y += run.area * (run.y + 0.5);
      sum.tint = sum.tint || run.tint;
    }
    double area = 0;
    for (const Sum& sum : sums) {
      if (sum.tint || !(sum.area >= kSmallestDot) || (area > 0 && sum.area >= area)) continue;
      area = sum.area;
      x = sum.x / area;
      y = sum.y / area;
    }
    return area;
  }

 private:
  std::size_t root(std::size_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return i;
  }
  void join(std::size_t a, std::size_t b) {
    a = root(a);
    b = root(b);
    parent_[std::max(a, b)] = std::min(a, b);
  }

  const std::vector<InkRun>& runs_;
  std::vector<std::size_t> parent_;
};

void find_box(const PlateImage& plate, const std::vector<InkRun>& runs, double mm, PlateHoldings& out) {
  int left = plate.width, right = 0;
  for (const InkRun& run : runs) {
    left = std::min(left, run.from);
    right = std::max(right, run.to);
  }
  const int top = runs.front().y, bottom = runs.back().y + 1;
  out.ink_from = {{left * mm}, {top * mm}};
  out.ink_to = {{right * mm}, {bottom * mm}};
  out.border_inked = left == 0 || top == 0 || right == plate.width || bottom == plate.height;
}

}  // namespace

PlateHoldings measure_plate(const PlateImage& plate, double ppi, unsigned threads) {
  KIRTLE_CHECK(ppi, >, 0);
  if (threads == 0) threads = default_threads();
  detail::CutPixels pixels{plate.width, plate.height, std::vector<std::uint8_t>(plate.pixels())};
  std::vector<Band> bands(static_cast<std::size_t>((plate.height + kBand - 1) / kBand));
  parallel_for(bands.size(), threads, [&](std::size_t i, unsigned) {
    const int y0 = static_cast<int>(i) * kBand, rows = std::min(kBand, plate.height - y0);
    if (plate.bits == 8) {
      read_band(plate, plate.ink8.data(), y0, rows, pixels, bands[i]);
    } else {
      read_band(plate, plate.ink16.data(), y0, rows, pixels, bands[i]);
    }
  });

  Band all;
  all.tones.resize(static_cast<std::size_t>(plate.max()) + 1);
  for (Band& band : bands) {
    all.ink += band.ink;
    all.cut += band.cut;
    all.tints += band.tints;
    for (std::size_t v = 0; v < all.tones.size(); ++v) all.tones[v] += band.tones[v];
    all.runs.insert(all.runs.end(), band.runs.begin(), band.runs.end());
    band = {};
  }
  const auto area = static_cast<double>(plate.pixels());
  const double mm = kMmPerInch / ppi;
  PlateHoldings out;
  out.coverage = all.ink / area;
  out.solid_share = all.cut / area;
  out.tint_share = static_cast<double>(all.tints) / area;
  out.none_share = std::max(0.0, 1 - out.solid_share - out.tint_share);
  if (all.tints > 0) {
    out.lowest_tint = tone_at(all.tones, kTail, all.tints);
    out.highest_tint = tone_at(all.tones, 1 - kTail, all.tints);
  }
  out.empty = all.runs.empty();
  if (out.empty) return out;
  find_box(plate, all.runs, mm, out);
  double x = 0, y = 0;
  if (const double smallest = Islands(all.runs).smallest(x, y); smallest > 0) {
    out.smallest_dot = Mm{2 * std::sqrt(smallest / std::numbers::pi) * mm};
    out.smallest_dot_at = {{x * mm}, {y * mm}};
  }
  const detail::ThinPlaces thin =
      detail::thinnest(pixels, kWidest_mm / mm, detail::kShortestStretch_mm / mm, threads);
  if (thin.line) {
    out.thinnest_line = Mm{thin.line->width * mm};
    out.thinnest_line_at = {{thin.line->x * mm}, {thin.line->y * mm}};
  }
  if (thin.gap) {
    out.thinnest_gap = Mm{thin.gap->width * mm};
    out.thinnest_gap_at = {{thin.gap->x * mm}, {thin.gap->y * mm}};
  }
  return out;
}

}  // namespace kirtle
