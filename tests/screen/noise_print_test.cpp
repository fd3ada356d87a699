// Frequency-modulated dots as they print: their curve against closed forms and against points asked one by
// one.
#include "screen/noise_print.h"

#include "screen/noise_dots.h"
#include "screen/threshold.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <random>

namespace kirtle {
namespace {

constexpr int kSide = NoiseTile::kSide;

/// Share of points inked, drawn at random over four tiles: 1 s.d. at most 0.0005.
double share_of_points(const NoisePrint& print, double film) {
  std::mt19937 random(5);
  constexpr int n = 1000000;
  long ink = 0;
  const auto even = [&] { return 2 * print.tile().v * static_cast<double>(random()) / 4294967296.0; };
  for (int i = 0; i < n; ++i) {
    const double x = even();
    ink += print.inked(x, even(), film);
  }
  return static_cast<double>(ink) / n;
}

TEST(NoisePrint, WithoutSpreadAndLimitIsTheFilm) {
  const NoisePrint print({100}, {0}, {0});
  for (const double film : {0.0, 0.01, 0.1, 0.37, 0.5, 0.9, 0.99, 1.0}) {
    EXPECT_NEAR(print.printed(film), film, 1e-12);
    EXPECT_NEAR(share_of_points(print, film), film, 0.002);
  }
}

// Closed form: squares of side s that stand apart grow to s^2 + 4 s r + pi r^2, shrink to (s - 2 r)^2.
TEST(NoisePrint, DotsApartGrowAndShrinkAsSquaresDo) {
  const double s = 120;
  for (const double r : {15.0, 30.0, 45.0, 60.0}) {
    const double times = 1 + 4 * r / s + std::numbers::pi * r * r / (s * s);
    EXPECT_NEAR(NoisePrint({s}, {r}, {0}).printed(0.02), 0.02 * times, 0.02 * times * 0.01) << r;
  }
  const double r = 0.2 * s;
  EXPECT_NEAR(NoisePrint({s}, {-r}, {0}).printed(0.02), 0.02 * 0.36, 0.02 * 0.36 * 0.03);
}

// By another way: points asked one by one. 0.0035: what the header says and 3 s.d. of the points.
TEST(NoisePrint, TheCurveIsTheMeanOfThePoints) {
  for (const double spread : {45.0, -20.0, 150.0}) {
    for (const double limit : {0.0, 125.0}) {
      const NoisePrint print({110}, {spread}, {limit});
      for (const double film : {0.03, 0.2, 0.5, 0.8, 0.97})
        EXPECT_NEAR(share_of_points(print, film), print.printed(film), 0.0035)
            << spread << ' ' << limit << ' ' << film;
    }
  }
}

TEST(NoisePrint, TheCurveRisesAndEndsStay) {
  for (const double spread : {-40.0, 0.0, 45.0}) {
    const NoisePrint print({90}, {spread}, {136});
    double before = 0;
    for (int i = 0; i <= 500; ++i) {
      const double now = print.printed(i / 500.0);
      EXPECT_GE(now, before - 1e-12);
      EXPECT_LE(now, 1 + 1e-12);
      before = now;
    }
    EXPECT_EQ(print.printed(0), 0);
    EXPECT_EQ(print.printed(1), 1);
  }
}

// More edge for the same tone: small dots gain more than those in rows, and the more the smaller they are (of
// 0.2 mm, many of which touch at 50 %, less).
TEST(NoisePrint, GainsMoreThanDotsInRows) {
  HalftoneScreen rows;
  const double am = spread_tone(0.5, rows, {30});
  const double large = NoisePrint({200}, {30}, {0}).printed(0.5),
               small = NoisePrint({100}, {30}, {0}).printed(0.5);
  RecordProperty("rows_55", std::to_string(am));
  RecordProperty("noise_200_um", std::to_string(large));
  RecordProperty("noise_100_um", std::to_string(small));
  EXPECT_GT(small, am + 0.05);
  EXPECT_GT(small, large + 0.1);
}

// Single dots at the limit are there by half (0.4917 by area), holes likewise; 6 standard errors of 328 dots.
TEST(NoisePrint, DotsNearTheLimitDropOutAndHolesFill) {
  const double dot = 120, limit = dot / std::sqrt(std::numbers::pi / 4);  // area over the limit's: 1
  const NoisePrint print({dot}, {0}, {limit});
  const double few = 6 * std::sqrt(0.25 / (0.02 * kSide * kSide));
  EXPECT_NEAR(print.printed(0.02) / 0.02, 0.5, few);
  EXPECT_NEAR((1 - print.printed(0.98)) / 0.02, 0.5, few);
  EXPECT_NEAR(print.printed(0.5), 0.5, 0.05);  // clusters hold
  // Far below it none is left, far above it all are.
  EXPECT_EQ(NoisePrint({dot}, {0}, {2 * limit}).printed(0.02), 0);
  EXPECT_NEAR(NoisePrint({dot}, {0}, {0.8 * limit}).printed(0.02), 0.02, 1e-12);
  EXPECT_NEAR(NoisePrint({dot}, {0}, {2 * limit}).printed(0.98), 1, 1e-12);
}

// A dot is there whole or not at all, and stays at every darker tone.
TEST(NoisePrint, LostDotsAreWholeAndComeBackForGood) {
  const NoisePrint print({100}, {0}, {113});
  int lost = 0;
  for (int y = 0; y < kSide; ++y) {
    for (int x = 0; x < kSide; ++x) {
      bool before = false;
      for (const double film : {0.02, 0.05, 0.1, 0.2, 0.35, 0.5}) {
        const bool ink = print.inked((x + 0.5) * 0.1, (y + 0.5) * 0.1, film);
        for (const double d : {0.02, 0.98}) EXPECT_EQ(print.inked((x + d) * 0.1, (y + d) * 0.1, film), ink);
        EXPECT_TRUE(ink || !before);
        before = ink;
        lost += !ink && noise_inked((x + 0.5) * 0.1, (y + 0.5) * 0.1, film, {100});
      }
    }
  }
  EXPECT_GT(lost, 100);
}

ToneSettings noise(double dot_um, double spread_um, double smallest_um) {
  ToneSettings s;
  s.halftone.shape = DotShape::noise;
  s.halftone.dot = {dot_um};
  s.spread = {spread_um};
  s.smallest_dot = {smallest_um};
  return s;
}

TEST(NoisePrint, PlatesPrintTheCurveAndFallIndependently) {
  const ToneSettings s = noise(150, 40, 136);
  const ToneCurve curve(s);
  const PrintedDots one(s, 1), same(s, 1), other(s, 2);
  for (const double film : {0.05, 0.3, 0.6}) {
    long a = 0, b = 0, both = 0, unlike = 0;
    constexpr int n = 400000;
    std::mt19937 random(6);
    for (int i = 0; i < n; ++i) {
      const double mx = 300 * static_cast<double>(random()) / 4294967296.0;
      const double my = 300 * static_cast<double>(random()) / 4294967296.0;
      const bool p = one.inked(mx, my, film), q = other.inked(mx, my, film);
      a += p;
      b += q;
      both += p && q;
      unlike += p != same.inked(mx, my, film);
    }
    const double area = n, mean = curve.printed(film);
    EXPECT_EQ(unlike, 0);
    EXPECT_NEAR(static_cast<double>(a) / area, mean, 0.004);
    EXPECT_NEAR(static_cast<double>(b) / area, mean, 0.004);
    EXPECT_NEAR(static_cast<double>(both) / area, mean * mean, 0.01) << film;
  }
}

TEST(NoisePrint, AStepTableSaysWhatPrints) {
  ToneSettings s = noise(150, 40, 136);
  s.steps = StepTable{{0, 0.5, 1}, {0, 0.62, 1}};
  EXPECT_NEAR(ToneCurve(s).printed(0.5), 0.62, 1e-9);
  const PrintedDots dots(s, 3);
  long ink = 0;
  constexpr int n = kSide;
  for (int y = 0; y < n; ++y)
    for (int x = 0; x < n; ++x) ink += dots.inked(x * 0.15, y * 0.15, 0.5);
  EXPECT_NEAR(static_cast<double>(ink) / n / n, 0.62, 0.001);
}

}  // namespace
}  // namespace kirtle
