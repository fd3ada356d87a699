#include "screen/threshold_row.h"

#include "base/check.h"
#include "base/simd.h"
#include "screen/threshold.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace kirtle {

namespace {

// The formulas of threshold.inl, in its order of operations, with the area of an ellipse that is not cut off.
constexpr double kPi = std::numbers::pi, kMost = 0.99999988;
constexpr double kFlattening = 0.8;     // axes of elliptical dots
constexpr double kRoundFree = kPi / 4;  // areas up to these are not cut off
constexpr double kEllipseFree = kPi / 4 * kFlattening;

/// From the middle of the period: -1/2..1/2.
inline double off_middle(double x) {
  const double up = x + 0.5;
  const auto whole = static_cast<double>(static_cast<std::int32_t>(up));
  return std::abs(x - (whole > up ? whole - 1 : whole));
}

/// From the area of an ellipse to what is left of it in the period, straight between nodes.
class CutAreas {
 public:
  CutAreas(double free, double most, double flattening)
      : free_(free), steps_a_unit_((kNodes - 2) / (most - free)) {
    for (std::size_t i = 0; i < area_.size(); ++i) {
      const double s = std::sqrt((free + static_cast<double>(i) / steps_a_unit_) / kPi);
      area_[i] = ellipse_area(s / std::sqrt(flattening), s * std::sqrt(flattening));
    }
  }
  double operator()(double whole) const {
    const double at = (whole - free_) * steps_a_unit_;
    const auto i = static_cast<std::size_t>(at);
    return area_[i] + (area_[i + 1] - area_[i]) * (at - static_cast<double>(i));
  }

 private:
  static constexpr int kNodes = 2048;
  double free_, steps_a_unit_;
  std::array<double, kNodes> area_;
};

// Corners of the period are the farthest from its middle.
const CutAreas& round_areas() {
  static const CutAreas areas(kRoundFree, kPi / 2 + 1e-9, 1);
  return areas;
}
const CutAreas& ellipse_areas() {
  static const CutAreas areas(kEllipseFree, kPi / 4 * (kFlattening + 1 / kFlattening) + 1e-9, kFlattening);
  return areas;
}

KIRTLE_WIDE void round_row(const double* u, const double* v, double* t, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    const double x = off_middle(u[i]), y = off_middle(v[i]), r = std::sqrt(x * x + y * y);
    t[i] = kPi * r * r;
  }
}

KIRTLE_WIDE void elliptical_row(const double* u, const double* v, double* t, std::size_t n) {
  const double root = std::sqrt(kFlattening);
  for (std::size_t i = 0; i < n; ++i) {
    const double x = off_middle(u[i]), y = off_middle(v[i]);
    const double s = std::sqrt(x * x * kFlattening + y * y / kFlattening);
    t[i] = kPi * (s / root) * (s * root);
  }
}

/// The area of the disc about the dot's or the hole's middle, whichever is nearer.
KIRTLE_WIDE void inverting_row(const double* u, const double* v, double* t, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    const double a = off_middle(u[i]), b = off_middle(v[i]);
    const bool hole = a + b > 0.5;
    const double x = hole ? 0.5 - a : a, y = hole ? 0.5 - b : b, r = std::sqrt(2 * (x * x + y * y));
    t[i] = kPi * r * r;
  }
}

KIRTLE_WIDE void half_of_inverting(const double* u, const double* v, double* t, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    const double half = 0.5 * t[i];
    const bool hole = off_middle(u[i]) + off_middle(v[i]) > 0.5;
    t[i] = std::min(hole ? 1 - half : half, kMost);
  }
}

KIRTLE_WIDE void line_row(const double* u, double* t, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) t[i] = std::min(2 * off_middle(u[i]), kMost);
}

KIRTLE_WIDE void square_row(const double* u, const double* v, double* t, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    const double side = 2 * std::max(off_middle(u[i]), off_middle(v[i]));
    t[i] = std::min(side * side, kMost);
  }
}

void cut_off(const CutAreas& areas, double free, std::span<double> t) {
  for (double& area : t) {
    if (area > free) area = std::min(areas(area), kMost);
  }
}

}  // namespace

ThresholdRange rough_thresholds(DotShape shape) {
  constexpr double kBits = 1e-9;
  switch (shape) {
    case DotShape::round:
      return {kRoundFree - kBits, 1};
    case DotShape::elliptical:
      return {kEllipseFree - kBits, 1};
    case DotShape::inverting:
      return {kRoundFree / 2 - kBits, 1 - kRoundFree / 2 + kBits};
    default:
      return {};
  }
}

void dot_thresholds(DotShape shape, std::span<const double> u, std::span<const double> v,
                    std::span<double> thresholds) {
  KIRTLE_CHECK(u.size(), ==, thresholds.size());
  KIRTLE_CHECK(v.size(), ==, thresholds.size());
  double* t = thresholds.data();
  const std::size_t n = thresholds.size();
  switch (shape) {
    case DotShape::round:
      round_row(u.data(), v.data(), t, n);
      cut_off(round_areas(), kRoundFree, thresholds);
      break;
    case DotShape::elliptical:
      elliptical_row(u.data(), v.data(), t, n);
      cut_off(ellipse_areas(), kEllipseFree, thresholds);
      break;
    case DotShape::inverting:
      inverting_row(u.data(), v.data(), t, n);
      cut_off(round_areas(), kRoundFree, thresholds);
      half_of_inverting(u.data(), v.data(), t, n);
      break;
    case DotShape::line:
      line_row(u.data(), t, n);
      break;
    case DotShape::square:
      square_row(u.data(), v.data(), t, n);
      break;
    case DotShape::noise:
      KIRTLE_CHECK(shape != DotShape::noise, ==, true);
  }
}

}  // namespace kirtle
