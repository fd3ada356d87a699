// How often the ground shows: closed forms against printed and computed values, and against shirts made with
// the register model.
#include "press/gap_theory.h"

#include "press/gap_oracle.h"
#include "press/register_run.h"
#include "press/statistics.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

constexpr GapPlace kPlaces[] = {GapPlace::one_edge, GapPlace::two_edges, GapPlace::round_outline,
                                GapPlace::square_outline};

// Truth: closed forms with Q(5/3) = 0.04779035 from tables of the normal distribution; worked out by hand to
// seven digits.
TEST(GapTheory, WorkedExample) {
  const Mm trap{0.25}, sigma{0.15};
  EXPECT_NEAR(gap_share(GapPlace::one_edge, trap, sigma), 0.0477904, 5e-8);
  EXPECT_NEAR(gap_share(GapPlace::two_edges, trap, sigma), 0.0955807, 5e-8);
  EXPECT_NEAR(gap_share(GapPlace::round_outline, trap, sigma), 0.2493522, 5e-8);
  EXPECT_NEAR(gap_share(GapPlace::square_outline, trap, sigma), 1 - std::pow(1 - 0.0955807, 2), 1e-7);
  EXPECT_NEAR(mean_gap(trap, sigma).v, 0.0029740, 5e-8);
  EXPECT_NEAR(gap_share(GapPlace::one_edge, trap, sigma, {0.1454}), 0.0041945, 5e-7);
}

// Truth: closed form; presets are common practice, no source. A closed shape on three presses.
TEST(GapTheory, WhatAPrinterKnowsOfTraps) {
  const auto share = [](double trap, double sigma) {
    return gap_share(GapPlace::round_outline, {trap}, {sigma});
  };
  const double half_point = kMmPerPoint / 2, point = kMmPerPoint;
  EXPECT_LT(share(half_point, 0.05), 0.01) << "kept-up automatic, 1/2 pt";
  EXPECT_LT(share(0.18, 0.05), 0.01);
  EXPECT_NEAR(share(0.35, 0.13), 0.027, 0.0005) << "manual with micros, 1 pt";
  EXPECT_NEAR(share(point, 0.13), 0.025, 0.001);
  const Mm spread_only = trap_with_spread({0}, {45}, {45});
  EXPECT_DOUBLE_EQ(spread_only.v, 0.09);
  for (const double sigma : {0.05, 0.08, 0.13, 0.25}) {
    EXPECT_GT(share(0, sigma), 0.999) << "butt, no spread";
    EXPECT_GT(share(0.001, sigma), 0.999) << "one micrometre is as good as butt";
    EXPECT_LT(share(spread_only.v, sigma), 0.95) << "butt, 45 um spread on each edge";
  }
  EXPECT_LT(share(spread_only.v, 0.05), 0.2);
}

TEST(GapTheory, ButtEdge) {
  EXPECT_EQ(gap_share(GapPlace::one_edge, {0}, {0.1}), 0.5);
  EXPECT_NEAR(mean_gap({0}, {0.1}).v, 0.1 / std::sqrt(2 * std::numbers::pi), 1e-15);
  EXPECT_EQ(gap_share(GapPlace::two_edges, {0}, {0.1}), 1);
  EXPECT_NEAR(gap_share(GapPlace::one_edge, {-0.1}, {0.1}), 0.8413447460685429, 1e-15);
  EXPECT_NEAR(mean_gap({-1}, {0.1}).v, 1, 1e-12);
}

TEST(GapTheory, APerfectPressShowsWhatTheArtShows) {
  for (const GapPlace place : kPlaces) {
    EXPECT_EQ(gap_share(place, {0.1}, {0}), 0);
    EXPECT_EQ(gap_share(place, {-0.1}, {0}), 1);
    EXPECT_EQ(biased_gap_share(place, {0.1}, {0}, {0.11}), 1);
    EXPECT_EQ(biased_gap_share(place, {0.1}, {0}, {0.09}), 0);
  }
  EXPECT_EQ(mean_gap({0.1}, {0}, {0.3}).v, 0.3 - 0.1);
  EXPECT_EQ(mean_gap({0.1}, {0}).v, 0);
}

// Truth: Marcum's Q as a mixture of chi-square tails, sum over k of Poisson(k; a^2/2) times the Poisson CDF
// at k of b^2/2 (Shnidman 1989, doi:10.1109/18.32132, from memory).
double marcum_q(double a, double b) {
  const double x = a * a / 2, y = b * b / 2;
  double weight = std::exp(-x), term = std::exp(-y), tail = term, sum = weight * tail;
  for (int k = 1; k < 2000; ++k) {
    weight *= x / k;
    term *= y / k;
    tail += term;
    sum += weight * tail;
  }
  return sum;
}

TEST(GapTheory, BiasRoundAnOutline) {
  for (const double a : {0.0, 0.01, 0.5, 1.0, 3.0, 8.0, 20.0})
    for (const double b : {0.01, 0.5, 1.0, 3.0, 8.0, 21.0})
      EXPECT_NEAR(biased_gap_share(GapPlace::round_outline, {0.1 * b}, {0.1}, {0.1 * a}), marcum_q(a, b),
                  2e-12)
          << a << ' ' << b;
}

TEST(GapTheory, BiasOfNoneChangesNothingAndBiasMovesAnEdge) {
  for (const GapPlace place : kPlaces) {
    EXPECT_NEAR(biased_gap_share(place, {0.2}, {0.1}, {1e-12}), gap_share(place, {0.2}, {0.1}), 1e-11);
  }
  EXPECT_NEAR(biased_gap_share(GapPlace::one_edge, {0.3}, {0.1}, {0.1}),
              gap_share(GapPlace::one_edge, {0.2}, {0.1}), 1e-15);
  EXPECT_NEAR(mean_gap({0.3}, {0.1}, {0.1}).v, mean_gap({0.2}, {0.1}).v, 1e-15);
  EXPECT_NEAR(biased_gap_share(GapPlace::square_outline, {0.3}, {0.1}, {0.1}, {0}, {-0.05}),
              1 - (normal_tail(-2) - normal_tail(4)) * (normal_tail(-2.5) - normal_tail(3.5)), 1e-15);
}

TEST(GapTheory, InversesGoBack) {
  for (const GapPlace place : kPlaces) {
    for (const double share : {1e-6, 0.001, 0.01, 0.2, 0.49}) {
      const Mm trap = trap_for_share(place, share, {0.13}, {0.02});
      EXPECT_NEAR(gap_share(place, trap, {0.13}, {0.02}) / share, 1, 1e-11);
      const Mm sigma = test::sigma_for_share(place, share, {0.3}, {0.05});
      EXPECT_NEAR(gap_share(place, {0.3}, sigma, {0.05}) / share, 1, 1e-11);
    }
  }
  EXPECT_NEAR(trap_for_share(GapPlace::round_outline, 0.01, {1}).v, 3.03, 0.005);
}

TEST(GapTheory, LimitsOfArguments) {
  const double nan = std::nan(""), inf = std::numeric_limits<double>::infinity();
  for (const GapPlace place : kPlaces) {
    for (const double bad : {nan, inf}) {
      EXPECT_THROW(gap_share(place, {bad}, {0.1}), std::domain_error);
      EXPECT_THROW(gap_share(place, {0.1}, {bad}), std::domain_error);
      EXPECT_THROW(gap_share(place, {0.1}, {0.1}, {bad}), std::domain_error);
      EXPECT_THROW(biased_gap_share(place, {0.1}, {0.1}, {bad}), std::domain_error);
    }
    EXPECT_THROW(gap_share(place, {0.1}, {-1e-9}), std::domain_error);
    EXPECT_THROW(gap_share(place, {0.1}, {0.1}, {-1e-9}), std::domain_error);
    for (const double bad : {0.0, 1.0, nan})
      EXPECT_THROW(trap_for_share(place, bad, {0.1}), std::domain_error);
  }
  EXPECT_THROW(biased_gap_share(GapPlace::round_outline, {0.1}, {0.1}, {-0.1}), std::domain_error);
}

// Shirts made with the register model against the closed forms: nine cells of sigma and trap, 20000 shirts
// each. A hole in one plate under a patch of another that is larger by the trap all round: at a place of the
// outline with outward direction n the gap is shift . n - trap; the round outline is looked at in 720
// directions, where the longest shift is missed by 1e-5 of itself. 45 statements share 99.9 % (Bonferroni):
// counts by exact binomial tails, the mean by its normal band (4.25 s.d.).
TEST(GapTheory, AgreesWithShirtsOfTheRegisterModel) {
  constexpr std::int64_t kShirts = 20000;
  constexpr double kAlpha = 1e-3 / 45;
  std::array<std::array<double, 2>, 720> around;
  for (std::size_t i = 0; i < around.size(); ++i) {
    const double a = 2 * std::numbers::pi * static_cast<double>(i) / 720;
    around[i] = {std::cos(a), std::sin(a)};
  }
  std::uint64_t seed = 100;
  for (const double sigma : {0.05, 0.1, 0.2}) {
    for (const double traps : {0.6, 1.6, 2.6}) {
      const double trap = traps * sigma;
      RegisterModel m;
      m.seed = ++seed;
      m.pair_sigma = {sigma};
      m.passes = {{0, {}, 0}, {1, {}, 0}};
      const RegisterRun run(m);
      std::array<std::int64_t, 4> shows{};
      double sum = 0;
      for (std::uint32_t shirt = 1; shirt <= kShirts; ++shirt) {
        const RegisterOffset a = run.offset_of(shirt, 0), b = run.offset_of(shirt, 1);
        const double dx = a.dx.v - b.dx.v, dy = a.dy.v - b.dy.v;
        const auto gap = [&](double nx, double ny) { return std::max(0.0, dx * nx + dy * ny - trap); };
        const double right = gap(1, 0), left = gap(-1, 0);
        double widest = 0;
        for (const auto& n : around) widest = std::max(widest, gap(n[0], n[1]));
        sum += right;
        shows[0] += right > 0;
        shows[1] += std::max(right, left) > 0;
        shows[2] += widest > 0;
        shows[3] += std::max({right, left, gap(0, 1), gap(0, -1)}) > 0;
      }
      for (std::size_t i = 0; i < 4; ++i) {
        const double p = gap_share(kPlaces[i], {trap}, {sigma});
        EXPECT_TRUE(test::count_is_likely(shows[i], kShirts, p, kAlpha))
            << "sigma " << sigma << " trap " << trap << " place " << i << ": " << shows[i] << " of 20000, p "
            << p;
      }
      EXPECT_NEAR(sum / kShirts, mean_gap({trap}, {sigma}).v,
                  4.25 * test::gap_deviation_mm(trap, sigma) / std::sqrt(1.0 * kShirts))
          << "sigma " << sigma << " trap " << trap;
    }
  }
}

// One pallet in eight is 0.3 mm off from the second pass on.
TEST(GapTheory, BadPalletAgreesWithShirtsOfTheRegisterModel) {
  constexpr std::int64_t kShirts = 20000;
  RegisterModel m;
  m.seed = 7;
  m.pair_sigma = {0.08};
  m.pallets = 8;
  m.pallet_biases = {{5, 1, {0.18}, {0.24}}};
  m.passes = {{0, {}, 0}, {1, {}, 0}};
  const RegisterRun run(m);
  std::int64_t good = 0, bad = 0;
  for (std::uint32_t shirt = 1; shirt <= kShirts; ++shirt) {
    const RegisterOffset a = run.offset_of(shirt, 0), b = run.offset_of(shirt, 1);
    const bool shows = std::hypot(a.dx.v - b.dx.v, a.dy.v - b.dy.v) > 0.25;
    (run.pallet_of(shirt) == 5 ? bad : good) += shows;
  }
  const double p = gap_share(GapPlace::round_outline, {0.25}, {0.08});
  const double p_bad = biased_gap_share(GapPlace::round_outline, {0.25}, {0.08}, {0.3});
  EXPECT_GT(p_bad, 0.7);
  EXPECT_TRUE(test::count_is_likely(good, kShirts * 7 / 8, p, 5e-4)) << good;
  EXPECT_TRUE(test::count_is_likely(bad, kShirts / 8, p_bad, 5e-4)) << bad;
  EXPECT_NEAR(static_cast<double>(good + bad) / kShirts, test::share_with_bad_pallet(p, p_bad, 8), 0.004);
}

}  // namespace
}  // namespace kirtle
