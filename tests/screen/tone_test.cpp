#include "screen/tone.h"

#include "screen/dot_shapes.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

using test::kShapes;

HalftoneScreen at_lpi(double lpi, DotShape shape = DotShape::round) {
  HalftoneScreen h;
  h.lpi = lpi;
  h.shape = shape;
  return h;
}

ToneSettings settings(double lpi, double spread_um, DotShape shape = DotShape::round) {
  ToneSettings s;
  s.halftone = at_lpi(lpi, shape);
  s.spread = {spread_um};
  return s;
}

// Truth: closed form by hand, (sqrt(a / pi) + spread / period)^2 pi, period 25400 / lpi um; dots do not
// touch.
TEST(SpreadTone, RoundDotsApartMatchTheClosedForm) {
  EXPECT_NEAR(spread_tone(0.30, at_lpi(55), {25}), 0.4143141, 5e-8);
  EXPECT_NEAR(spread_tone(0.30, at_lpi(110), {25}), 0.5470408, 5e-8);
}

// Truth: circles of that radius counted on a raster of 8000 x 8000 (separate script): overlaps counted once.
TEST(SpreadTone, RoundDotsThatJoinMatchARaster) {
  EXPECT_NEAR(spread_tone(0.70, at_lpi(55), {30}), 0.86700, 5e-6);
}

TEST(SpreadTone, LinesGrowByBothEdges) {
  EXPECT_NEAR(spread_tone(0.30, at_lpi(55, DotShape::line), {25}), 0.30 + 2 * 25 * 55 / 25400.0, 1e-12);
  EXPECT_EQ(spread_tone(0.95, at_lpi(55, DotShape::line), {25}), 1);
  EXPECT_EQ(spread_tone(0.05, at_lpi(55, DotShape::line), {-25}), 0);
}

TEST(SpreadTone, IsMonotoneWithFixedEndsInEveryShape) {
  for (const DotShape shape : kShapes) {
    for (const double spread : {-30.0, 0.0, 45.0}) {
      const HalftoneScreen h = at_lpi(55, shape);
      EXPECT_EQ(spread_tone(0, h, {spread}), 0);
      EXPECT_EQ(spread_tone(1, h, {spread}), 1);
      double before = 0;
      for (int i = 1; i < 40; ++i) {
        const double now = spread_tone(i / 40.0, h, {spread});
        EXPECT_GE(now, before) << static_cast<int>(shape) << ' ' << i;
        if (spread > 0) {
          EXPECT_GT(now, i / 40.0);
        }
        if (spread < 0) {
          EXPECT_LT(now, i / 40.0);
        }
        if (spread == 0) {
          EXPECT_EQ(now, i / 40.0);
        }
        before = now;
      }
    }
  }
}

// Common practice, no source: on an average press a 50 % tint at 55 lines per inch prints about 77, 5 less at
// 45 lines and 5 more at 65; 29 on film prints 50.
TEST(ToneCurve, AveragePressPrintsWhatShopsExpect) {
  const double at_55 = ToneCurve(settings(55, 45)).printed(0.5);
  EXPECT_NEAR(100 * at_55, 77, 5);
  EXPECT_NEAR(100 * (at_55 - ToneCurve(settings(45, 45)).printed(0.5)), 5, 2);
  EXPECT_NEAR(100 * (ToneCurve(settings(65, 45)).printed(0.5) - at_55), 5, 2);
  EXPECT_NEAR(100 * ToneCurve(settings(55, 45)).film_for(0.5), 29, 4);
}

// Common practice, no source: water base on cloth 85, good plastisol on a flashed base 68 to 71; to one unit.
TEST(ToneCurve, OtherConditionsPrintWhatShopsExpect) {
  EXPECT_NEAR(100 * ToneCurve(settings(55, 60)).printed(0.5), 85, 1);
  EXPECT_NEAR(100 * ToneCurve(settings(55, 30)).printed(0.5), 68, 1);
  EXPECT_NEAR(100 * ToneCurve(settings(55, 35)).printed(0.5), 71, 1);
}

// Common practice, no source: published gains at 50 % and 55 lines, 30 and 40 points, need about 49 and 73
// um.
TEST(ToneCurve, PublishedGainsNeedTheseSpreads) {
  EXPECT_NEAR(100 * ToneCurve(settings(55, 49)).printed(0.5), 80, 1);
  EXPECT_NEAR(100 * ToneCurve(settings(55, 73)).printed(0.5), 90, 1);
}

TEST(ToneCurve, IsMonotoneAndUndoesItselfInEveryShape) {
  for (const DotShape shape : kShapes) {
    SCOPED_TRACE(static_cast<int>(shape));
    ToneSettings s = settings(55, 45, shape);
    s.smallest_dot = {136};
    const ToneCurve curve(s);
    EXPECT_EQ(curve.printed(0), 0);
    EXPECT_EQ(curve.printed(1), 1);
    EXPECT_EQ(curve.film_for(0), 0);
    double before = 0, film_before = 0;
    for (int i = 1; i < 500; ++i) {
      const double now = curve.printed(i / 500.0);
      EXPECT_GE(now, before);
      before = now;
      const double film = curve.film_for(i / 500.0);
      EXPECT_GE(film, film_before);
      film_before = film;
      EXPECT_GE(curve.printed(film), i / 500.0 - 1e-12);  // prints at least that,
      if (film > 0) {                                     // and no less film does
        EXPECT_LE(curve.printed(film * (1 - 1e-9)), i / 500.0 + 1e-7);
      }
    }
  }
}

TEST(ToneCurve, MatchesSpreadToneWhereTheStencilHoldsEveryDot) {
  for (const DotShape shape : kShapes) {
    const ToneCurve curve(settings(55, 45, shape));
    for (int i = 1; i < 20; ++i) {
      // the curve is straight between its 1021 nodes
      EXPECT_NEAR(curve.printed(i / 20.0), spread_tone(i / 20.0, at_lpi(55, shape), {45}), 1e-5)
          << static_cast<int>(shape) << ' ' << i;
    }
  }
}

TEST(ToneCurve, ACurveInTheOutputStepPrintsWhatThePlateSays) {
  ToneSettings s = settings(55, 45);
  s.curve = CurveAt::output;
  for (int i = 0; i <= 100; ++i) EXPECT_NEAR(ToneCurve(s).printed(i / 100.0), i / 100.0, 1e-12);
}

TEST(HeldShare, DotsFadeOutAroundTheSmallestAndAllAreHeldWithoutALimit) {
  const HalftoneScreen h = at_lpi(55);
  const double limit = std::numbers::pi / 4 * std::pow(136 * 55 / kUmPerInch, 2);
  EXPECT_EQ(held_share(0.001, h, {0}), 1);
  EXPECT_EQ(held_share(0.69 * limit, h, {136}), 0);
  EXPECT_NEAR(held_share(limit, h, {136}), 0.5, 1e-12);
  EXPECT_EQ(held_share(1.31 * limit, h, {136}), 1);
  double before = 0;
  for (int i = 0; i < 100; ++i) {
    const double now = held_share(i * 0.02 * limit, h, {136});
    EXPECT_GE(now, before);
    before = now;
  }
}

TEST(ToneCurve, SmallDotsVanishAndSmallHolesFill) {
  ToneSettings s = settings(55, 0);
  s.smallest_dot = {136};
  const ToneCurve curve(s);
  const double limit = std::numbers::pi / 4 * std::pow(136 * 55 / kUmPerInch, 2);
  EXPECT_EQ(curve.printed(0.69 * limit), 0);
  EXPECT_NEAR(curve.printed(1 - 0.69 * limit), 1, 1e-12);
  EXPECT_NEAR(curve.printed(0.5), 0.5, 1e-6);
}

TEST(StepTable, IsLinearBetweenStepsWithFixedEnds) {
  const StepTable cut{{0.5}, {0.35}};  // a 15-point cut
  EXPECT_EQ(step_table_printed(cut, 0), 0);
  EXPECT_EQ(step_table_printed(cut, 1), 1);
  EXPECT_DOUBLE_EQ(step_table_printed(cut, 0.5), 0.35);
  EXPECT_DOUBLE_EQ(step_table_printed(cut, 0.25), 0.175);
  EXPECT_DOUBLE_EQ(step_table_printed(cut, 0.75), 0.675);
  EXPECT_DOUBLE_EQ(step_table_printed({}, 0.3), 0.3);
}

TEST(StepTable, WinsOverSpreadAndSmallestDot) {
  ToneSettings s = settings(55, 45);
  s.smallest_dot = {200};
  s.steps = StepTable{{0.1, 0.5, 0.9}, {0.02, 0.7, 0.99}};
  const ToneCurve curve(s);
  EXPECT_NEAR(curve.printed(0.1), 0.02, 1e-12);
  EXPECT_NEAR(curve.printed(0.5), 0.7, 1e-12);
  EXPECT_NEAR(curve.printed(0.9), 0.99, 1e-12);
  EXPECT_NEAR(curve.film_for(0.7), 0.5, 1e-9);
  double before = 0;
  for (int i = 0; i <= 1000; ++i) {
    EXPECT_GE(curve.printed(i / 1000.0), before);
    before = curve.printed(i / 1000.0);
  }
}

}  // namespace
}  // namespace kirtle
