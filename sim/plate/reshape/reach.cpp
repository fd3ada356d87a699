// Where the film reaches a level.
#include "plate/reshape/contours.h"
#include "plate/reshape/rows.h"

namespace kirtle {

namespace {

constexpr int kNear = 2;  // half side of the window in which a step shows both its sides
constexpr int kFar = 4;   // and of that in which a ramp shows more
// A step takes at most so many pixels from side to side, as a soft edge does; what takes more is a ramp.
constexpr double kStepPixels = 3;
constexpr double kLeastStep = 0.03;  // film; a lower one may be the rounding of a ramp

/// What the film does in a pixel's window, in codes.
struct Window {
  int low = 65535, high = 0;
  int steepest = 0;  ///< from one pixel to the next in its row or column
};

Window window_at(const PlateImage& p, int x, int y, int half) {
  const int x0 = std::max(x - half, 0), x1 = std::min(x + half, p.width - 1);
  const int y0 = std::max(y - half, 0), y1 = std::min(y + half, p.height - 1);
  Window w;
  for (int j = y0; j <= y1; ++j) {
    for (int i = x0; i <= x1; ++i) {
      const std::size_t at = detail::index_of(p, i, j);
      const int v = detail::code_at(p, at);
      w.low = std::min(w.low, v);
      w.high = std::max(w.high, v);
      if (i > x0) w.steepest = std::max(w.steepest, std::abs(v - detail::code_at(p, at - 1)));
      if (j > y0) {
        const std::size_t above = at - static_cast<std::size_t>(p.width);
        w.steepest = std::max(w.steepest, std::abs(v - detail::code_at(p, above)));
      }
    }
  }
  return w;
}

/// Share of a tint's pixel in which the film reaches the level.
double reached(const PlateImage& p, int x, int y, double level) {
  const Window w = window_at(p, x, y, kNear);
  if (w.low >= level) return 1;
  if (w.high < level) return 0;
  const int range = w.high - w.low;
  if (range >= kLeastStep * p.max() && kStepPixels * w.steepest >= range) {
    const Window far = window_at(p, x, y, kFar);
    if (kStepPixels * far.steepest >= far.high - far.low)
      return static_cast<double>(detail::code_at(p, detail::index_of(p, x, y)) - w.low) / range;
  }
  // On a grid of points in the pixel, the film between pixel centres taken as linear.
  constexpr int kPoints = 8;
  int reached = 0;
  for (int j = 0; j < kPoints; ++j) {
    for (int i = 0; i < kPoints; ++i) {
      const double dx = (i + 0.5) / kPoints - 0.5, dy = (j + 0.5) / kPoints - 0.5;
      reached += detail::film_between(p, x + dx, y + dy) * p.max() >= level;
    }
  }
  return static_cast<double>(reached) / (kPoints * kPoints);
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
