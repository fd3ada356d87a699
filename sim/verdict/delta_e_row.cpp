#include "verdict/delta_e_row.h"

#include "base/simd.h"
#include "verdict/spatial_lab.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace kirtle {

namespace {

constexpr float k25To7 = 6103515625.0F;

/// Opponent channels to XYZ over white, row by row.
using Matrix = std::array<float, 9>;

/// CIELAB's f of a ratio to white. Cube root: a guess from the exponent, then Halley's step twice.
inline float lab_f(float t) {
  constexpr float kLinearTo = 216.0F / 24389, kSlope = 24389.0F / 27 / 116, kOffset = 16.0F / 116;
  const float x = std::max(t, kLinearTo);
  const auto third = static_cast<std::int32_t>(static_cast<float>(std::bit_cast<std::int32_t>(x)) / 3);
  float y = std::bit_cast<float>(third + 709921077);
  for (int i = 0; i < 2; ++i) {
    const float cube = y * y * y;
    y = y * (cube + 2 * x) / (2 * cube + x);
  }
  return t > kLinearTo ? y : t * kSlope + kOffset;
}

struct LabF {
  float l, a, b;
};
inline LabF lab_of(const Matrix& m, float p, float q, float r) {
  const float fx = lab_f(m[0] * p + m[1] * q + m[2] * r), fy = lab_f(m[3] * p + m[4] * q + m[5] * r),
              fz = lab_f(m[6] * p + m[7] * q + m[8] * r);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

inline float seventh_power_share(float c) {
  const float c3 = c * c * c, c7 = c3 * c3 * c;
  return std::sqrt(c7 / (c7 + k25To7));
}

/// exp(-z) for z of 0..16, beyond that as at 16: a sixteenth of it by its series, squared four times.
inline float falling(float z) {
  const float x = std::min(z, 16.0F) / -16;
  float e = 1 + x * (1 + x / 2 * (1 + x / 3 * (1 + x / 4 * (1 + x / 5 * (1 + x / 6 * (1 + x / 7))))));
  for (int i = 0; i < 4; ++i) e *= e;
  return e;
}

/// The formula's turn about hue 275 degrees, sin(2 dtheta): cosine and sine of the mean hue given.
inline float blue_turn(float cos_h, float sin_h) {
  constexpr float kCos275 = 0.08715574F, kSin275 = -0.99619470F, kDegree = 0.017453293F;
  const float c = cos_h * kCos275 + sin_h * kSin275, s = sin_h * kCos275 - cos_h * kSin275;
  // The angle is twice the arc tangent of s / (1 + c); beyond 90 degrees there is no turn left.
  const float t = c > 0 ? s / (1 + c) : 1.0F, t2 = t * t;
  // Arc tangent on -1..1: Abramowitz, Stegun 4.4.49.
  const float arc =
      t *
      (1 +
       t2 * (-0.3333314528F +
             t2 * (0.1999355085F +
                   t2 * (-0.1420889944F +
                         t2 * (0.1065626393F +
                               t2 * (-0.0752896400F +
                                     t2 * (0.0429096138F + t2 * (-0.0161657367F + t2 * 0.0028662257F))))))));
  const float off = 2 * arc / (25 * kDegree);
  const float x = 2 * 30 * kDegree * falling(off * off), x2 = x * x;
  return x * (1 - x2 / 6 * (1 - x2 / 20 * (1 - x2 / 42 * (1 - x2 / 72))));
}

inline float delta_e(const LabF& x, const LabF& y) {
  const float chroma = std::sqrt(x.a * x.a + x.b * x.b) + std::sqrt(y.a * y.a + y.b * y.b);
  const float stretch = 1.5F - 0.5F * seventh_power_share(0.5F * chroma);
  const float xa = stretch * x.a, ya = stretch * y.a;
  const float cx = std::sqrt(xa * xa + x.b * x.b), cy = std::sqrt(ya * ya + y.b * y.b);
  const float da = ya - xa, db = y.b - x.b, dc = cy - cx;
  // What is left of the distance beside lightness and chroma, with the sense in which the hue turns.
  const float turned = std::sqrt(std::max(da * da + db * db - dc * dc, 0.0F));
  const float dh = xa * db - x.b * da < 0 ? -turned : turned;
  // The mean hue halves the angle between the two.
  constexpr float kLeast = 1e-12F;
  const float wx = 1 / (cx + kLeast), wy = 1 / (cy + kLeast);
  const float ma = xa * wx + ya * wy, mb = x.b * wx + y.b * wy,
              m = 1 / (std::sqrt(ma * ma + mb * mb) + kLeast);
  const float c1 = ma * m, s1 = mb * m;
  const float c2 = 2 * c1 * c1 - 1, s2 = 2 * s1 * c1, c3 = c1 * c2 - s1 * s2, s3 = s1 * c2 + c1 * s2,
              c4 = 2 * c2 * c2 - 1, s4 = 2 * s2 * c2;
  constexpr float kCos30 = 0.8660254F, kSin30 = 0.5F, kCos6 = 0.99452190F, kSin6 = 0.10452846F,
                  kCos63 = 0.45399050F, kSin63 = 0.89100652F;
  const float t = 1 - 0.17F * (c1 * kCos30 + s1 * kSin30) + 0.24F * c2 + 0.32F * (c3 * kCos6 - s3 * kSin6) -
                  0.20F * (c4 * kCos63 + s4 * kSin63);
  const float mean_c = 0.5F * (cx + cy), l50 = 0.5F * (x.l + y.l) - 50, l2 = l50 * l50;
  const float l = (y.l - x.l) / (1 + 0.015F * l2 / std::sqrt(20 + l2)), c = dc / (1 + 0.045F * mean_c),
              h = dh / (1 + 0.015F * mean_c * t);
  const float rt = -2 * seventh_power_share(mean_c) * blue_turn(c1, s1);
  return std::sqrt(std::max(l * l + c * c + h * h + rt * c * h, 0.0F));
}

KIRTLE_WIDE void row(const Matrix& m, const float* __restrict p, const float* __restrict q,
                     const float* __restrict r, const float* __restrict dp, const float* __restrict dq,
                     const float* __restrict dr, std::size_t count, float* __restrict out) {
  const Matrix matrix = m;
  for (std::size_t i = 0; i < count; ++i) {
    out[i] =
        delta_e(lab_of(matrix, p[i], q[i], r[i]), lab_of(matrix, p[i] + dp[i], q[i] + dq[i], r[i] + dr[i]));
  }
}

}  // namespace

DeltaERow::DeltaERow(const XYZ& white) : to_xyz_{} {
  for (std::size_t c = 0; c < 3; ++c) {
    std::array<float, 3> unit{};
    unit[c] = 1;
    const XYZ of_unit = xyz_of_opponent(unit);
    to_xyz_[c] = static_cast<float>(of_unit.x / white.x);
    to_xyz_[3 + c] = static_cast<float>(of_unit.y / white.y);
    to_xyz_[6 + c] = static_cast<float>(of_unit.z / white.z);
  }
}

void DeltaERow::operator()(const OpponentRow& picture, const OpponentRow& change, std::size_t count,
                           float* out) const {
  row(to_xyz_, picture[0], picture[1], picture[2], change[0], change[1], change[2], count, out);
}

}  // namespace kirtle
