#include "light/srgb.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "light/random_numbers.h"
#include "light/weights.h"

#include <cmath>
#include <gtest/gtest.h>
#include <limits>

namespace kirtle {
namespace {

const XYZ kPaper = viewing_weights("D50", Observer::cie1931_2deg).white;

// Truth: IEC 61966-2-1; 0.18 as in the documentation of the colour-science package, 10 decimals.
TEST(Srgb, Encode) {
  EXPECT_NEAR(srgb_encode(0.18), 0.4613561295, 0.5e-10);
  EXPECT_EQ(srgb_encode(0), 0.0);
  EXPECT_NEAR(srgb_encode(1), 1.0, 1e-15);
  EXPECT_NEAR(srgb_encode(0.0031308), 12.92 * 0.0031308, 1e-15);
  EXPECT_NEAR(srgb_encode(std::nextafter(0.0031308, 1.0)), 0.04045, 1e-6);  // the standard's own step
  EXPECT_NEAR(srgb_decode(0.5), 0.21404114, 0.5e-8);
  EXPECT_TRUE(std::isnan(srgb_encode(std::nan(""))));
  for (int i = 0; i <= 1000; ++i) EXPECT_NEAR(srgb_decode(srgb_encode(i / 1000.0)), i / 1000.0, 1e-6);
}

// Truth: Y row of the matrix in IEC 61966-2-1.
TEST(Srgb, PrimariesHaveTheirLuminance) {
  EXPECT_NEAR(xyz_from_linear_srgb({1, 0, 0}, kSrgbWhite).y, 21.26, 1e-12);
  EXPECT_NEAR(xyz_from_linear_srgb({0, 1, 0}, kSrgbWhite).y, 71.52, 1e-12);
  EXPECT_NEAR(xyz_from_linear_srgb({0, 0, 1}, kSrgbWhite).y, 7.22, 1e-12);
  EXPECT_NEAR(xyz_from_linear_srgb({1, 0, 0}, kSrgbWhite).x, 41.24, 1e-12);
}

TEST(Srgb, PerfectReflectorIsWhiteUnderEveryLight) {
  for (const std::string& light : light_names()) {
    SCOPED_TRACE(light);
    const XYZ white = viewing_weights(light, Observer::cie1931_2deg).white;
    const LinearRgb rgb = linear_srgb_from_xyz(white, white);
    EXPECT_NEAR(rgb.r, 1, 1e-12);
    EXPECT_NEAR(rgb.g, 1, 1e-12);
    EXPECT_NEAR(rgb.b, 1, 1e-12);
    EXPECT_FALSE(srgb_from_xyz(white, white).clipped);
    EXPECT_FALSE(srgb_from_xyz({0, 0, 0}, white).clipped);
    const SrgbEncoder encoder(white);
    EXPECT_EQ(encoder.encode8(white), (Rgb8{255, 255, 255}));
    EXPECT_EQ(encoder.encode16(white), (Rgb16{65535, 65535, 65535}));
    EXPECT_EQ(encoder.encode16({0, 0, 0}), (Rgb16{0, 0, 0}));
  }
}

TEST(Srgb, RoundTripOfEveryCode) {
  for (int i = 0; i < 256; ++i) {
    const auto c = static_cast<std::uint8_t>(i);
    for (const Rgb8& rgb :
         {Rgb8{c, c, c}, Rgb8{c, 0, 255}, Rgb8{255, c, 0}, Rgb8{0, 255, c}, Rgb8{c, 77, 200}}) {
      const XYZ xyz = xyz_from_srgb8(rgb, kPaper);
      const SrgbColour back = srgb_from_xyz(xyz, kPaper);
      EXPECT_FALSE(back.clipped);
      EXPECT_EQ(srgb_codes8(back.linear), rgb);
      EXPECT_EQ(SrgbEncoder(kPaper).encode8(xyz), rgb);
      EXPECT_EQ(rgb8_from_hex(hex_text(rgb)), rgb);
    }
  }
}

TEST(Srgb, Hex) {
  EXPECT_EQ(hex_text({0x0a, 0xff, 0x10}), "#0aff10");
  EXPECT_EQ(rgb8_from_hex("#0AfF10"), (Rgb8{0x0a, 0xff, 0x10}));
  for (const char* bad :
       {"", "#", "0aff10", "#0aff1", "#0aff100", "#0aff1g", "#0af", " #0aff10", "#-1ff10", "#0x0a10"})
    EXPECT_FALSE(rgb8_from_hex(bad).has_value()) << bad;
}

double hue_apart_deg(double a, double b) {
  const double d = std::abs(a - b);
  return std::min(d, 360 - d);
}

TEST(Srgb, ClipKeepsHueAndLightness) {
  test::RandomNumbers random(4);
  int clipped = 0;
  for (int i = 0; i < 20000; ++i) {
    const Lab asked{random.between(1, 99), random.between(-120, 120), random.between(-120, 120)};
    const SrgbColour got = srgb_from_xyz(xyz_from_lab(asked, kPaper), kPaper);
    const XYZ given_xyz = xyz_from_linear_srgb(got.linear, kPaper);
    const Lab given = lab_from_xyz(given_xyz, kPaper);
    ASSERT_NEAR(given.l, asked.l, 2e-3);
    if (!got.clipped) {
      ASSERT_LT(delta_e_2000(asked, given), 2e-3);
      continue;
    }
    ++clipped;
    ASSERT_LE(chroma(given), chroma(asked) + 1e-6);
    if (chroma(given) > 1) {
      ASSERT_LT(hue_apart_deg(hue_degrees(asked), hue_degrees(given)), 0.05);
    }
    ASSERT_NEAR(got.clip_de00, delta_e_2000(asked, given), 2e-3);
    for (const double c : {got.linear.r, got.linear.g, got.linear.b}) {
      ASSERT_GE(c, 0.0);
      ASSERT_LE(c, 1.0);
    }
    // On the wall: a channel sits at an end of its range.
    const double wall = std::min(
        {got.linear.r, got.linear.g, got.linear.b, 1 - got.linear.r, 1 - got.linear.g, 1 - got.linear.b});
    ASSERT_LT(wall, 2e-6);
  }
  EXPECT_GT(clipped, 10000);
}

// The chroma found is the first exit from the gamut: a fine walk outward finds none before it.
TEST(Srgb, ClipLosesNoMoreChromaThanNeeded) {
  for (int hue = 0; hue < 360; hue += 3) {
    for (const double l : {5.0, 20.0, 32.0, 50.0, 75.0, 97.0}) {
      const double angle = hue * 3.14159265358979 / 180;
      const Lab asked{l, 180 * std::cos(angle), 180 * std::sin(angle)};
      double exit = 0;
      for (double c = 0.02; c < 180; c += 0.02) {
        const LinearRgb rgb =
            linear_srgb_from_xyz(xyz_from_lab({l, c * std::cos(angle), c * std::sin(angle)}, kPaper), kPaper);
        const auto [low, high] = std::minmax({rgb.r, rgb.g, rgb.b});
        if (low < -1e-9 || high > 1 + 1e-9) break;
        exit = c;
      }
      const SrgbColour got = srgb_from_xyz(xyz_from_lab(asked, kPaper), kPaper);
      EXPECT_NEAR(chroma(lab_from_xyz(xyz_from_linear_srgb(got.linear, kPaper), kPaper)), exit, 0.04)
          << "hue " << hue << " L* " << l;
    }
  }
}

TEST(Srgb, LimitsOfLightnessAndOfInside) {
  const XYZ over = kPaper * 1.2;
  EXPECT_TRUE(srgb_from_xyz(over, kPaper).clipped);
  EXPECT_EQ(srgb_codes8(srgb_from_xyz(over, kPaper).linear), (Rgb8{255, 255, 255}));
  const XYZ under = kPaper * -0.1;
  EXPECT_TRUE(srgb_from_xyz(under, kPaper).clipped);
  EXPECT_EQ(srgb_codes8(srgb_from_xyz(under, kPaper).linear), (Rgb8{0, 0, 0}));
  // Red channel just inside, at and just outside the tolerance.
  EXPECT_FALSE(srgb_from_xyz(xyz_from_linear_srgb({1 + 0.9 * kSrgbInside, .5, .5}, kPaper), kPaper).clipped);
  EXPECT_TRUE(srgb_from_xyz(xyz_from_linear_srgb({1 + 1.1 * kSrgbInside, .5, .5}, kPaper), kPaper).clipped);
  EXPECT_FALSE(srgb_from_xyz(xyz_from_linear_srgb({-0.9 * kSrgbInside, .5, .5}, kPaper), kPaper).clipped);
  EXPECT_TRUE(srgb_from_xyz(xyz_from_linear_srgb({-1.1 * kSrgbInside, .5, .5}, kPaper), kPaper).clipped);
  const SrgbEncoder encoder(kPaper);
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  for (const double bad : {std::nan(""), kInfinity, -kInfinity}) {
    EXPECT_THROW(srgb_from_xyz({bad, 50, 50}, kPaper), InternalError);
    EXPECT_THROW(encoder.encode8({50, bad, 50}), InternalError);
    EXPECT_THROW(encoder.encode16({50, 50, bad}), InternalError);
  }
  EXPECT_THROW(srgb_codes8({1.5, 0, 0}), InternalError);
}

// The fast path against its slow twin: ramps through the whole range and random colours, in and out of gamut.
TEST(SrgbEncoder, WithinHalfACodeOfTheExactEncoding) {
  const SrgbEncoder encoder(kPaper);
  double worst8 = 0, worst16 = 0;
  const auto compare = [&](const XYZ& xyz) {
    const LinearRgb exact = srgb_from_xyz(xyz, kPaper).linear;
    const std::array<double, 3> slow = {srgb_encode(exact.r), srgb_encode(exact.g), srgb_encode(exact.b)};
    const Rgb8 fast8 = encoder.encode8(xyz);
    const Rgb16 fast16 = encoder.encode16(xyz);
    for (std::size_t c = 0; c < 3; ++c) {
      worst8 = std::max(worst8, std::abs(fast8[c] - 255 * slow[c]));
      worst16 = std::max(worst16, std::abs(fast16[c] - 65535 * slow[c]));
    }
  };
  for (int i = 0; i <= 200000; ++i) {
    const double v = i / 200000.0;
    compare(xyz_from_linear_srgb({v, v * v, 1 - v}, kPaper));
  }
  for (double v = 1e-6; v < 0.01; v *= 1.0005) compare(xyz_from_linear_srgb({v, v, 0.5 * v}, kPaper));
  test::RandomNumbers random(5);
  for (int i = 0; i < 50000; ++i)
    compare(
        xyz_from_lab({random.between(0, 100), random.between(-100, 100), random.between(-100, 100)}, kPaper));
  std::printf("sRGB table against the exact encoding: %.5f code at 8 bits, %.5f at 16\n", worst8, worst16);
  EXPECT_LE(worst8, 0.51);
  EXPECT_LE(worst16, 0.51);
}

TEST(SrgbEncoder, ReportCountsAndMerges) {
  const SrgbEncoder encoder(kPaper);
  ClipReport one, two;
  encoder.encode8(kPaper * 0.5, &one);
  encoder.encode16(xyz_from_lab({50, 120, 0}, kPaper), &two);
  EXPECT_EQ(one.clipped, 0u);
  EXPECT_EQ(two.clipped, 1u);
  EXPECT_GT(two.largest_de00, 5.0);
  one.merge(two);
  EXPECT_EQ(one.colours, 2u);
  EXPECT_EQ(one.clipped, 1u);
  EXPECT_EQ(one.largest_de00, two.largest_de00);
}

}  // namespace
}  // namespace kirtle
