#include "light/delta_e_2000.h"

#include "light/random_numbers.h"
#include "light/sharma2005.h"

#include <cmath>
#include <gtest/gtest.h>
#include <lcms2.h>

namespace kirtle {
namespace {

constexpr double kHalfDigit = 0.5e-4;  // printed to 4 decimals

TEST(DeltaE2000, MatchesSharma2005InBothOrders) {
  for (const test::SharmaPair& p : test::kSharma2005) {
    SCOPED_TRACE("pair " + std::to_string(p.pair));
    EXPECT_NEAR(delta_e_2000(p.x, p.y), p.de00, kHalfDigit);
    EXPECT_NEAR(delta_e_2000(p.y, p.x), p.de00, kHalfDigit);
  }
}

// Pair 14 turned by the last bits: hues within 1e-9 degree of opposite count as opposite, beyond they do not.
TEST(DeltaE2000, HueTie) {
  const Lab x{50, -0.001, 2.49};
  const double ulp = 1e-19;
  for (const double nudge : {-ulp, 0.0, ulp}) {
    EXPECT_NEAR(delta_e_2000(x, {50, 0.001 + nudge, -2.49}), 4.8045, kHalfDigit);
    EXPECT_NEAR(delta_e_2000({50, 0.001 + nudge, -2.49}, x), 4.8045, kHalfDigit);
  }
  EXPECT_NEAR(delta_e_2000(x, {50, 0.001 + 1e-8, -2.49}), 4.7461, 1e-3);  // 2e-7 degree past the tie
  EXPECT_NEAR(delta_e_2000(x, {50, 0.001 - 1e-8, -2.49}), 4.8045, 1e-3);
}

TEST(DeltaE2000, ZeroForEqualAndNanForNan) {
  test::RandomNumbers random(1);
  for (int i = 0; i < 1000; ++i) {
    const Lab x{random.between(0, 100), random.between(-128, 128), random.between(-128, 128)};
    EXPECT_EQ(delta_e_2000(x, x), 0.0);
  }
  EXPECT_TRUE(std::isnan(delta_e_2000({std::nan(""), 0, 0}, {50, 0, 0})));
  EXPECT_TRUE(std::isnan(delta_e_2000({50, std::nan(""), 0}, {50, 0, 0})));
  EXPECT_TRUE(std::isnan(delta_e_2000({50, 1, 0}, {50, 1, std::nan("")})));
}

double hue_apart_deg(const Lab& x, const Lab& y) {
  // CIEDE2000 stretches a before it takes hues; ties are found with the stretched ones.
  const double mean = 0.5 * (chroma(x) + chroma(y));
  const double stretch = 1.5 - 0.5 * std::sqrt(std::pow(mean, 7) / (std::pow(mean, 7) + std::pow(25.0, 7)));
  return std::abs(hue_degrees({0, stretch * x.a, x.b}) - hue_degrees({0, stretch * y.a, y.b}));
}

// Truth: lcms2, another implementation.
TEST(DeltaE2000, AgreesWithLcms2) {
  test::RandomNumbers random(2);
  int compared = 0;
  for (int i = 0; i < 100000; ++i) {
    // Every other pair lies close together, where colour differences are mostly used.
    const double reach = i % 2 == 0 ? 128 : 3;
    const Lab x{random.between(0, 100), random.between(-128, 128), random.between(-128, 128)};
    const Lab y = i % 2 == 0
                      ? Lab{random.between(0, 100), random.between(-128, 128), random.between(-128, 128)}
                      : Lab{x.l + random.between(-reach, reach), x.a + random.between(-reach, reach),
                            x.b + random.between(-reach, reach)};
    if (std::abs(hue_apart_deg(x, y) - 180) < 1e-5) continue;
    const cmsCIELab cx{x.l, x.a, x.b}, cy{y.l, y.a, y.b};
    ASSERT_NEAR(delta_e_2000(x, y), cmsCIE2000DeltaE(&cx, &cy, 1, 1, 1), 1e-4)
        << x.l << ' ' << x.a << ' ' << x.b << " against " << y.l << ' ' << y.a << ' ' << y.b;
    ++compared;
  }
  EXPECT_GT(compared, 99900);
}

}  // namespace
}  // namespace kirtle
