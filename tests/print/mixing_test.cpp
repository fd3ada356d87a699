#include "print/mixing.h"

#include "layer/random_values.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numeric>
#include <stdexcept>

namespace kirtle {
namespace {

using test::RandomValues;

double sum(const std::vector<double>& w) { return std::accumulate(w.begin(), w.end(), 0.0); }

// Truth of the next five: the published formulas worked by hand.
// Murray 1936, J. Franklin Inst. 221, 721 (from memory): (.8 - .3) / (.8 - .05).
TEST(Mixing, MurrayDavies) {
  EXPECT_NEAR(coverage_murray_davies(0.8, 0.05, 0.3), 0.6666667, 5e-8);
  EXPECT_THROW(coverage_murray_davies(0.5, 0.5, 0.4), std::domain_error);
}

// Yule, Nielsen 1951, TAGA Proc. 3, 65 (from memory): ((sqrt .8 + sqrt .05) / 2)^2; n = 1 is the area mean.
TEST(Mixing, YuleNielsen) {
  const double w[] = {0.5, 0.5}, v[] = {0.8, 0.05};
  EXPECT_NEAR(yule_nielsen(w, v, 2), 0.3125, 1e-12);
  EXPECT_NEAR(yule_nielsen(w, v, 1), 0.425, 1e-12);
}

// Demichel 1924, Procede 26, 17 (from memory).
TEST(Mixing, Demichel) {
  const std::vector<double> w = demichel(std::vector{0.3, 0.6});
  ASSERT_EQ(w.size(), 4u);
  EXPECT_NEAR(w[0], 0.28, 1e-12);  // none
  EXPECT_NEAR(w[1], 0.12, 1e-12);  // the first alone
  EXPECT_NEAR(w[2], 0.42, 1e-12);  // the second alone
  EXPECT_NEAR(w[3], 0.18, 1e-12);  // both
}

// Viggiano 1985, TAGA Proc. 37, 647 (from memory): (.28 * .9 + .12 * .6 + .42 * .5 + .18 * .2)^2.
TEST(Mixing, YuleNielsenNeugebauer) {
  const double primaries[] = {0.81, 0.36, 0.25, 0.04};
  EXPECT_NEAR(yule_nielsen(demichel(std::vector{0.3, 0.6}), primaries, 2), 0.3249, 1e-12);
}

// Clapper, Yule 1953, JOSA 43, 600, doi:10.1364/JOSA.43.000600 (from memory).
TEST(Mixing, ClapperYule) {
  const double a[] = {0.5, 0.5}, t[] = {1.0, 0.2};
  EXPECT_NEAR(clapper_yule(a, t, 0.04, 0.6, 0.8), 0.1873774, 5e-8);
}

TEST(Mixing, WeightsSumToOneAndKeepEachCoverage) {
  RandomValues random(1);
  for (int run = 0; run < 2000; ++run) {
    std::vector<double> a(run % 9);
    for (double& x : a) x = run % 3 == 0 ? std::round(random.even(0, 1)) : random.even(0, 1);
    for (const std::vector<double>& w : {demichel(a), nested(a)}) {
      ASSERT_EQ(w.size(), std::size_t{1} << a.size());
      EXPECT_NEAR(sum(w), 1, 1e-12);
      for (std::size_t plate = 0; plate < a.size(); ++plate) {
        double covered = 0;
        for (std::size_t i = 0; i < w.size(); ++i) {
          EXPECT_GE(w[i], 0);
          if (i >> plate & 1) covered += w[i];
        }
        EXPECT_NEAR(covered, a[plate], 1e-12);
      }
    }
  }
}

TEST(Mixing, NestedDotsHideTheSmallerUnderTheLarger) {
  const std::vector<double> w = nested(std::vector{0.3, 0.6});
  EXPECT_NEAR(w[0], 0.4, 1e-12);
  EXPECT_NEAR(w[1], 0.0, 1e-12);  // the smaller never alone
  EXPECT_NEAR(w[2], 0.3, 1e-12);
  EXPECT_NEAR(w[3], 0.3, 1e-12);  // min of the two
  const std::vector<double> same = nested(std::vector{0.5, 0.5, 0.5});
  EXPECT_NEAR(same[0], 0.5, 1e-12);
  EXPECT_NEAR(same[7], 0.5, 1e-12);
}

TEST(Mixing, ScatterMixRunsFromAreaToYuleNielsenTwo) {
  RandomValues random(2);
  for (int run = 0; run < 500; ++run) {
    const std::vector<double> w =
        demichel(std::vector{random.even(0, 1), random.even(0, 1), random.even(0, 1)});
    std::vector<double> v(8);
    for (double& x : v) x = random.even(0, 1);
    const double area = yule_nielsen(w, v, 1), two = yule_nielsen(w, v, 2);
    EXPECT_NEAR(scatter_mix(w, v, 0), area, 1e-12);
    EXPECT_NEAR(scatter_mix(w, v, 1), two, 1e-12);
    EXPECT_LE(two, area + 1e-12);  // scatter only darkens
    EXPECT_NEAR(scatter_mix(w, v, 0.5), (area + two) / 2, 1e-12);
  }
}

}  // namespace
}  // namespace kirtle
