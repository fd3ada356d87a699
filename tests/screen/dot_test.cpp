#include "screen/dot.h"

#include "screen/dot_shapes.h"
#include "screen/dot_spread.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <numeric>

namespace kirtle {
namespace {

using test::kShapes;

/// Share of a fine grid of the unit cell that discs of radius u at its corners cover: a raster of its own.
double raster_disc_area(double u, int side) {
  long inside = 0;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const double dx = std::min((x + 0.5) / side, 1 - (x + 0.5) / side);
      const double dy = std::min((y + 0.5) / side, 1 - (y + 0.5) / side);
      inside += dx * dx + dy * dy < u * u;
    }
  }
  return static_cast<double>(inside) / side / side;
}

TEST(RoundDot, AreaMatchesARaster) {
  for (const double u : {0.05, 0.2, 0.4, 0.5, 0.55, 0.6, 0.65, 0.7}) {
    // A disc's count of lattice points is off by less than its perimeter in samples, spread at random: its
    // root.
    const double tolerance = 4 * std::sqrt(2 * std::numbers::pi * u * 2000) / (2000.0 * 2000.0) + 1e-9;
    EXPECT_NEAR(round_dot_area(u), raster_disc_area(u, 2000), tolerance) << u;
  }
}

TEST(RoundDot, AreaIsTheDiscUntilDotsTouchAndFullWhenTheyClose) {
  EXPECT_EQ(round_dot_area(0), 0);
  EXPECT_EQ(round_dot_area(-1), 0);
  EXPECT_DOUBLE_EQ(round_dot_area(0.5), std::numbers::pi / 4);
  EXPECT_NEAR(round_dot_area(0.5 + 1e-9), std::numbers::pi / 4, 1e-7);
  EXPECT_NEAR(round_dot_area(std::sqrt(0.5) - 1e-9), 1, 1e-7);
  EXPECT_EQ(round_dot_area(std::sqrt(0.5)), 1);
  EXPECT_EQ(round_dot_area(2), 1);
}

TEST(RoundDot, RadiusUndoesArea) {
  EXPECT_EQ(round_dot_radius(0), 0);
  EXPECT_DOUBLE_EQ(round_dot_radius(1), std::sqrt(0.5));
  for (int i = 1; i < 1000; ++i)
    EXPECT_NEAR(round_dot_area(round_dot_radius(i / 1000.0)), i / 1000.0, 1e-11) << i;
}

TEST(DotCell, InksExactlyTheAskedShareInEveryShape) {
  for (const DotShape shape : kShapes) {
    const DotCell cell(shape, 64);
    std::vector<unsigned char> before(64 * 64, 0);
    for (int i = 0; i <= 64; ++i) {
      const std::vector<unsigned char> ink = cell.pattern(i / 64.0);
      EXPECT_EQ(std::accumulate(ink.begin(), ink.end(), 0), i * 64) << static_cast<int>(shape);
      for (std::size_t j = 0; j < ink.size(); ++j) EXPECT_GE(ink[j], before[j]);  // dots only grow
      before = ink;
    }
  }
}

TEST(DotCell, ShapesAreWhatTheirNamesSay) {
  constexpr int n = 128;
  const auto count = [](const std::vector<unsigned char>& ink, int x0, int y0, int dx, int dy) {
    int sum = 0;
    for (int i = 0; i < n; ++i) sum += ink[static_cast<std::size_t>(y0 + i * dy) * n + x0 + i * dx];
    return sum;
  };
  const auto across = [&](DotShape shape, double tone) {
    const std::vector<unsigned char> ink = DotCell(shape, n).pattern(tone);
    return std::pair{count(ink, 0, n / 2, 1, 0), count(ink, n / 2, 0, 0, 1)};  // along u, along v
  };
  const auto [ru, rv] = across(DotShape::round, 0.2);
  EXPECT_EQ(ru, rv);
  EXPECT_NEAR(ru, n * 2 * std::sqrt(0.2 / std::numbers::pi), 2);
  const auto [eu, ev] = across(DotShape::elliptical, 0.2);
  EXPECT_NEAR(static_cast<double>(ev) / eu, 0.8, 0.05);
  const auto [lu, lv] = across(DotShape::line, 0.25);
  EXPECT_EQ(lu, n / 4);
  EXPECT_EQ(lv, n);
  const auto [su, sv] = across(DotShape::square, 0.25);
  EXPECT_NEAR(su, n / 2, 1);
  EXPECT_NEAR(sv, n / 2, 1);
  // Above half the inverting dot is the negative of the dot below half, moved by half a period.
  const std::vector<unsigned char> light = DotCell(DotShape::inverting, n).pattern(0.25);
  const std::vector<unsigned char> dark = DotCell(DotShape::inverting, n).pattern(0.75);
  int unlike = 0;
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x) {
      unlike += dark[static_cast<std::size_t>(y) * n + x] ==
                light[static_cast<std::size_t>((y + n / 2) % n) * n + (x + n / 2) % n];
    }
  }
  EXPECT_LT(unlike, n);  // ties along the edge only
}

/// The level of the threshold below which that share of the period lies, on a grid of its own.
double level_of(DotShape shape, double coverage) {
  constexpr int n = 1000;
  std::vector<double> t;
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x) t.push_back(dot_threshold(shape, (x + 0.5) / (2 * n), (y + 0.5) / (2 * n)));
  }
  const auto at = t.begin() + static_cast<std::ptrdiff_t>(coverage * n * n);
  std::nth_element(t.begin(), at, t.end());
  return *at;
}

/// Coverage after a move of the edges, by asking at each point of a grid whether ink (outward) or cloth
/// (inward) lies within reach in any of 96 directions.
double moved_by_reach(DotShape shape, double coverage, double spread) {
  constexpr int n = 150, directions = 96;
  const double level = level_of(shape, coverage);
  const auto inked = [&](double u, double v) {
    return dot_threshold(shape, u - std::round(u), v - std::round(v)) < level;
  };
  long ink = 0;
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x) {
      const double u = (x + 0.5) / (2 * n), v = (y + 0.5) / (2 * n);
      bool here = inked(u, v);
      for (int d = 0; d < directions && here != (spread > 0); ++d) {
        const double angle = 2 * std::numbers::pi * d / directions;
        for (const double reach : {0.5, 1.0}) {
          const double r = reach * std::abs(spread);
          if (inked(u + r * std::cos(angle), v + r * std::sin(angle)) == (spread > 0)) here = spread > 0;
        }
      }
      ink += here;
    }
  }
  return static_cast<double>(ink) / (n * n);
}

// By another way: reach on a raster. 0.004: points of the raster along the edge.
TEST(SpreadCoverage, IsWhatAReachOnARasterFindsInEveryShape) {
  for (const DotShape shape : kShapes) {
    for (const double coverage : {0.1, 0.3, 0.5, 0.6, 0.8}) {
      for (const double spread : {0.05, 0.1}) {
        EXPECT_NEAR(spread_coverage(shape, coverage, spread), moved_by_reach(shape, coverage, spread), 0.004)
            << static_cast<int>(shape) << ' ' << coverage << ' ' << spread;
      }
    }
    // Inward, of dots that stand apart.
    for (const double coverage : {0.3, 0.5, 0.6}) {
      EXPECT_NEAR(spread_coverage(shape, coverage, -0.05), moved_by_reach(shape, coverage, -0.05), 0.004)
          << static_cast<int>(shape) << ' ' << coverage;
    }
  }
}

// Closed forms: a square of side s grown by r is s^2 + 4 s r + pi r^2 while it stands apart, shrunk (s - 2
// r)^2; a line grows by both edges.
TEST(SpreadCoverage, SquaresAndLinesAreTheirClosedForms) {
  const double s = 0.5, r = 0.1;
  EXPECT_NEAR(spread_coverage(DotShape::square, s * s, r), s * s + 4 * s * r + std::numbers::pi * r * r,
              1e-5);
  EXPECT_NEAR(spread_coverage(DotShape::square, s * s, -r), (s - 2 * r) * (s - 2 * r), 1e-9);
  EXPECT_NEAR(spread_coverage(DotShape::line, 0.3, r), 0.5, 1e-12);
  EXPECT_NEAR(spread_coverage(DotShape::line, 0.3, -r), 0.1, 1e-12);
}

TEST(SpreadCoverage, InvertingDotsAreTheirHolesTheOtherWayRound) {
  for (const double coverage : {0.1, 0.3, 0.45}) {
    for (const double spread : {-0.05, 0.02, 0.1}) {
      EXPECT_NEAR(spread_coverage(DotShape::inverting, 1 - coverage, -spread),
                  1 - spread_coverage(DotShape::inverting, coverage, spread), 1e-12);
    }
  }
}

TEST(SpreadCoverage, RisesWithSpreadAndToneAndEndsStay) {
  for (const DotShape shape : kShapes) {
    SCOPED_TRACE(static_cast<int>(shape));
    for (const double spread : {-0.1, -0.02, 0.0, 0.02, 0.1, 0.4}) {
      EXPECT_EQ(spread_coverage(shape, 0, spread), 0);
      EXPECT_EQ(spread_coverage(shape, 1, spread), 1);
      double before = 0;
      for (int i = 1; i < 200; ++i) {
        const double now = spread_coverage(shape, i / 200.0, spread);
        EXPECT_GE(now, before - 1e-9) << i << ' ' << spread;
        EXPECT_LE(now, 1);
        before = now;
      }
    }
    for (int i = 1; i < 16; ++i) {
      double before = 0;
      for (const double spread : {-0.15, -0.1, -0.05, -0.01, -1e-6, 0.0, 1e-6, 0.01, 0.05, 0.1, 0.15}) {
        const double now = spread_coverage(shape, i / 16.0, spread);
        EXPECT_GE(now, before) << i << ' ' << spread;
        before = now;
      }
      EXPECT_EQ(spread_coverage(shape, i / 16.0, 0), i / 16.0);
      // no jump where the spread begins (three times the perimeter, a square's, per period)
      EXPECT_NEAR(spread_coverage(shape, i / 16.0, 1e-6), i / 16.0, 1.3e-5);
      EXPECT_NEAR(spread_coverage(shape, i / 16.0, -1e-6), i / 16.0, 1.3e-5);
    }
  }
}

}  // namespace
}  // namespace kirtle
