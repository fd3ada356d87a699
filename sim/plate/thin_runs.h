#pragma once
// Lines and gaps so narrow that no pixel across them is solid, or none. Internal to contour.cpp.
#include "plate/plate_samples.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>

namespace kirtle::detail {

constexpr int kLongestThin = 5;  // pixels across a line whose core is not solid: at 45 degrees up to so many
// Equivalent width in pixels of a line or gap without a solid core: up to the first it is lost, from the
// second on it is there whole. A pixel that is solid holds whatever its size, so nothing jumps. Placeholders:
// a plate says no more.
constexpr double kThinLost = 0.25, kThinHeld = 0.75;
constexpr double kLeastPeak = 0.45;

/// A line or gap across which every pixel is fractional, as one of its pixels sees it.
struct ThinRun {
  int x, y;         ///< that pixel
  int first, last;  ///< the run's ends, counted from that pixel
  bool along_x;     ///< the run crosses the line in this direction
  bool gap;         ///< solid on both sides
  double from, to;  ///< the moved line or gap along the run; 0 = that pixel's near border, 1 = its far one
  double held;  ///< share of it that the stencil holds; a faint line breaks up and goes, a faint gap fills

  /// Share of the pixel `s` steps along the run that the moved line or gap takes.
  double part(int s) const {
    return held * std::max(0.0, std::min(s + 1.0, to) - std::max(static_cast<double>(s), from));
  }
};

/// True if no more than kLongestThin fractional pixels lie in this row or column around here.
template <class Sample>
bool short_run(const PlateSamples<Sample>& plate, int x, int y, bool along_x) {
  int length = 1;
  for (const int step : {-1, 1}) {
    for (int i = step;; i += step) {
      const int v = along_x ? plate.at(x + i, y) : plate.at(x, y + i);
      if (plate.none(v) || plate.solid(v)) break;
      if (++length > kLongestThin) return false;
    }
  }
  return true;
}

/// The line or gap that a fractional pixel is part of, its borders moved outward by the spread (pixels).
/// Nothing if it is none.
template <class Sample>
std::optional<ThinRun> thin_run(const PlateSamples<Sample>& plate, int x, int y, double spread) {
  if (!short_run(plate, x, y, true) && !short_run(plate, x, y, false)) return std::nullopt;
  // The direction across: the main axis of the slopes around.
  std::int64_t sum_xx = 0, sum_yy = 0, sum_xy = 0;
  plate.around(x, y, 3, [&](const auto& value) {
    for (int j = -2; j <= 2; ++j) {
      for (int i = -2; i <= 2; ++i) {
        const std::int64_t gx = value(i + 1, j) - value(i - 1, j);
        const std::int64_t gy = value(i, j + 1) - value(i, j - 1);
        sum_xx += gx * gx;
        sum_yy += gy * gy;
        sum_xy += gx * gy;
      }
    }
  });
  const auto xx = static_cast<double>(sum_xx), yy = static_cast<double>(sum_yy),
             xy = static_cast<double>(sum_xy);
  const bool along_x = xx >= yy;
  const auto value = [&](int s) { return along_x ? plate.at(x + s, y) : plate.at(x, y + s); };
  const auto clear = [&](int s) { return plate.none(value(s)) || plate.solid(value(s)); };
  int first = 0, last = 0;
  while (!clear(first - 1)) {
    if (--first < -kLongestThin) return std::nullopt;
  }
  while (!clear(last + 1)) {
    if (++last > kLongestThin) return std::nullopt;
  }
  const int length = last - first + 1;
  const bool gap = plate.solid(value(first - 1));
  if (length > kLongestThin || gap != plate.solid(value(last + 1))) return std::nullopt;
  double area = 0, moment = 0, peak = 0;
  for (int s = first; s <= last; ++s) {
    const double ink = static_cast<double>(value(s)) / plate.max(), part = gap ? 1 - ink : ink;
    area += part;
    moment += part * (s + 0.5);
    peak = std::max(peak, part);
  }
  // A line this wide would fill some pixel at least so far; a flatter run is a narrow tint.
  if (peak < kLeastPeak * std::min(area, 1.0)) return std::nullopt;
  // Share of the normal that lies along the run, from the tensor's main axis.
  const double turn = 0.5 * std::atan2(2 * xy, xx - yy);
  const double along = std::max(std::abs(along_x ? std::cos(turn) : std::sin(turn)), 0.5);
  const double half = std::max(0.0, 0.5 * area + (gap ? -spread : spread) / along);
  const double held = std::clamp((area * along - kThinLost) / (kThinHeld - kThinLost), 0.0, 1.0);
  return ThinRun{x, y, first, last, along_x, gap, moment / area - half, moment / area + half, held};
}

}  // namespace kirtle::detail
