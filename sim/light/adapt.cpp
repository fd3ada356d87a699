#include "light/adapt.h"

#include "base/check.h"

namespace kirtle {
namespace {

constexpr Matrix3 kCone = {{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}};

}  // namespace

Matrix3 operator*(const Matrix3& a, const Matrix3& b) {
  Matrix3 out{};
  for (std::size_t r = 0; r < 3; ++r)
    for (std::size_t c = 0; c < 3; ++c)
      for (std::size_t k = 0; k < 3; ++k) out[r][c] += a[r][k] * b[k][c];
  return out;
}

Matrix3 inverse(const Matrix3& m) {
  const auto cofactor = [&](std::size_t r, std::size_t c) {
    const std::size_t r1 = (r + 1) % 3, r2 = (r + 2) % 3, c1 = (c + 1) % 3, c2 = (c + 2) % 3;
    return m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1];
  };
  const double determinant = m[0][0] * cofactor(0, 0) + m[0][1] * cofactor(0, 1) + m[0][2] * cofactor(0, 2);
  KIRTLE_CHECK(determinant * determinant, >, 0.0);
  Matrix3 out{};
  for (std::size_t r = 0; r < 3; ++r)
    for (std::size_t c = 0; c < 3; ++c) out[c][r] = cofactor(r, c) / determinant;
  return out;
}

Matrix3 bradford(const XYZ& from, const XYZ& to) {
  const XYZ a = kCone * from;
  const XYZ b = kCone * to;
  KIRTLE_CHECK(a.x, >, 0.0);
  KIRTLE_CHECK(a.y, >, 0.0);
  KIRTLE_CHECK(a.z, >, 0.0);
  KIRTLE_CHECK(b.x, >, 0.0);
  KIRTLE_CHECK(b.y, >, 0.0);
  KIRTLE_CHECK(b.z, >, 0.0);
  const Matrix3 gains = {{{b.x / a.x, 0, 0}, {0, b.y / a.y, 0}, {0, 0, b.z / a.z}}};
  return inverse(kCone) * gains * kCone;
}

}  // namespace kirtle
