// The generator against its authors' known answers, its normal numbers against the closed form.
#include "press/random.h"

#include "press/statistics.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>
#include <vector>

namespace kirtle {
namespace {

using Words = std::array<std::uint32_t, 4>;

// Truth: known-answer vectors that the authors of Salmon et al. 2011 (doi:10.1145/2063384.2063405) publish
// with their own library (file kat_vectors, lines "philox4x32 10").
TEST(Philox, GivesTheAuthorsKnownAnswers) {
  constexpr std::uint32_t kAll = 0xffffffffu;
  EXPECT_EQ(philox4x32_10({0, 0, 0, 0}, {0, 0}), (Words{0x6627e8d5u, 0xe169c58du, 0xbc57ac4cu, 0x9b00dbd8u}));
  EXPECT_EQ(philox4x32_10({kAll, kAll, kAll, kAll}, {kAll, kAll}),
            (Words{0x408f276du, 0x41c83b0eu, 0xa20bc7c6u, 0x6d5451fdu}));
  EXPECT_EQ(philox4x32_10({0x243f6a88u, 0x85a308d3u, 0x13198a2eu, 0x03707344u}, {0xa4093822u, 0x299f31d0u}),
            (Words{0xd16cfe09u, 0x94fdccebu, 0x5001e420u, 0x24126ea1u}));
}

// Truth: the maths library's logarithm in long double.
TEST(PortableLog, AgreesWithTheMathsLibrary) {
  double worst = 0;
  const auto look = [&](double x) {
    const long double truth = std::log(static_cast<long double>(x));
    worst = std::max(worst, static_cast<double>(std::abs(portable_log(x) / truth - 1)));
  };
  for (int i = 1; i < 200000; ++i) {
    look(std::exp(-708 + i * 1416.0 / 200000));
    look(i / 200000.0);
    if (i != 100000) look(i / 100000.0);
  }
  EXPECT_LT(worst, 5e-16);
  EXPECT_EQ(portable_log(1), 0);
  EXPECT_NO_THROW(portable_log(std::numeric_limits<double>::min()));
  for (const double bad : {0.0, -1.0, 1e-310, std::numeric_limits<double>::infinity(), std::nan("")})
    EXPECT_THROW(portable_log(bad), std::domain_error) << bad;
}

// Truth: Phi(x) = erfc(-x / sqrt 2) / 2 in long double. The condition of the round trip turns an error dx
// into dp / p = dx phi(x) / Phi(x).
TEST(InverseNormal, IsTheInverseOfTheDistribution) {
  double worst = 0;
  const auto look = [&](double p) {
    const auto x = static_cast<long double>(inverse_normal(p));
    const long double back = std::erfc(-x / std::sqrt(2.0L)) / 2;
    const long double density = std::exp(-x * x / 2) / std::sqrt(2 * 3.14159265358979323846L);
    const auto dx = static_cast<double>(std::abs((back - p) / density));
    worst = std::max(worst, dx / std::max(1e-3, static_cast<double>(std::abs(x))));
  };
  for (int i = 1; i < 100000; ++i) look(i / 100000.0);
  for (double p = 1e-300; p < 0.5; p *= 1.7) look(p);
  EXPECT_LT(worst, 2e-15);
  EXPECT_EQ(inverse_normal(0.5), 0);
  // Truth: quantiles printed in any table of the normal distribution.
  EXPECT_NEAR(inverse_normal(0.975), 1.959963984540054, 1e-15);
  EXPECT_NEAR(inverse_normal(0.9995), 3.290526731491926, 2e-14);  // 1 - p is rounded to 1e-16
  for (const double bad : {0.0, 1.0, -0.1, 1.1, std::nan("")})
    EXPECT_THROW(inverse_normal(bad), std::domain_error) << bad;
}

TEST(RandomNumbers, EndsOfTheUniformGiveFiniteNormals) {
  EXPECT_NEAR(inverse_normal(0x1p-53), -8.2095, 1e-3);
  EXPECT_NEAR(inverse_normal(1 - 0x1p-53), 8.2095, 1e-3);
}

/// n normal numbers, shirts 1..n.
std::vector<double> draws(std::uint64_t seed, std::uint32_t head, DrawnFor drawn_for, int n) {
  std::vector<double> x(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i)
    x[static_cast<std::size_t>(i)] =
        normal_number({seed, static_cast<std::uint32_t>(i + 1), head, drawn_for});
  return x;
}

constexpr double kZ999 = 3.2905267;  // two-sided 99.9 %

// Truth: moments of the normal distribution; the mean of x^k over n draws has variance (E x^2k - (E x^k)^2) /
// n. 2e6 draws, 99.9 % bands.
TEST(RandomNumbers, MomentsAreNormal) {
  constexpr int kDraws = 2000000;
  const std::vector<double> x = draws(1, 0, DrawnFor::shift_across, kDraws);
  constexpr double kMoment[] = {1, 0, 1, 0, 3, 0, 15, 0, 105};
  for (const int k : {1, 2, 3, 4}) {
    double sum = 0;
    for (const double v : x) sum += std::pow(v, k);
    const double band = kZ999 * std::sqrt((kMoment[2 * k] - kMoment[k] * kMoment[k]) / kDraws);
    EXPECT_NEAR(sum / kDraws, kMoment[k], band) << "moment " << k;
  }
}

// Truth: 2 Q(z). Counts have exact binomial bands at 99.9 %.
TEST(RandomNumbers, TailsAreNormalToFourSigma) {
  constexpr int kDraws = 2000000;
  const std::vector<double> x = draws(2, 3, DrawnFor::shift_down, kDraws);
  for (const double z : {0.5, 1.0, 2.0, 3.0, 3.5, 4.0}) {
    const double p = std::erfc(z / std::sqrt(2.0));
    const auto count = std::count_if(x.begin(), x.end(), [&](double v) { return std::abs(v) > z; });
    if (p < 1e-2) {
      EXPECT_TRUE(test::count_is_likely(count, kDraws, p, 1e-3)) << z << " sigma: " << count;
    } else {
      EXPECT_NEAR(static_cast<double>(count) / kDraws, p, kZ999 * std::sqrt(p * (1 - p) / kDraws)) << z;
    }
    const auto up = std::count_if(x.begin(), x.end(), [&](double v) { return v > z; });
    EXPECT_NEAR(static_cast<double>(2 * up - count), 0, kZ999 * std::sqrt(static_cast<double>(count))) << z;
  }
}

double correlation(const std::vector<double>& a, const std::vector<double>& b, std::size_t lag = 0) {
  double sum = 0;
  for (std::size_t i = 0; i + lag < a.size(); ++i) sum += a[i] * b[i + lag];
  return sum / static_cast<double>(a.size() - lag);
}

// Truth: for independent standard normals the mean product has standard deviation 1 / sqrt n; so has that of
// the centred squares over 2.
TEST(RandomNumbers, HeadsAxesShirtsAndSeedsAreIndependent) {
  constexpr int kDraws = 200000;
  const double band = kZ999 / std::sqrt(static_cast<double>(kDraws));
  const std::vector<double> a = draws(7, 0, DrawnFor::shift_across, kDraws);
  const auto squares = [](std::vector<double> x) {
    for (double& v : x) v = (v * v - 1) / std::sqrt(2.0);
    return x;
  };
  const std::vector<std::vector<double>> others = {
      draws(7, 1, DrawnFor::shift_across, kDraws),
      draws(7, 2, DrawnFor::shift_across, kDraws),
      draws(7, 0, DrawnFor::shift_down, kDraws),
      draws(7, 0, DrawnFor::turn, kDraws),
      draws(8, 0, DrawnFor::shift_across, kDraws),
      draws(7 + (1ull << 32), 0, DrawnFor::shift_across, kDraws)};
  for (std::size_t i = 0; i < others.size(); ++i) {
    EXPECT_NEAR(correlation(a, others[i]), 0, band) << i;
    EXPECT_NEAR(correlation(squares(a), squares(others[i])), 0, band) << i;
  }
  for (const std::size_t lag : {1u, 2u, 8u, 12u}) EXPECT_NEAR(correlation(a, a, lag), 0, 1.01 * band) << lag;
}

TEST(RandomNumbers, EveryPartOfTheAddressCounts) {
  const DrawAddress at{5, 317, 2, DrawnFor::shift_down, 0};
  std::vector<double> seen{normal_number(at)};
  for (DrawAddress other : {at, at, at, at, at, at}) {
    switch (seen.size()) {
      case 1:
        other.seed = 6;
        break;
      case 2:
        other.seed = 5 + (1ull << 40);
        break;
      case 3:
        other.shirt = 318;
        break;
      case 4:
        other.head = 3;
        break;
      case 5:
        other.drawn_for = DrawnFor::turn;
        break;
      default:
        other.index = 1;
        break;
    }
    seen.push_back(normal_number(other));
  }
  std::sort(seen.begin(), seen.end());
  EXPECT_EQ(std::adjacent_find(seen.begin(), seen.end()), seen.end());
  EXPECT_EQ(normal_number(at), normal_number(at));
}

}  // namespace
}  // namespace kirtle
