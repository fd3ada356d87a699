#include "print/joint_cover.h"

#include "print/halftone_cases.h"
#include "print/mixing.h"
#include "print/overprint_table.h"
#include "print/print_checks.h"
#include "screen/threshold.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numeric>

namespace kirtle {
namespace {

using test::expect_close;
using test::kD50;
using test::RandomValues;
using test::three_inks;

std::vector<double> weights_of(const JointCover& joint, const std::vector<double>& cover) {
  std::vector<int> plates(cover.size());
  std::iota(plates.begin(), plates.end(), 0);
  std::vector<double> out(std::size_t{1} << cover.size());
  joint.weights(plates, cover, out);
  return out;
}

/// Every overprint counted point by point, on a raster finer than and out of step with the one under test.
std::vector<double> by_brute_force(DotShape shape, const std::vector<DotShift>& shifts,
                                   const std::vector<double>& cover) {
  constexpr int n = 701;
  std::vector<double> out(std::size_t{1} << cover.size());
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x) {
      std::size_t state = 0;
      for (std::size_t i = 0; i < cover.size(); ++i) {
        const double u = (x + 0.5) / n - shifts[i].u, v = (y + 0.5) / n - shifts[i].v;
        if (dot_threshold(shape, u, v) < cover[i]) state |= std::size_t{1} << i;
      }
      out[state] += 1.0 / (n * n);
    }
  }
  return out;
}

DotShift random_shift(RandomValues& random) { return {random.even(-2, 2), random.even(-2, 2)}; }

// Truth: two circles' common area (a lens) summed over neighbours, by a script of its own to three decimals:
// shifts along the screen's diagonal, 45 degrees from its rows. Along a row the figures are .299 and .277.
TEST(JointCover, TwoHalfTintsOverprintLessAsTheyMoveApart) {
  const double period_mm = 25.4 / 55;
  const std::vector<std::array<double, 3>> rows{
      {0, 0.5, 0.5}, {0.13, 0.2801, 0.2987}, {0.16, 0.2330, 0.2774}};
  for (const auto& [shift_mm, diagonal, along_a_row] : rows) {
    const double s = shift_mm / period_mm, d = s / std::sqrt(2.0);
    const JointCover apart(DotShape::round, std::vector<DotShift>{{}, {d, d}});
    EXPECT_NEAR(weights_of(apart, {0.5, 0.5})[3], diagonal, 0.004) << shift_mm;
    const JointCover row(DotShape::round, std::vector<DotShift>{{}, {s, 0}});
    EXPECT_NEAR(weights_of(row, {0.5, 0.5})[3], along_a_row, 0.004) << shift_mm;
  }
}

TEST(JointCover, WithoutShiftIsNested) {
  RandomValues random(1);
  for (const DotShape shape : {DotShape::round, DotShape::line, DotShape::inverting}) {
    const JointCover joint(shape, std::vector<DotShift>(4));
    for (int run = 0; run < 100; ++run) {
      const std::vector<double> cover{random.even(0, 1), random.even(0, 1), random.even(0, 1),
                                      random.even(0, 1)};
      const std::vector<double> got = weights_of(joint, cover), want = nested(cover);
      for (std::size_t i = 0; i < got.size(); ++i) EXPECT_NEAR(got[i], want[i], 1e-12);
    }
  }
}

// Demichel 1924. The mean over 1200 shifts drawn evenly from the period; 5 standard errors of a weight that
// swings by a fifth.
TEST(JointCover, TheMeanOverManyShiftsIsDemichel) {
  RandomValues random(2);
  const std::vector<double> cover{0.5, 0.3, 0.7};
  std::vector<double> mean(8);
  constexpr int kShifts = 400;
  for (int run = 0; run < kShifts; ++run) {
    const JointCover joint(DotShape::round,
                           std::vector<DotShift>{{}, random_shift(random), random_shift(random)});
    const std::vector<double> w = weights_of(joint, cover);
    for (std::size_t i = 0; i < 8; ++i) mean[i] += w[i] / kShifts;
  }
  const std::vector<double> want = demichel(cover);
  for (std::size_t i = 0; i < 8; ++i) EXPECT_NEAR(mean[i], want[i], 5 * 0.1 / std::sqrt(kShifts)) << i;
}

TEST(JointCover, ThreePlatesMatchBruteForceInEveryShape) {
  RandomValues random(3);
  double worst = 0;
  for (int run = 0; run < 25; ++run) {
    const DotShape shape = static_cast<DotShape>(run % 5);
    const std::vector<DotShift> shifts{random_shift(random), random_shift(random), random_shift(random)};
    const std::vector<double> cover{random.even(0, 1), random.even(0, 1), random.even(0, 1)};
    const std::vector<double> got = weights_of(JointCover(shape, shifts), cover);
    const std::vector<double> want = by_brute_force(shape, shifts, cover);
    for (std::size_t i = 0; i < 8; ++i) {
      worst = std::max(worst, std::abs(got[i] - want[i]));
      // A straight edge along the raster is off by half a row on each side at the worst; two edges.
      EXPECT_NEAR(got[i], want[i], shape == DotShape::line || shape == DotShape::square ? 0.016 : 0.004)
          << run;
    }
  }
  RecordProperty("worst", std::to_string(worst));
}

TEST(JointCover, EachPlateCoversExactlyItsToneAndNothingJumps) {
  RandomValues random(4);
  for (int run = 0; run < 50; ++run) {
    const JointCover joint(DotShape::round, std::vector<DotShift>{random_shift(random), random_shift(random),
                                                                  random_shift(random)});
    std::vector<double> cover{random.even(0, 1), random.even(0, 1), random.even(0, 1)};
    const std::vector<double> w = weights_of(joint, cover);
    EXPECT_NEAR(std::accumulate(w.begin(), w.end(), 0.0), 1, 1e-12);
    for (int plate = 0; plate < 3; ++plate) {
      double sum = 0;
      for (std::size_t i = 0; i < 8; ++i) sum += (i >> plate & 1) ? w[i] : 0;
      EXPECT_NEAR(sum, cover[plate], 1e-12);
    }
    cover[1] = std::min(1.0, cover[1] + 1e-6);
    const std::vector<double> next = weights_of(joint, cover);
    for (std::size_t i = 0; i < 8; ++i) {
      EXPECT_GE(w[i], 0);
      EXPECT_NEAR(next[i], w[i], 1.01e-6);
    }
  }
}

std::vector<PlateDots> shifted(double angle, const std::vector<std::pair<double, double>>& offsets_mm) {
  std::vector<PlateDots> out;
  for (const auto& [x, y] : offsets_mm) {
    out.push_back(demo::round_dots(55, angle));
    out.back().offset_x = {x};
    out.back().offset_y = {y};
  }
  return out;
}

TEST(JointRegister, OneShiftForAllPlatesIsInRegister) {
  const Stack stack = three_inks();
  const OverprintTable still(stack, shifted(22.5, {{0, 0}, {0, 0}, {0, 0}}), {kD50, {}});
  const OverprintTable moved(stack, shifted(22.5, {{0.2, -0.1}, {0.2, -0.1}, {0.2, -0.1}}), {kD50, {}});
  const std::vector<double> a{0.7, 0.4, 0.2};
  expect_close(moved.reflectance(a), still.reflectance(a), 1e-12);
}

TEST(JointRegister, AWholePeriodOutIsInRegisterAgain) {
  const Stack stack = three_inks();
  const double p = 25.4 / 55, c = std::cos(std::numbers::pi / 8), s = std::sin(std::numbers::pi / 8);
  // One period along u at 22.5 degrees, anticlockwise as seen with y downward; and two along v.
  const OverprintTable still(stack, shifted(22.5, {{0, 0}, {0, 0}, {0, 0}}), {kD50, {}});
  const OverprintTable moved(stack, shifted(22.5, {{0, 0}, {p * c, -p * s}, {2 * p * s, 2 * p * c}}),
                             {kD50, {}});
  const std::vector<double> a{0.7, 0.4, 0.2};
  expect_close(moved.reflectance(a), still.reflectance(a), 1e-9);
}

// Truth: the same pair form summed over weights counted by brute force.
TEST(JointRegister, ShiftedPlatesOfOneScreenMixByTheirJointCover) {
  const Stack stack = three_inks();
  const std::vector<PlateDots> dots = shifted(22.5, {{0, 0}, {0.11, 0.05}, {-0.07, 0.15}});
  const OverprintTable table(stack, dots, {kD50, {}});
  const PairForm form(dots);
  RandomValues random(5);
  const ScreenAxes axes(dots[0].halftone);
  std::vector<DotShift> shifts;
  for (const PlateDots& d : dots)
    shifts.push_back({axes.u(d.offset_x.v, d.offset_y.v), axes.v(d.offset_x.v, d.offset_y.v)});
  for (int run = 0; run < 6; ++run) {
    const std::vector<double> a{random.even(0, 1), random.even(0, 1), run % 2 ? 1.0 : random.even(0, 1)};
    const std::vector<double> w = by_brute_force(DotShape::round, shifts, a);
    Spectrum want;
    std::vector<Overprint> o;
    for (int i = 0; i < 8; ++i)
      o.push_back(stack.at(std::vector{i & 1 ? 1.0 : 0.0, i & 2 ? 1.0 : 0.0, i & 4 ? 1.0 : 0.0}));
    for (int p = 0; p < 8; ++p) {
      for (int q = 0; q < 8; ++q) {
        std::vector<int> differing;
        for (int plate = 0; plate < 3; ++plate)
          if ((p ^ q) >> plate & 1) differing.push_back(plate);
        want += w[p] * w[q] * form.pair(o[p], o[q], differing);
      }
    }
    expect_close(table.reflectance(a), want, 0.004);  // the rasters' weights
    const XYZ fast = table.mix(a), slow = xyz_from_reflectance(table.reflectance(a), kD50);
    EXPECT_NEAR(fast.x, slow.x, 1e-9 * slow.x);
    EXPECT_NEAR(fast.y, slow.y, 1e-9 * slow.y);
    EXPECT_NEAR(fast.z, slow.z, 1e-9 * slow.z);
  }
}

TEST(JointRegister, MixesBesideTintsOfOtherScreens) {
  RandomValues random(6);
  const Stack stack(demo::random_cloth(random), demo::random_passes(random, 4), 4, demo::process(), {});
  std::vector<PlateDots> dots = shifted(22.5, {{0, 0}, {0.1, 0}, {0.3, 0.3}, {0, 0}});
  dots[2].halftone.angle_deg = 52.5;
  dots[3].field = true;
  const OverprintTable table(stack, dots, {kD50, {}});
  for (int run = 0; run < 30; ++run) {
    const std::vector<double> a = demo::random_doses(random, 4);
    const XYZ fast = table.mix(a), slow = xyz_from_reflectance(table.reflectance(a), kD50);
    EXPECT_NEAR(fast.y, slow.y, 1e-9 * slow.y);
  }
}

}  // namespace
}  // namespace kirtle
