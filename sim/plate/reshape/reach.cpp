// Where the film reaches a level.
#include "plate/reshape/contours.h"
#include "plate/reshape/rows.h"

namespace kirtle {

namespace {

constexpr int kNear = 2, kFar = 4;  // half sides of the windows that tell a step from a ramp
// A step's range is the same in both windows, a ramp's grows with the side. Half-way, about.
constexpr double kStep = 1.4;

struct Range {
  int low = 65535, high = 0;
};

Range range_around(const PlateImage& p, int x, int y, int half) {
  Range r;
  for (int j = std::max(y - half, 0); j <= std::min(y + half, p.height - 1); ++j) {
    for (int i = std::max(x - half, 0); i <= std::min(x + half, p.width - 1); ++i) {
      const int v = detail::code_at(p, detail::index_of(p, i, j));
      r.low = std::min(r.low, v);
      r.high = std::max(r.high, v);
    }
  }
  return r;
}

/// Share of a tint's pixel in which the film reaches the level.
double reached(const PlateImage& p, int x, int y, double level) {
  const double v = detail::code_at(p, detail::index_of(p, x, y));
  const Range near = range_around(p, x, y, kNear);
  if (near.low >= level) return 1;
  if (near.high < level) return 0;
  const Range far = range_around(p, x, y, kFar);
  if (far.high - far.low <= kStep * (near.high - near.low)) return (v - near.low) / (near.high - near.low);
  const detail::Slope s = detail::slope_at(p, x, y);
  const double slope = std::sqrt(s.x * s.x + s.y * s.y) * p.max();
  if (!(slope > 0)) return v >= level ? 1 : 0;
  return std::clamp(0.5 + (v - level) / slope, 0.0, 1.0);
}

}  // namespace

PlateImage where_film_reaches(const PlateImage& plate, double level, unsigned threads) {
  detail::check_range("level of film", level, 0, 1, true);
  PlateImage out = detail::blank_like(plate, 16);
  // Faint codes are none and solid, as in contour.h.
  const int max = plate.max(), low = max / 255, high = max - max / 255;
  const double wanted = std::clamp(level * max, low + 1.0, static_cast<double>(high));
  detail::for_bands(plate.height, threads, [&](int y0, int rows) {
    const DistanceRows d = contour_distance(plate, y0, rows, 0, detail::kEdgeReach);
    for (int y = y0; y < y0 + rows; ++y) {
      for (int x = 0; x < plate.width; ++x) {
        const std::size_t i = detail::index_of(plate, x, y);
        const int v = detail::code_at(plate, i);
        if (d.tint[i - detail::index_of(plate, 0, y0)] != 0) {
          detail::put_film(out, i, reached(plate, x, y, wanted));
        } else {
          detail::put_film(out, i, v <= low ? 0 : v >= high ? 1 : static_cast<double>(v) / max);
        }
      }
    }
  });
  return out;
}

}  // namespace kirtle
