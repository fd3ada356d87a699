#include "light/colour.h"

#include <cmath>
#include <numbers>

namespace kirtle {
namespace {

constexpr double kEpsilon = 216.0 / 24389.0;  // (6/29)^3
constexpr double kKappa = 24389.0 / 27.0;     // (29/3)^3
constexpr double kDelta = 6.0 / 29.0;

double f(double t) { return t > kEpsilon ? std::cbrt(t) : (kKappa * t + 16.0) / 116.0; }
double f_inverse(double v) { return v > kDelta ? v * v * v : (116.0 * v - 16.0) / kKappa; }

}  // namespace

Lab lab_from_xyz(const XYZ& xyz, const XYZ& white) {
  const double fx = f(xyz.x / white.x);
  const double fy = f(xyz.y / white.y);
  const double fz = f(xyz.z / white.z);
  return {116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

XYZ xyz_from_lab(const Lab& lab, const XYZ& white) {
  const double fy = (lab.l + 16.0) / 116.0;
  return {white.x * f_inverse(fy + lab.a / 500.0), white.y * f_inverse(fy),
          white.z * f_inverse(fy - lab.b / 200.0)};
}

double chroma(const Lab& lab) { return std::hypot(lab.a, lab.b); }

double hue_degrees(const Lab& lab) {
  if (lab.a == 0 && lab.b == 0) return 0;
  const double h = std::atan2(lab.b, lab.a) * 180.0 / std::numbers::pi;
  const double turned = h < 0 ? h + 360.0 : h;
  return turned < 360.0 ? turned : 0.0;  // a tiny negative angle plus 360 rounds to 360
}

}  // namespace kirtle
