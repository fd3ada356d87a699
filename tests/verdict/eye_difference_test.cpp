// The short way to what an eye sees of a change against spatial CIELAB of both pictures.
#include "verdict/eye_difference.h"

#include "light/delta_e_2000.h"

#include <cmath>
#include <gtest/gtest.h>
#include <random>

namespace kirtle {
namespace {

constexpr XYZ kLamp{96.42, 100, 82.49};  // D50
constexpr int kWidth = 203, kHeight = 157;

TEST(SmallDifferenceForm, IsCiede2000OfSmallDifferences) {
  std::mt19937 random(5);
  const auto number = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 4294967295.0;
  };
  for (int i = 0; i < 20000; ++i) {
    const Lab p{number(0, 100), number(-90, 90), number(-90, 90)};
    if (std::hypot(p.a, p.b) < 0.5) continue;  // hue turns within the difference
    const double l = number(-1, 1), a = number(-1, 1), b = number(-1, 1), by = 1e-3;
    const std::array<double, 6> f = small_difference_form(p);
    const double form =
        std::sqrt(f[0] * l * l + f[1] * a * a + f[2] * b * b + f[3] * l * a + f[4] * l * b + f[5] * a * b);
    // About the middle, where the formula takes its means.
    const Lab q{p.l - by * l / 2, p.a - by * a / 2, p.b - by * b / 2},
        r{p.l + by * l / 2, p.a + by * a / 2, p.b + by * b / 2};
    ASSERT_NEAR(delta_e_2000(q, r) / by, form, 2e-3 * form + 1e-6) << p.l << ' ' << p.a << ' ' << p.b;
  }
  EXPECT_NEAR(small_difference_form({50, 0, 0})[2], 1, 1e-12);
}

/// Blocks and lines of colour, and the same with some of them elsewhere.
std::vector<XYZf> picture(bool moved) {
  std::vector<XYZf> out;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const int u = moved && x > 60 && x < 150 ? x - 1 : x;
      XYZf c{19.3F, 20, 16.5F};
      if ((u / 9 + y / 13) % 2 != 0) c = {25, 14, 3};
      if (u % 31 == 5) c = {75, 78, 62};
      if (y > 120) c = {2, 2.1F, 1.8F};
      out.push_back(c);
    }
  }
  return out;
}

OpponentPlanes planes_of(const std::vector<XYZf>& picture) {
  OpponentPlanes out;
  for (const XYZf& c : picture) {
    const std::array<float, 3> o = opponent_of(c);
    for (std::size_t k = 0; k < 3; ++k) out[k].push_back(o[k]);
  }
  return out;
}

TEST(EyeDifference, EqualsSpatialLabAtAnyDistance) {
  const std::vector<XYZf> a = picture(false), b = picture(true);
  const OpponentPlanes known = planes_of(a);
  OpponentPlanes change = planes_of(b);
  for (std::size_t k = 0; k < 3; ++k) {
    for (std::size_t i = 0; i < change[k].size(); ++i) change[k][i] -= known[k][i];
  }
  for (const double distance_mm : {250.0, 600.0, 1500.0, 4000.0}) {
    const SpatialLab eye(100, {distance_mm}, kLamp);
    const SeenDifference whole =
        eye.difference(eye.see({a, kWidth, kHeight}, 1), eye.see({b, kWidth, kHeight}, 1), 1);
    EyeDifference quick(eye, known, kWidth, kHeight, 2, 1);
    std::vector<std::uint8_t> moved;
    for (int ty = 0; ty < quick.tiles_down(); ++ty) {
      for (int tx = 0; tx < quick.tiles_across(); ++tx) {
        bool any = false;
        for (int y = ty * kEyeTile; y < std::min(kHeight, (ty + 1) * kEyeTile); ++y) {
          for (int x = tx * kEyeTile; x < std::min(kWidth, (tx + 1) * kEyeTile); ++x)
            any = any || change[0][static_cast<std::size_t>(y * kWidth + x)] != 0;
        }
        moved.push_back(any);
      }
    }
    const EyeFigures first = quick.figures(change, moved, 1), again = quick.figures(change, moved, 3);
    EXPECT_NEAR(first.largest, whole.largest, 0.05 + 0.02 * whole.largest) << distance_mm;
    EXPECT_NEAR(first.p999, whole.p999, 0.05 + 0.02 * whole.p999) << distance_mm;
    const double area = whole.area_over_mm2(2);
    EXPECT_NEAR(first.area_over_mm2, area, 3 + 0.03 * area) << distance_mm;
    EXPECT_EQ(first.largest, again.largest);
    EXPECT_EQ(first.area_over_mm2, again.area_over_mm2);
    EXPECT_EQ(first.p999, again.p999);
    EXPECT_EQ(first.x, again.x);
    EXPECT_EQ(first.y, again.y);
    // Nothing moved is nothing seen, whatever was looked at before.
    OpponentPlanes none;
    for (std::vector<float>& plane : none) plane.assign(static_cast<std::size_t>(kWidth * kHeight), 0.0F);
    EXPECT_EQ(quick.figures(none, moved, 1).largest, 0);
    EXPECT_EQ(quick.figures(none, std::vector<std::uint8_t>(moved.size(), 0), 1).p999, 0);
    EXPECT_EQ(quick.figures(change, moved, 2).area_over_mm2, first.area_over_mm2);
  }
}

}  // namespace
}  // namespace kirtle
