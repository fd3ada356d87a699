#pragma once
// Chromatic adaptation between whites, by the linear Bradford transform.
#include "light/colour.h"

#include <array>

namespace kirtle {

/// Rows of a 3 x 3 matrix.
using Matrix3 = std::array<std::array<double, 3>, 3>;

constexpr XYZ operator*(const Matrix3& m, const XYZ& v) {
  return {m[0][0] * v.x + m[0][1] * v.y + m[0][2] * v.z, m[1][0] * v.x + m[1][1] * v.y + m[1][2] * v.z,
          m[2][0] * v.x + m[2][1] * v.y + m[2][2] * v.z};
}
Matrix3 operator*(const Matrix3& a, const Matrix3& b);
/// Throws InternalError if the determinant is 0 or NaN.
Matrix3 inverse(const Matrix3& m);

/// Nominal whites on the Y = 100 scale. Sources: ICC.1:2022 (PCS illuminant), IEC 61966-2-1 (row sums of its
/// matrix).
constexpr XYZ kPcsWhite{96.42, 100.0, 82.49};
constexpr XYZ kSrgbWhite{95.05, 100.0, 108.90};

/// Matrix that carries XYZ seen under `from` to the colour that looks alike under `to`; from itself goes to
/// `to`. Give the white that was computed (ViewingWeights::white) as `from`, never its nominal value, or
/// white gets a cast. Source: Bradford matrix of Lam 1985 as printed in ICC.1:2022 annex E. Limits: both
/// whites have positive cone responses. Throws InternalError otherwise.
Matrix3 bradford(const XYZ& from, const XYZ& to);

}  // namespace kirtle
