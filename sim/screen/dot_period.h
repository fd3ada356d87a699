#pragma once
// One period of a screen on a raster: sums over its pixels, and what they are for dots that no raster rounds.
#include "screen/screen.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace kirtle {

/// The periods about dots u0..u1, v0..v1 of a screen, both ends included.
struct PeriodRange {
  int u0 = 0, v0 = 0, u1 = -1, v1 = -1;
};

/// The period that holds (u, v), by its dot; at a border the next one, the last bits aside.
struct PeriodIndex {
  PeriodIndex(double u_at, double v_at) : u(nearest(u_at)), v(nearest(v_at)) {}
  int u, v;

 private:
  static int nearest(double x) {
    const double up = x + 0.5 + 1e-6;  // pixels of even screens lie on borders: aside
    const int whole = static_cast<int>(up);
    return static_cast<double>(whole) > up ? whole - 1 : whole;
  }
};

/// 0..1 by chance, the same for a period everywhere: counts are rounded by it, so that they are right in the
/// mean.
double rounding_share(const PeriodIndex& period);

/// Number and moments of pixels, by row and column. Whole numbers: their sums depend on no order.
struct PixelSums {
  std::int64_t n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
  /// Pixels of one row: their number, sum of x, sum of x squared.
  void add_row(std::int64_t count, std::int64_t sum_x, std::int64_t sum_xx, std::int64_t row) {
    n += count;
    x += sum_x;
    y += count * row;
    xx += sum_xx;
    xy += sum_x * row;
    yy += count * row * row;
  }
  void add(std::int64_t px, std::int64_t py, std::int64_t times) {
    add_row(times, times * px, times * px * px, py);
  }
  /// The same, counted from another pixel.
  PixelSums from(std::int64_t px, std::int64_t py) const {
    return {n,
            x - n * px,
            y - n * py,
            xx - 2 * px * x + n * px * px,
            xy - px * y - py * x + n * px * py,
            yy - 2 * py * y + n * py * py};
  }
};

/// From pixels to periods: (u, v) of a pixel that is (x, y) from the first is (u + u_x x + u_y y, v + v_x x +
/// v_y y).
struct PeriodStep {
  double u_x = 0, u_y = 0, v_x = 0, v_y = 0;
  /// Pixels a period.
  double area() const { return 1 / std::abs(u_x * v_y - u_y * v_x); }
};

/// First and second moments about a dot's middle, in pixels times periods.
struct DotMoments {
  double u = 0, v = 0, uu = 0, uv = 0, vv = 0;
  DotMoments operator+(const DotMoments& o) const {
    return {u + o.u, v + o.v, uu + o.uu, uv + o.uv, vv + o.vv};
  }
  DotMoments operator-(const DotMoments& o) const {
    return {u - o.u, v - o.v, uu - o.uu, uv - o.uv, vv - o.vv};
  }
  DotMoments operator*(double f) const { return {f * u, f * v, f * uu, f * uv, f * vv}; }
  static DotMoments at(double u, double v) { return {u, v, u * u, u * v, v * v}; }
  /// What a lack of balance by so much shows below half the screen's frequency, but for a factor: the first
  /// two terms of exp(-i k x), averaged over the disc of those frequencies, squared, as if they were
  /// independent.
  double energy() const {
    return u * u + v * v + kSecond * (0.375 * (uu * uu + vv * vv) + 0.25 * uu * vv + 0.5 * uv * uv);
  }
  /// How energy() goes with each moment.
  DotMoments energy_slope() const {
    return {2 * u, 2 * v, kSecond * (0.75 * uu + 0.25 * vv), kSecond * uv, kSecond * (0.75 * vv + 0.25 * uu)};
  }

 private:
  static constexpr double kSecond = 3.2898681;  // pi^2 / 3
};

/// Second moments of the ink in a period by its tone, of dots with exact edges. First ones and uv are 0:
/// shapes are alike on both sides of their middle.
class ExactMoments {
 public:
  explicit ExactMoments(DotShape shape);
  /// Made once for each shape. Not for noise.
  static const ExactMoments& of(DotShape shape);
  /// tone 0..1 -> moments of a period of one pixel's area.
  DotMoments at(double tone) const;

 private:
  std::vector<float> uu_, vv_;  ///< at tone = i / (size - 1)
};

}  // namespace kirtle
