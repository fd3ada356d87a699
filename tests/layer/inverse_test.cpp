#include "layer/inverse.h"

#include "base/not_a_number.h"
#include "cloth/demo_materials.h"
#include "layer/kubelka_munk.h"
#include "layer/random_values.h"

#include <cmath>
#include <gtest/gtest.h>
#include <stdexcept>

namespace kirtle {
namespace {

using test::kNaN;

TEST(Inverse, TwoBackings) {
  const KS ks = ks_from_two_backings(reflectance_over({1, 2}, {0.5}, 0.02), 0.02,
                                     reflectance_over({1, 2}, {0.5}, 0.85), 0.85, {0.5});
  EXPECT_NEAR(ks.k, 1, 1e-9);
  EXPECT_NEAR(ks.s, 2, 1e-9);
  const KS swapped = ks_from_two_backings(reflectance_over({1, 2}, {0.5}, 0.85), 0.85,
                                          reflectance_over({1, 2}, {0.5}, 0.02), 0.02, {0.5});
  EXPECT_NEAR(swapped.k, 1, 1e-9);
}

TEST(Inverse, TwoBackingsRoundTripOverManyFilms) {
  test::RandomValues random(11);
  int tried = 0;
  for (int i = 0; i < 20000; ++i) {
    const KS ks{random.log_or_zero(1e-5, 1), random.log_or_zero(1e-5, 1)};
    const Um x{random.even(2, 100)};
    const double g1 = random.even(0, 0.1), g2 = random.even(0.6, 0.95);
    const double r1 = reflectance_over(ks, x, g1), r2 = reflectance_over(ks, x, g2);
    if (r2 - r1 < 0.01) continue;  // opaque: the reading itself no longer holds K and S apart
    ++tried;
    const KS back = ks_from_two_backings(r1, g1, r2, g2, x);
    // Rounding of a reading (1e-16) grows by 1 / (r2 - r1), at most 100, and by atanh near 1.
    EXPECT_NEAR(back.k * x.v, ks.k * x.v, 1e-10 * (1 + ks.k * x.v));
    EXPECT_NEAR(back.s * x.v, ks.s * x.v, 1e-10 * (1 + ks.s * x.v));
  }
  EXPECT_GT(tried, 8000);
}

TEST(Inverse, TwoBackingsAtTheLimits) {
  // Clear film: only absorption. Beer-Lambert, twice through.
  const double t2 = std::exp(-2 * 0.3);
  const KS clear = ks_from_two_backings(0.05 * t2, 0.05, 0.8 * t2, 0.8, {1});
  EXPECT_NEAR(clear.k, 0.3, 1e-9);
  EXPECT_NEAR(clear.s, 0, 1e-9);
  // No absorption: R = SX/(1+SX) over black.
  const KS bright = ks_from_two_backings(0.75, 0, reflectance_over({0, 3}, {1}, 0.8), 0.8, {1});
  EXPECT_NEAR(bright.k, 0, 1e-9);
  EXPECT_NEAR(bright.s, 3, 1e-9);
  // Noise that would ask for K < 0 gives K = 0.
  EXPECT_EQ(ks_from_two_backings(0.751, 0, reflectance_over({0, 3}, {1}, 0.8) + 0.002, 0.8, {1}).k, 0);
  // Readings that coincide, swapped, a film that would scatter less than nothing, cards alike.
  EXPECT_THROW(ks_from_two_backings(0.5, 0.05, 0.5, 0.8, {1}), std::domain_error);
  EXPECT_THROW(ks_from_two_backings(0.6, 0.05, 0.5, 0.8, {1}), std::domain_error);
  EXPECT_THROW(ks_from_two_backings(0.01, 0.05, 0.7, 0.8, {1}), std::domain_error);
  EXPECT_THROW(ks_from_two_backings(0.3, 0.5, 0.4, 0.5, {1}), std::domain_error);
  for (double bad : {-1e-12, 1 + 1e-12, kNaN}) {
    EXPECT_THROW(ks_from_two_backings(bad, 0.05, 0.5, 0.8, {1}), std::domain_error);
    EXPECT_THROW(ks_from_two_backings(0.4, bad, 0.5, 0.8, {1}), std::domain_error);
    EXPECT_THROW(ks_from_two_backings(0.4, 0.05, bad, 0.8, {1}), std::domain_error);
    EXPECT_THROW(ks_from_two_backings(0.4, 0.05, 0.5, bad, {1}), std::domain_error);
  }
  for (double bad : {0.0, -1.0, kNaN})
    EXPECT_THROW(ks_from_two_backings(0.4, 0.05, 0.5, 0.8, {bad}), std::domain_error);
}

// An independent bisection on the textbook form (numpy), with D65 weights on a reddish R_inf(l) = .2 + .6
// sig(560, 20).
TEST(Inverse, LuminousContrastRatio) {
  const ViewingWeights d65 = viewing_weights("D65", Observer::cie1931_2deg);
  const Spectrum r_inf =
      spectrum_of([](std::size_t i) { return 0.2 + 0.6 * demo::sig(band_nm(i), 560, 20); });
  const Spectrum black = Spectrum::flat(0), white = Spectrum::flat(0.8);
  const KSSpectra ks = ks_from_hiding(r_inf, Spectrum::flat(1), 0.9, {1}, black, white, d65);
  EXPECT_NEAR(ks.s[0], 2.0637158, 0.5e-7);
  EXPECT_NEAR(luminous_contrast_ratio(ks, {1}, black, white, d65), 0.9, 1e-12);
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(r_infinity(ks.at(i)), r_inf[i], 1e-9);
  // The same film, thicker, hides more; per um it is half as strong.
  const KSSpectra half = ks_from_hiding(r_inf, Spectrum::flat(1), 0.9, {2}, black, white, d65);
  EXPECT_NEAR(half.s[0] * 2, ks.s[0], 1e-9);
  for (double bad : {0.0, 1.0, kNaN})
    EXPECT_THROW(ks_from_hiding(r_inf, Spectrum::flat(1), bad, {1}, black, white, d65), std::domain_error);
  EXPECT_THROW(ks_from_hiding(r_inf, Spectrum::flat(0), 0.9, {1}, black, white, d65), std::domain_error);
  EXPECT_THROW(ks_from_hiding(r_inf, Spectrum::flat(1), 0.9, {0}, black, white, d65), std::domain_error);
  EXPECT_THROW(ks_from_hiding(Spectrum::flat(kNaN), Spectrum::flat(1), 0.9, {1}, black, white, d65),
               std::domain_error);
}

}  // namespace
}  // namespace kirtle
