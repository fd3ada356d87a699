// Bands between mesh, dots and knit: known geometry, rasters, and what shops know of angles.
#include "screen/moire.h"

#include "screen/dot.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

Mesh mesh_of(double per_cm, double thread_um) {
  Mesh m;
  m.threads_per_cm = per_cm;
  m.thread = {thread_um};
  return m;
}

ScreenOnPress screen(double per_cm, double lpi, double angle, DotShape shape = DotShape::round) {
  return {"red", mesh_of(per_cm, 4000 / per_cm), {lpi, angle, shape}};
}

std::vector<Beat> beats_of(const ScreenOnPress& s) { return find_beats({&s, 1}, std::nullopt); }
bool warned(const std::vector<Beat>& beats) { return !beats.empty() && beats.front().warn; }

const Beat* find(const std::vector<Beat>& beats, BeatKind kind, int k, int l, int m, int n) {
  const auto at = std::find_if(beats.begin(), beats.end(), [&](const Beat& b) {
    return b.kind == kind && b.k == k && b.l == l && b.m == m && b.n == n;
  });
  return at == beats.end() ? nullptr : &*at;
}

TEST(Moire, ThreadsToALine) {
  EXPECT_NEAR(threads_per_line(mesh_of(120, 34), 55), 120 * 2.54 / 55, 1e-12);
  EXPECT_NEAR(threads_per_line(mesh_of(55 * 3.5 / 2.54, 40), 55), 3.5, 1e-12);
}

// Common practice, no source: 305 mesh holds 3 to 5 %, 230 5 to 8 %, 156 10 % and up, with 55 lines per inch.
TEST(Moire, SmallestTintHeld) {
  const HalftoneScreen h{55, 22.5, DotShape::round};
  EXPECT_NEAR(smallest_tint_held(mesh_of(120, 34), h), 0.04, 0.01);
  EXPECT_NEAR(smallest_tint_held(mesh_of(90, 48), h), 0.065, 0.015);
  EXPECT_GT(smallest_tint_held(mesh_of(61, 64), h), 0.10);
  EXPECT_EQ(smallest_tint_held(mesh_of(10, 300), {300, 0, DotShape::round}), 1);
}

// Truth: closed form, 1 / (2 f sin(d / 2)); the bands stand across the middle of the two angles.
TEST(Moire, TwoScreensAlittleApartInAngle) {
  for (const double apart : {0.5, 2.0, 7.0, 15.0}) {
    const ScreenOnPress two[] = {screen(200, 55, 20), screen(200, 55, 20 + apart)};
    const std::vector<Beat> beats = find_beats(two, std::nullopt);
    const Beat* b = find(beats, BeatKind::two_screens, 1, 0, 1, 0);
    ASSERT_NE(b, nullptr);
    EXPECT_NEAR(b->period.v, 25.4 / (2 * 55 * std::sin(apart / 2 * std::numbers::pi / 180)), 1e-9);
    EXPECT_NEAR(b->direction_deg, 20 + apart / 2 - 90, 1e-9);
    EXPECT_EQ(b->rank, 1);
    EXPECT_TRUE(b->warn);
  }
  const ScreenOnPress thirty[] = {screen(200, 55, 22.5), screen(200, 55, 52.5)};
  EXPECT_FALSE(warned(find_beats(thirty, std::nullopt))) << "bands of 0.89 mm";
}

// Truth: closed form, 1 / |f1 - f2|.
TEST(Moire, TwoScreensOfDifferentLineCount) {
  const ScreenOnPress two[] = {screen(200, 55, 22.5), screen(200, 50, 22.5)};
  const std::vector<Beat> beats = find_beats(two, std::nullopt);
  const Beat* b = find(beats, BeatKind::two_screens, 1, 0, 1, 0);
  ASSERT_NE(b, nullptr);
  EXPECT_NEAR(b->period.v, 25.4 / 5, 1e-9);
  EXPECT_EQ(b->first, "red");
}

TEST(Moire, OneAngleForAllPlatesDoesNotBeat) {
  const ScreenOnPress two[] = {screen(200, 55, 22.5), screen(200, 55, 22.5), screen(200, 55, 112.5)};
  for (const Beat& b : find_beats(two, std::nullopt)) EXPECT_FALSE(b.warn) << sentence_of(b);
}

// Truth: closed forms. At 0 degrees 1 / |f_mesh - m f|; at 45 degrees along the diagonals 1 / |f_mesh - m
// sqrt2 f|.
TEST(Moire, MeshAndDots) {
  const double f = 55 / 25.4;
  const std::vector<Beat> flat = beats_of(screen(68, 55, 0));
  ASSERT_NE(find(flat, BeatKind::mesh_and_screen, 1, 0, 3, 0), nullptr);
  EXPECT_NEAR(find(flat, BeatKind::mesh_and_screen, 1, 0, 3, 0)->period.v, 1 / (6.8 - 3 * f), 1e-9);
  EXPECT_NEAR(find(flat, BeatKind::mesh_and_screen, 0, 1, 0, 3)->period.v, 1 / (6.8 - 3 * f), 1e-9);
  EXPECT_NEAR(std::abs(find(flat, BeatKind::mesh_and_screen, 0, 1, 0, 3)->direction_deg), 90, 1e-9);
  const std::vector<Beat> diagonal = beats_of(screen(61, 55, 45));
  EXPECT_NEAR(diagonal.front().period.v, 1 / std::abs(6.1 - 2 * std::numbers::sqrt2 * f), 1e-6);
  EXPECT_EQ(diagonal.front().rank, 2);
  // A mesh of exactly three threads to a line repeats with the dots.
  const std::vector<Beat> locked = beats_of(screen(3 * 55 / 2.54, 55, 0));
  EXPECT_TRUE(std::isinf(locked.front().period.v));
  EXPECT_EQ(sentence_of(locked.front()), "bands wider than any print between mesh and dots of plate \"red\"");
}

// What shops know (common practice, no source): rows or diagonals along the threads are risky, 22.5 degrees
// is the safe one. Counted over the meshes and line counts in use.
TEST(Moire, RiskIsAlongTheThreadsAndAtFortyFive) {
  int along = 0, diagonal = 0, safe = 0, all = 0;
  for (const double lpi : {45.0, 50.0, 55.0, 60.0, 65.0}) {
    for (const double per_cm : {54.0, 61.0, 68.0, 77.0, 90.0, 100.0, 120.0}) {
      ++all;
      along += warned(beats_of(screen(per_cm, lpi, 0)));
      EXPECT_EQ(warned(beats_of(screen(per_cm, lpi, 0))), warned(beats_of(screen(per_cm, lpi, 90))));
      diagonal += warned(beats_of(screen(per_cm, lpi, 45)));
      safe += warned(beats_of(screen(per_cm, lpi, 22.5)));
    }
  }
  EXPECT_GT(along, all / 2);
  EXPECT_GT(diagonal, all / 2);
  EXPECT_LE(safe, all / 10);
  EXPECT_TRUE(warned(beats_of(screen(61, 55, 0))));
  EXPECT_TRUE(warned(beats_of(screen(61, 55, 90))));
  EXPECT_TRUE(warned(beats_of(screen(61, 55, 45))));
  EXPECT_FALSE(warned(beats_of(screen(61, 55, 22.5))));
  // 22.5 degrees is no charm: 45 lines on 39 threads fall in with the order two along, one across.
  const std::vector<Beat> skew = beats_of(screen(39, 45, 22.5));
  EXPECT_TRUE(skew.front().warn);
  EXPECT_TRUE(skew.front().skew);
}

TEST(Moire, LineDotsHaveOneDirection) {
  const std::vector<Beat> beats = beats_of(screen(68, 55, 0, DotShape::line));
  ASSERT_FALSE(beats.empty());
  for (const Beat& b : beats) EXPECT_EQ(b.n, 0);
  EXPECT_NEAR(beats.front().period.v, 1 / (6.8 - 3 * 55 / 25.4), 1e-9);
  EXPECT_NEAR(std::abs(beats.front().direction_deg), 0, 1e-9);
}

TEST(Moire, KnitIsAGratingToo) {
  const ScreenOnPress s = screen(200, 45, 0);
  const std::vector<Beat> beats = find_beats({&s, 1}, Knit{13, 18});
  const Beat* b = find(beats, BeatKind::knit_and_screen, 0, 1, 0, 1);
  ASSERT_NE(b, nullptr);
  EXPECT_NEAR(b->period.v, std::abs(1 / (1.8 - 45 / 25.4)), 1e-9);
  EXPECT_TRUE(b->warn);
  EXPECT_THAT(sentence_of(*b),
              ::testing::HasSubstr("mm wide between the knit and the dots of plate \"red\""));
}

/// Share of the mean that the pattern mesh x dots holds at a frequency along x, from a raster of whole dot
/// rows.
double strength_at(double per_mm, const ScreenOnPress& s, double length_mm) {
  const double f = s.halftone.lpi / 25.4, mesh = s.mesh.threads_per_cm / 10;
  constexpr double kStep = 0.00097;  // in no simple ratio to either pitch
  const double open = 1 - s.mesh.thread.v / 1000 * mesh, radius = round_dot_radius(0.5);
  std::complex<double> sum = 0;
  double mean = 0;
  constexpr int kRows = 201;
  for (int row = 0; row < kRows; ++row) {
    const double v = (row + 0.5) / kRows - 0.5;
    const int n = static_cast<int>(length_mm / kStep);
    for (int i = 0; i < n; ++i) {
      const double x = i * kStep;
      const double u = x * f - std::round(x * f), t = x * mesh - std::floor(x * mesh);
      if (t > open || u * u + v * v > radius * radius) continue;
      // Hann window: ends do not leak.
      const double w = 1 - std::cos(2 * std::numbers::pi * i / n);
      sum += std::polar(w, 2 * std::numbers::pi * per_mm * x);
      mean += w;
    }
  }
  return std::abs(sum) / mean;
}

// Truth: a raster of threads and round dots. The pattern has a slow part just where the beat is said to be,
// as strong as the product of both gratings' Fourier coefficients: sin(pi k w) / (pi k w) of openings of
// share w, and 2 J1(z) / z, z = 2 pi u m, of discs of u periods radius. Raster: within 3 %.
TEST(Moire, BandsStandWhereARasterHasThem) {
  for (const double per_cm : {39.0, 48.0, 68.0}) {
    const ScreenOnPress s = screen(per_cm, 55, 0);
    const std::vector<Beat> beats = beats_of(s);
    const auto b = std::find_if(beats.begin(), beats.end(),
                                [](const Beat& x) { return x.l == 0 && x.n == 0 && x.k == 1; });
    ASSERT_NE(b, beats.end());
    const double at = 1 / b->period.v, length = std::max(40.0, 12 * b->period.v);
    const double open = 1 - s.mesh.thread.v * per_cm / 1e4, t = std::numbers::pi * open;
    const double z = 2 * std::numbers::pi * round_dot_radius(0.5) * b->m;
    const double expected = std::abs(std::sin(t) / t * 2 * std::cyl_bessel_j(1, z) / z);
    EXPECT_NEAR(strength_at(at, s, length), expected, 0.03 * expected) << per_cm;
    EXPECT_LT(strength_at(1.4 * at, s, length), 0.05 * expected) << per_cm;
  }
}

TEST(Moire, AdviceClearsWhatItIsGivenFor) {
  const std::vector<Mesh> meshes = {mesh_of(43, 80), mesh_of(61, 64), mesh_of(77, 55), mesh_of(90, 48),
                                    mesh_of(120, 34)};
  const ScreenOnPress screens[] = {screen(61, 55, 0), screen(90, 55, 45), screen(120, 55, 22.5)};
  const std::vector<MeshVerdict> v = judge_meshes(screens, meshes);
  ASSERT_EQ(v.size(), 3u);
  EXPECT_TRUE(v[0].too_few_threads);
  ASSERT_TRUE(v[0].worst.has_value());
  EXPECT_THAT(v[0].advice, ElementsAre("use mesh 77/cm (196/in) or finer", "use 44 lines per inch or fewer",
                                       "turn the screen to 22.5 degrees", "use mesh 120/cm (305/in)"));
  EXPECT_FALSE(v[1].too_few_threads);
  EXPECT_THAT(v[1].advice, ElementsAre("turn the screen to 22.5 degrees", "use mesh 77/cm (196/in)"));
  EXPECT_FALSE(warned(beats_of(screen(77, 55, 45))));
  EXPECT_FALSE(v[2].worst.has_value());
  EXPECT_THAT(v[2].advice, IsEmpty());
  EXPECT_NEAR(v[2].threads_per_line, 5.54, 0.01);
}

TEST(Moire, WorstComesFirst) {
  const ScreenOnPress screens[] = {screen(61, 55, 0), screen(90, 50, 45), screen(77, 65, 10)};
  const std::vector<Beat> beats = find_beats(screens, Knit{13, 18});
  EXPECT_GT(beats.size(), 10u);
  for (std::size_t i = 1; i < beats.size(); ++i) {
    EXPECT_GE(beats[i - 1].warn, beats[i].warn);
    if (beats[i - 1].warn == beats[i].warn) {
      EXPECT_GE(beats[i - 1].period.v / beats[i - 1].rank, beats[i].period.v / beats[i].rank);
    }
    EXPECT_GT(beats[i].period.v, 0.5);
  }
}

TEST(Moire, LimitsOfArguments) {
  for (const double bad : {0.0, -1.0, std::nan("")}) {
    EXPECT_THROW(beats_of(screen(61, bad, 0)), std::domain_error);
    ScreenOnPress s = screen(61, 55, 0);
    s.mesh.threads_per_cm = bad;
    EXPECT_THROW(beats_of(s), std::domain_error);
  }
  EXPECT_THROW(beats_of(screen(61, 55, std::nan(""))), std::domain_error);
}

}  // namespace
}  // namespace kirtle
