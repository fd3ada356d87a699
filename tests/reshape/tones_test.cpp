// Step tables, cuts by points, compensation, mending.
#include "plate/reshape/tones.h"

#include "plate/reshape/mend.h"
#include "reshape/shapes.h"

#include <cstdio>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using namespace test;

TEST(CutByPoints, FifteenMakesFiftyThirtyFiveAndEndsStay) {
  const StepTable cut = cut_by_points(15);
  EXPECT_DOUBLE_EQ(step_table_printed(cut, 0.5), 0.35);
  EXPECT_EQ(step_table_printed(cut, 0), 0);
  EXPECT_EQ(step_table_printed(cut, 1), 1);
  for (const double points : {0.0, 1.0, 29.0, 30.0}) {
    const StepTable t = cut_by_points(points);
    EXPECT_DOUBLE_EQ(step_table_printed(t, 0.5), 0.5 - points / 100);
    for (std::size_t i = 1; i < t.asked.size(); ++i) EXPECT_GT(t.printed[i], t.printed[i - 1]);
    for (std::size_t i = 0; i < t.asked.size(); ++i) EXPECT_LE(t.printed[i], t.asked[i] + 1e-12);
  }
  EXPECT_NEAR(step_table_printed(cut_by_points(30), 0.08), 0.02, 0.002);
}

TEST(CutByPoints, RefusesMoreThanThirtyAndSaysWhy) {
  for (const double points : {30.01, -0.01, std::nan("")})
    EXPECT_THROW(cut_by_points(points), std::domain_error);
  try {
    cut_by_points(35);
    FAIL();
  } catch (const std::domain_error& e) {
    EXPECT_STREQ(
        e.what(),
        "a cut of 35 points; allowed are 0 to 30 (common practice): beyond, light tints fall under any "
        "smallest "
        "dot and steps run together. If the print still comes out too full, lower the line count or the ink "
        "spread");
  }
}

TEST(ApplySteps, TintsAloneAndExactly) {
  // A disc's edge beside a 50 % tint: the tint becomes 35 %, the edge stays.
  auto plate = drawn(8, 300, 16, disc(2.5, 4, 1.6));
  for (int y = 0; y < plate.height; ++y) {
    for (int x = plate.width / 2 + 6; x < plate.width; ++x) put(plate, x, y, 0.5);
  }
  const auto got = apply_steps(plate, cut_by_points(15), 300).plate;
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

TEST(Mend, DustAndPinholes) {
  const Shape body = common(disc(4, 4, 2), outside(disc(4.2, 3.8, 0.06)));
  const auto plate = drawn(8, 300, 8, either(body, disc(1.02, 1.03, 0.06)));
  Mend what;
  what.dust = what.pinholes = {0.2};
  const Mended got = mend_plate(plate, what, 300);
  EXPECT_EQ(got.report.specks, 1u);
  EXPECT_EQ(got.report.pinholes, 1u);
  EXPECT_NEAR(got.report.speck_at.x.v, 1.02, 0.1);
  EXPECT_NEAR(got.report.pinhole_at.y.v, 3.8, 0.1);
  EXPECT_NEAR(area_mm2(got.plate.plate), 4 * std::numbers::pi, 0.02);
  EXPECT_NEAR(got.plate.change.removed_mm2, std::numbers::pi * 0.06 * 0.06, 0.002);
  EXPECT_EQ(mend_plate(got.plate.plate, what, 300).report.specks, 0u);
  EXPECT_TRUE(mend_plate(got.plate.plate, what, 300).plate.change.none());
}

TEST(Mend, FaintAndDenseTones) {
  const auto plate = field(8, 300, 8, [](double x, double) { return x / 8; });
  Mend what;
  what.smallest_tone = 0.1;
  what.largest_tone = 0.9;
  for (const FaintTones faint : {FaintTones::raise, FaintTones::clear}) {
    what.faint = faint;
    const Mended got = mend_plate(plate, what, 300);
    for (const auto v : got.plate.plate.ink8) {
      const double film = v / 255.0;
      EXPECT_TRUE((film > 0.098 && film < 0.902) || film < 0.005 || film > 0.995) << film;
    }
    EXPECT_NEAR(got.report.faint_mm2, 0.1 * 64, 2 * 8 * kMmPerInch / 300);  // two columns of pixels
    EXPECT_NEAR(got.report.dense_mm2, 0.1 * 64, 2 * 8 * kMmPerInch / 300);  // two columns of pixels
  }
  what.largest_tone = 0.05;
  EXPECT_THROW(mend_plate(plate, what, 300), std::domain_error);
}

TEST(Mend, ThinLinesAreThickenedToWhatPrints) {
  double worst = 0;
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const double turn : {0.0, 0.4, 0.785, 1.3}) {
      for (const double width : {0.15, 0.25}) {
        if (width / kMmPerInch * ppi < 0.9) continue;  // fainter lines are gone before they print
        SCOPED_TRACE("ppi " + std::to_string(ppi) + " turn " + std::to_string(turn) + " width " +
                     std::to_string(width));
        for (const bool gap : {false, true}) {
          const Shape line = box(4.03, 4.01, 2.5, width / 2, turn);
          const auto plate = drawn(8, ppi, 8, gap ? outside(line) : line);
          Mend what;
          (gap ? what.thinnest_gap : what.thinnest_line) = {0.4};
          const Mended got = mend_plate(plate, what, ppi);
          // By area over the middle 2 mm.
          double ink = 0, all = 0;
          const double mm = kMmPerInch / ppi;
          for (int y = 0; y < plate.height; ++y) {
            for (int x = 0; x < plate.width; ++x) {
              const double u =
                  std::cos(turn) * ((x + 0.5) * mm - 4.03) + std::sin(turn) * ((y + 0.5) * mm - 4.01);
              const double w = std::clamp((1.2 - std::abs(u)) / 0.6, 0.0, 1.0);
              const double film = got.plate.plate.film(x, y);
              ink += w * (gap ? 1 - film : film);
              all += w;
            }
          }
          const double off = ink * mm * mm / 1.8 - 0.4;
          EXPECT_LT(std::abs(off), 0.02) << gap;
          worst = std::max(worst, std::abs(off));
          const double length = gap ? got.report.thin_gap_mm : got.report.thin_line_mm;
          EXPECT_NEAR(length, 5, 1.0) << gap;  // a fifth, as the header says
        }
      }
    }
  }
  std::printf("worst width of a thickened line: %.2f um off\n", 1000 * worst);
  const auto wide = drawn(8, 300, 8, box(4, 4, 2, 0.4, 0.3));
  Mend what;
  what.thinnest_line = {0.4};
  EXPECT_TRUE(mend_plate(wide, what, 300).plate.change.none());
}

}  // namespace
}  // namespace kirtle
