#include "light/colour.h"

#include "base/check.h"
#include "light/adapt.h"
#include "light/random_numbers.h"

#include <cmath>
#include <gtest/gtest.h>
#include <lcms2.h>
#include <limits>

namespace kirtle {
namespace {

void expect_near(const XYZ& got, const XYZ& want, double tolerance) {
  EXPECT_NEAR(got.x, want.x, tolerance);
  EXPECT_NEAR(got.y, want.y, tolerance);
  EXPECT_NEAR(got.z, want.z, tolerance);
}

// Truth: worked example in the documentation of the colour-science package; printed to 8 decimals.
TEST(Colour, LabOfAPublishedColour) {
  const XYZ white{0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290};
  const Lab lab = lab_from_xyz({.20654008, .12197225, .05136952}, white);
  EXPECT_NEAR(lab.l, 41.5278752,
              2e-6);  // the inputs are rounded to 8 decimals: f' = 1 / (3 t^(2/3)) times 500
  EXPECT_NEAR(lab.a, 52.6385830, 2e-6);
  EXPECT_NEAR(lab.b, 26.9231792, 2e-6);
}

// Truth: ISO/CIE 11664-4. Below t = 216/24389 L* = 24389/27 t; at it both pieces give 8.
TEST(Colour, StraightPieceOfLab) {
  const XYZ white{95, 100, 108};
  const double limit = 216.0 / 24389.0;
  for (const double t : {0.0, 1e-6, 0.001, 0.5 * limit, limit}) {
    const Lab lab = lab_from_xyz(white * t, white);
    EXPECT_NEAR(lab.l, 24389.0 / 27.0 * t, 1e-12);
    EXPECT_NEAR(lab.a, 0, 1e-12);
    EXPECT_NEAR(lab.b, 0, 1e-12);
  }
  EXPECT_NEAR(lab_from_xyz(white * limit, white).l, 8.0, 1e-12);
  EXPECT_NEAR(lab_from_xyz(white * std::nextafter(limit, 1.0), white).l, 8.0, 1e-12);
  EXPECT_NEAR(lab_from_xyz({1, -1, 1}, white).l, -24389.0 / 2700.0, 1e-12);  // finite, on the same line
  EXPECT_TRUE(std::isnan(lab_from_xyz({1, std::nan(""), 1}, white).l));
}

// Truth: lcms2, both ways, 1e5 random colours each.
TEST(Colour, AgreesWithLcms2) {
  test::RandomNumbers random(3);
  const XYZ white{96.42, 100, 82.49};
  const cmsCIEXYZ lcms_white{0.9642, 1.0, 0.8249};
  for (int i = 0; i < 100000; ++i) {
    const XYZ xyz{random.between(0, 100), random.between(0, 100), random.between(0, 85)};
    const cmsCIEXYZ lcms_xyz{xyz.x / 100, xyz.y / 100, xyz.z / 100};
    cmsCIELab lcms_lab;
    cmsXYZ2Lab(&lcms_white, &lcms_lab, &lcms_xyz);
    const Lab lab = lab_from_xyz(xyz, white);
    ASSERT_NEAR(lab.l, lcms_lab.L, 1e-4);
    ASSERT_NEAR(lab.a, lcms_lab.a, 1e-4);
    ASSERT_NEAR(lab.b, lcms_lab.b, 1e-4);

    const Lab other{random.between(0, 100), random.between(-128, 128), random.between(-128, 128)};
    const cmsCIELab lcms_other{other.l, other.a, other.b};
    cmsCIEXYZ lcms_back;
    cmsLab2XYZ(&lcms_white, &lcms_back, &lcms_other);
    const XYZ back = xyz_from_lab(other, white);
    ASSERT_NEAR(back.x, 100 * lcms_back.X, 1e-4);
    ASSERT_NEAR(back.y, 100 * lcms_back.Y, 1e-4);
    ASSERT_NEAR(back.z, 100 * lcms_back.Z, 1e-4);
    const Lab again = lab_from_xyz(back, white);
    ASSERT_NEAR(again.l, other.l, 1e-9);
    ASSERT_NEAR(again.a, other.a, 1e-9);
    ASSERT_NEAR(again.b, other.b, 1e-9);
  }
}

TEST(Colour, ChromaAndHue) {
  EXPECT_EQ(chroma({50, 3, -4}), 5.0);
  EXPECT_EQ(hue_degrees({50, 0, 0}), 0.0);
  EXPECT_EQ(hue_degrees({50, 1, 0}), 0.0);
  EXPECT_EQ(hue_degrees({50, 0, 1}), 90.0);
  EXPECT_EQ(hue_degrees({50, -1, 0}), 180.0);
  EXPECT_EQ(hue_degrees({50, 0, -1}), 270.0);
  const double just_below = hue_degrees({50, 1, -1e-300});
  EXPECT_GE(just_below, 0.0);
  EXPECT_LT(just_below, 360.0);
}

// Truth: worked example in the documentation of the colour-science package; printed to 7 decimals.
TEST(Adapt, PublishedBradford) {
  const Matrix3 m = bradford({.95045593, 1, 1.08905775}, {.96429568, 1, .8251046});
  expect_near(m * XYZ{.20654008, .12197225, .05136952}, {.2166600, .1260477, .0385506}, 1e-7);
}

TEST(Adapt, WhiteGoesToWhiteAndBack) {
  const XYZ from{95.012, 100, 108.816};
  expect_near(bradford(from, kPcsWhite) * from, kPcsWhite, 1e-12);
  const Matrix3 there_and_back = bradford(kPcsWhite, from) * bradford(from, kPcsWhite);
  expect_near(there_and_back * XYZ{20, 30, 40}, {20, 30, 40}, 1e-12);
  EXPECT_THROW(bradford({0, 0, 0}, kPcsWhite), InternalError);
  EXPECT_THROW(bradford(kPcsWhite, {96, std::nan(""), 82}), InternalError);
  EXPECT_THROW(inverse(Matrix3{}), InternalError);
}

}  // namespace
}  // namespace kirtle
