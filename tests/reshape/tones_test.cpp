// Step tables and compensation.
#include "plate/reshape/tones.h"

#include "reshape/shapes.h"

#include <cstdio>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using namespace test;

TEST(ApplySteps, TintsAloneAndExactly) {
  // A disc's edge beside a 50 % tint: the tint becomes 35 %, the edge stays.
  auto plate = drawn(8, 300, 16, disc(2.5, 4, 1.6));
  for (int y = 0; y < plate.height; ++y) {
    for (int x = plate.width / 2 + 6; x < plate.width; ++x) put(plate, x, y, 0.5);
  }
  const auto got = apply_steps(plate, {{0.5}, {0.35}}, 300).plate;
  const auto left = [](double x, double) { return x < 4; };
  EXPECT_DOUBLE_EQ(area_mm2(got, left), area_mm2(plate, left));
  EXPECT_NEAR(got.film(plate.width - 9, 40), 0.35, 1.0 / 65535);
  EXPECT_THROW(apply_steps(plate, {{0.5, 0.4}, {0.3, 0.35}}, 300), std::domain_error);
  EXPECT_THROW(apply_steps(plate, {{0.5}, {1.1}}, 300), std::domain_error);
}

TEST(Compensate, InvertsWithinHalfAPerCentBetweenSmallestAndLargestTone) {
  double worst = 0;
  for (const DotShape shape :
       {DotShape::round, DotShape::elliptical, DotShape::inverting, DotShape::line, DotShape::square}) {
    for (const double lpi : {45.0, 55.0, 65.0}) {
      for (const double spread : {0.0, 30.0, 45.0, 60.0}) {
        for (const double dot : {0.0, 123.0, 158.0}) {
          ToneSettings s;
          s.halftone = {lpi, 22.5, shape};
          s.spread = {spread};
          s.smallest_dot = {dot};
          const ToneCurve curve(s);
          const Compensation c = compensate(s);
          SCOPED_TRACE("shape " + std::to_string(static_cast<int>(shape)) + " lpi " + std::to_string(lpi) +
                       " spread " + std::to_string(spread) + " dot " + std::to_string(dot));
          ASSERT_LT(c.lowest_printed, c.highest_printed);
          for (double asked = c.lowest_printed; asked <= c.highest_printed; asked += 0.0037) {
            const double off = curve.printed(step_table_printed(c.asked_to_film, asked)) - asked;
            EXPECT_LT(std::abs(off), 0.001) << asked;
            worst = std::max(worst, std::abs(off));
          }
          // Beyond: the nearest printable tone, and it is said.
          if (dot > 0) {
            EXPECT_NEAR(step_table_printed(c.asked_to_film, 0.5 * c.lowest_printed), c.lowest_film, 1e-6);
            EXPECT_NE(c.clamped, "");
          }
          EXPECT_EQ(step_table_printed(c.asked_to_film, 0), 0);
          EXPECT_EQ(step_table_printed(c.asked_to_film, 1), 1);
        }
      }
    }
  }
  std::printf("worst inverse of a tone curve: %.3f %%\n", 100 * worst);
}

TEST(Compensate, AnAveragePressNeedsTwentyNineToPrintFifty) {
  ToneSettings s;  // 45 um at 55 lines per inch
  // Closed form: round dots grown by constant edge spread (tone.h); 29 +- 4 is what shops quote (common
  // practice).
  EXPECT_NEAR(step_table_printed(compensate(s).asked_to_film, 0.5), 0.29, 0.04);
  EXPECT_NEAR(ToneCurve(s).printed(step_table_printed(compensate(s).asked_to_film, 0.5)), 0.5, 0.001);
}

TEST(Compensate, NobodyCompensatesTwice) {
  for (const CurveAt at : {CurveAt::plates, CurveAt::output}) {
    ToneSettings s;
    s.curve = at;
    EXPECT_DOUBLE_EQ(step_table_printed(compensate(s).asked_to_film, 0.37), 0.37);
    EXPECT_EQ(compensate(s).clamped, "");
  }
}

TEST(Compensate, MeasuredStepsAreInverted) {
  ToneSettings s;
  s.steps = StepTable{{0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95}, {0.09, 0.17, 0.42, 0.74, 0.94, 1.0, 1.0}};
  const Compensation c = compensate(s);
  const ToneCurve curve(s);
  for (double asked = 0.01; asked < 0.995; asked += 0.013)
    EXPECT_NEAR(curve.printed(step_table_printed(c.asked_to_film, asked)), asked, 0.002);
  EXPECT_NEAR(c.highest_film, 0.9, 1e-9);
}

TEST(Compensate, SaysWhatIsClamped) {
  ToneSettings s;
  s.smallest_dot = {158};
  const Compensation c = compensate(s);
  EXPECT_TRUE(c.clamps_low);
  EXPECT_TRUE(c.clamps_high);
  EXPECT_EQ(c.clamped, "tints asked to print below " + std::to_string(std::lround(100 * c.lowest_printed)) +
                           " % print that; tints asked to print above " +
                           std::to_string(std::lround(100 * c.highest_printed)) + " % print that");
}

TEST(PrintsSolidFrom, AnAveragePress) {
  // 88 +- 4 % film at 45 um and 55 lines per inch is what shops quote (common practice).
  EXPECT_NEAR(prints_solid_from(ToneCurve(ToneSettings{})), 0.88, 0.04);
}

}  // namespace
}  // namespace kirtle
