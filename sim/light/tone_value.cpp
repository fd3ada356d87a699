#include "light/tone_value.h"

#include <cmath>

namespace kirtle {
namespace {

/// 116 f(t) - 16 is the L* that the channel would have as a luminance.
XYZ lightness_of_each(const XYZ& xyz, const XYZ& white) {
  const auto lightness = [](double value, double reference) {
    return lab_from_xyz({1, value, 1}, {1, reference, 1}).l;
  };
  return {lightness(xyz.x, white.x), lightness(xyz.y, white.y), lightness(xyz.z, white.z)};
}

double squared_distance(const XYZ& a, const XYZ& b) {
  const double dx = a.x - b.x, dy = a.y - b.y, dz = a.z - b.z;
  return dx * dx + dy * dy + dz * dz;
}

}  // namespace

std::optional<double> tone_value_iso20654(const XYZ& ground, const XYZ& solid, const XYZ& tint,
                                          const XYZ& white) {
  constexpr double kSameColour = 1e-12;  // squared, in L* units: far below any reading
  const XYZ p = lightness_of_each(ground, white);
  const double full = squared_distance(lightness_of_each(solid, white), p);
  if (!(full > kSameColour)) return std::nullopt;
  return 100.0 * std::sqrt(squared_distance(lightness_of_each(tint, white), p) / full);
}

}  // namespace kirtle
