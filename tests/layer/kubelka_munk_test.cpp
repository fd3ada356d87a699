#include "layer/kubelka_munk.h"

#include "base/not_a_number.h"
#include "cloth/demo_materials.h"
#include "layer/domain.h"
#include "layer/random_values.h"

#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

namespace kirtle {
namespace {

using test::kNaN;
constexpr double kInf = std::numeric_limits<double>::infinity();

// Independent route 1: the hyperbolic form as printed, in long double. K, S > 0.
// Source: Kubelka 1948, JOSA 38(5):448, doi:10.1364/JOSA.38.000448.
long double textbook_over(long double k, long double s, long double x, long double r_back) {
  const long double a = 1 + k / s, b = std::sqrt(a * a - 1);
  const long double c = b / std::tanh(b * s * x);
  return (1 - r_back * (a - c)) / (a - r_back + c);
}
long double textbook_t(long double k, long double s, long double x) {
  const long double a = 1 + k / s, b = std::sqrt(a * a - 1);
  return b / (a * std::sinh(b * s * x) + b * std::cosh(b * s * x));
}

// Independent route 2: the differential equation dR/dx = S - 2 (K + S) R + S R^2, classic Runge-Kutta.
// Source: Kubelka, Munk 1931 (two-flux equations; Riccati form derived from them).
double integrate_riccati(double k, double s, double x, double r_back, int steps) {
  const auto slope = [&](double r) { return s - 2 * (k + s) * r + s * r * r; };
  const double h = x / steps;
  double r = r_back;
  for (int i = 0; i < steps; ++i) {
    const double k1 = slope(r), k2 = slope(r + h * k1 / 2), k3 = slope(r + h * k2 / 2),
                 k4 = slope(r + h * k3);
    r += h * (k1 + 2 * k2 + 2 * k3 + k4) / 6;
  }
  return r;
}

// Closed forms: Kubelka, Munk 1931.
TEST(KubelkaMunk, RatioAndThickLayer) {
  EXPECT_NEAR(k_over_s(0.2), 1.6, 1e-12);
  EXPECT_NEAR(r_infinity({1.6, 1}), 0.2, 1e-12);
  EXPECT_NEAR(r_infinity({1, 2}), (3 - std::sqrt(5.0)) / 2, 1e-12);
  EXPECT_EQ(r_infinity({0, 3}), 1);
  EXPECT_EQ(r_infinity({3, 0}), 0);
  EXPECT_EQ(r_infinity({0, 0}), 0);
  for (double r = 0.001; r <= 1; r += 0.001) EXPECT_NEAR(r_infinity({k_over_s(r), 1}), r, 1e-12);
}

// Kubelka 1948, by hand from the sinh/cosh form to ten digits.
TEST(KubelkaMunk, OneLayer) {
  const LayerRT film = layer_rt({1, 2}, {0.5});
  EXPECT_NEAR(film.r0, 0.3465460659, 1e-10);
  EXPECT_NEAR(film.t, 0.2836476303, 1e-10);
  EXPECT_EQ(film.r0_back, film.r0);
  EXPECT_NEAR(reflectance_over({1, 2}, {0.5}, 0.6), 0.4074919962, 1e-10);
  EXPECT_NEAR(reflectance_over(film, 0.6), 0.4074919962, 1e-10);
}

// SX/(1+SX), 1/(1+SX); Beer-Lambert exp(-KX); thick limit.
TEST(KubelkaMunk, Limits) {
  EXPECT_NEAR(layer_rt({0, 3}, {1}).r0, 0.75, 1e-15);
  EXPECT_NEAR(layer_rt({0, 3}, {1}).t, 0.25, 1e-15);
  EXPECT_EQ(layer_rt({1.2, 0}, {1}).r0, 0);
  EXPECT_NEAR(layer_rt({1.2, 0}, {1}).t, 0.3011942119, 1e-10);
  EXPECT_NEAR(layer_rt({1, 2}, {500}).r0, 0.3819660113, 1e-10);
  EXPECT_NEAR(layer_rt({1, 2}, {500}).t, 0, 1e-100);
  EXPECT_NEAR(layer_rt({1e-9, 3}, {1}).r0, 0.75, 1e-7);
  EXPECT_EQ(layer_rt({1, 2}, {0}).r0, 0);
  EXPECT_EQ(layer_rt({1, 2}, {0}).t, 1);
  EXPECT_EQ(layer_rt({0, 0}, {100}).t, 1);
}

// Kubelka 1954, JOSA 44(4):330, doi:10.1364/JOSA.44.000330.
TEST(KubelkaMunk, Piles) {
  EXPECT_NEAR(reflectance_over(LayerRT{0.2, 0.5, 0.2}, 0.4), 0.3086956522, 1e-10);
  const LayerRT pile = compose(layer_rt({1, 2}, {0.2}), layer_rt({1, 2}, {0.3}));
  EXPECT_NEAR(reflectance_over(pile, 0.6), 0.4074919962, 1e-10);
  // A sheet of which the two sides differ: lit from below it shows what it shows lit from above once turned
  // over.
  const LayerRT a = layer_rt({1, 2}, {0.2}), b = layer_rt({0.1, 3}, {0.7});
  const LayerRT ab = compose(a, b), ba = compose(b, a);
  EXPECT_NEAR(ab.r0, ba.r0_back, 1e-15);
  EXPECT_NEAR(ab.r0_back, ba.r0, 1e-15);
  EXPECT_NEAR(ab.t, ba.t, 1e-15);
  EXPECT_GT(std::abs(ab.r0 - ab.r0_back), 0.1);
}

TEST(KubelkaMunk, MatchesRungeKutta) {
  const KSSpectra yellow = demo::yellow(), white = demo::white();
  for (std::size_t i = 0; i < kBands; ++i) {
    SCOPED_TRACE(band_nm(i));
    const double over_white = integrate_riccati(white.k[i], white.s[i], 60, 0.02, 20000);
    const double reference = integrate_riccati(yellow.k[i], yellow.s[i], 25, over_white, 20000);
    const double base = reflectance_over(white.at(i), {60}, 0.02);
    EXPECT_NEAR(reflectance_over(yellow.at(i), {25}, base), reference, 1e-9);
    const LayerSpectra pile = compose(layer_spectra(yellow, {25}), layer_spectra(white, {60}));
    EXPECT_NEAR(reflectance_over(pile.at(i), 0.02), reference, 1e-9);
  }
}

TEST(KubelkaMunk, MatchesTextbookFormOverManyMagnitudes) {
  test::RandomValues random(7);
  for (int i = 0; i < 20000; ++i) {
    const double s = 1e-6 * std::pow(1e8, random.even(0, 1)), k = s * std::pow(10.0, random.even(-5, 3));
    const double x = 0.1 * std::pow(1e4, random.even(0, 1)), back = random.even(0, 1);
    SCOPED_TRACE(std::to_string(k) + " " + std::to_string(s) + " " + std::to_string(x));
    const long double b = std::sqrt(static_cast<long double>(k) * (k + 2.0L * s));
    if (b * x > 1000)
      continue;  // sinh of the textbook form leaves even long double behind long before it matters
    EXPECT_NEAR(layer_rt({k, s}, {x}).t, static_cast<double>(textbook_t(k, s, x)), 1e-11);
    EXPECT_NEAR(layer_rt({k, s}, {x}).r0, static_cast<double>(textbook_over(k, s, x, 0)), 1e-11);
    EXPECT_NEAR(reflectance_over({k, s}, {x}, back), static_cast<double>(textbook_over(k, s, x, back)),
                1e-11);
  }
}

TEST(KubelkaMunk, NoJumpWhereTheSeriesTakesOver) {
  for (double t = 1e-10; t < 1e-6; t *= 1.07) {
    const double s = 1, k = t * t / 2;                  // g is t to first order; x = 1
    EXPECT_NEAR(layer_rt({k, s}, {1}).r0, 0.5, 1e-12);  // the true change is of order t^2
    EXPECT_NEAR(layer_rt({k, s}, {1}).t, 0.5, 1e-12);
  }
}

// Ten thousand random piles of one to six layers.
TEST(KubelkaMunk, PropertiesOfRandomPiles) {
  test::RandomValues random(42);
  for (int trial = 0; trial < 10000; ++trial) {
    SCOPED_TRACE(trial);
    const double back = random.even(0, 1);
    double r = back, r_two_step = back, r_split = back, r_darker = back, r_thin = back;
    LayerRT pile;
    const int layers = 1 + static_cast<int>(random.even(0, 5.99));
    for (int i = 0; i < layers; ++i) {
      const KS ks{random.log_or_zero(1e-9, 1e2), random.log_or_zero(1e-9, 1e2)};
      const Um x{random.log_or_zero(0.1, 1e3)};
      const double cut = random.even(0, 1);
      const LayerRT layer = layer_rt(ks, x);
      ASSERT_TRUE(layer.r0 >= 0 && layer.r0 <= 1 && layer.t >= 0 && layer.t <= 1);
      ASSERT_LE(layer.r0 + layer.t, 1 + 1e-12);  // no layer gives out more than came in
      r = reflectance_over(ks, x, r);
      r_two_step = reflectance_over(layer, r_two_step);
      r_split = reflectance_over(ks, {x.v * cut}, reflectance_over(ks, {x.v - x.v * cut}, r_split));
      r_darker = reflectance_over({ks.k * 1.5 + 1e-4, ks.s}, x, r_darker);
      r_thin = reflectance_over(ks, {0}, r_thin);
      pile = compose(layer, pile);
    }
    ASSERT_TRUE(r >= 0 && r <= 1 + 1e-12) << r;
    EXPECT_NEAR(r_two_step, r, 1e-9);
    EXPECT_NEAR(r_split, r, 1e-9);
    EXPECT_LE(r_darker, r + 1e-12);
    EXPECT_EQ(r_thin, back);
    if (back < 0.999) {
      EXPECT_NEAR(reflectance_over(pile, back), r, 1e-9);
    }
  }
}

TEST(KubelkaMunk, ThickLayerHidesTheBacking) {
  test::RandomValues random(3);
  for (int i = 0; i < 2000; ++i) {
    const KS ks{0.01 * std::pow(1e4, random.even(0, 1)), 0.01 * std::pow(1e4, random.even(0, 1))};
    EXPECT_NEAR(reflectance_over(ks, {1e5}, random.even(0, 1)), r_infinity(ks), 1e-12);
  }
}

// A film that reflects more than the ground even when thick cannot darken it, at any thickness.
TEST(KubelkaMunk, LighterFilmNeverDarkens) {
  test::RandomValues random(4);
  for (int i = 0; i < 5000; ++i) {
    const double r_film = random.even(0.01, 1), ground = r_film * random.even(0, 1);
    const double s = random.log_or_zero(1e-4, 10);
    const KS ks{k_over_s(r_film) * s, s};
    EXPECT_GE(reflectance_over(ks, {random.log_or_zero(0.1, 1e3)}, ground), ground - 1e-12);
  }
}

// Just inside, at, just outside, not a number.
TEST(KubelkaMunk, RefusesBadArguments) {
  EXPECT_NO_THROW(layer_rt({0, 0}, {0}));
  for (double bad : {-1e-12, kNaN, kInf, -kInf}) {
    EXPECT_THROW(layer_rt({bad, 1}, {1}), std::domain_error);
    EXPECT_THROW(layer_rt({1, bad}, {1}), std::domain_error);
    EXPECT_THROW(layer_rt({1, 1}, {bad}), std::domain_error);
    EXPECT_THROW(r_infinity({bad, 1}), std::domain_error);
  }
  EXPECT_NO_THROW(reflectance_over({1, 1}, {1}, 0));
  EXPECT_NO_THROW(reflectance_over({1, 1}, {1}, 1));
  for (double bad : {-1e-12, 1 + 1e-12, kNaN}) {
    EXPECT_THROW(reflectance_over({1, 1}, {1}, bad), std::domain_error);
    EXPECT_THROW(reflectance_over(LayerRT{}, bad), std::domain_error);
    EXPECT_THROW(compose(LayerRT{bad, 0, 0}, LayerRT{}), std::domain_error);
    EXPECT_THROW(compose(LayerRT{}, LayerRT{0, bad, 0}), std::domain_error);
    EXPECT_THROW(compose(LayerRT{}, LayerRT{0, 1, bad}), std::domain_error);
  }
  EXPECT_EQ(k_over_s(1), 0);
  for (double bad : {0.0, -1e-12, 1 + 1e-12, kNaN}) EXPECT_THROW(k_over_s(bad), std::domain_error);
  try {
    layer_rt({-0.5, 1}, {1});
    FAIL();
  } catch (const std::domain_error& e) {
    EXPECT_STREQ(e.what(), "K (1/um) is -0.5; it must be >= 0 and finite");
  }
}

// Perfect white on perfect white is 1 to rounding, and the next call must take it.
TEST(KubelkaMunk, PerfectWhiteStaysInRange) {
  test::RandomValues random(9);
  double r = 1;
  LayerRT pile;
  for (int i = 0; i < 5000; ++i) {
    const Um x{random.log_or_zero(1e-3, 1e4)};
    ASSERT_NO_THROW(r = reflectance_over({0, random.even(0, 10)}, x, r));
    ASSERT_NEAR(r, 1, 1e-9);
    ASSERT_NO_THROW(pile = compose(layer_rt({0, random.even(0, 10)}, x), pile));
    ASSERT_LE(pile.r0, 1);
  }
}

TEST(KubelkaMunk, TwoWhitesThatTrapAllLightStayFinite) {
  EXPECT_TRUE(std::isfinite(reflectance_over(LayerRT{1, 0, 1}, 1)));
  EXPECT_TRUE(std::isfinite(compose(LayerRT{1, 0, 1}, LayerRT{1, 0, 1}).t));
}

TEST(Domain, Messages) {
  try {
    require_range("pores", 0.3, 0, 0.2);
    FAIL();
  } catch (const std::domain_error& e) {
    EXPECT_STREQ(e.what(), "pores is 0.3; it must be in 0..0.2");
  }
  EXPECT_THROW(require_positive("x", 0), std::domain_error);
  EXPECT_NO_THROW(require_positive("x", 1e-300));
}

}  // namespace
}  // namespace kirtle
