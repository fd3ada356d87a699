// What plates hold, against shapes drawn with known sizes: anti-aliased (16 x 16 points a pixel) and hard.
#include "plate/holdings.h"

#include "base/check.h"

#include <chrono>
#include <cmath>
#include <functional>
#include <gtest/gtest.h>
#include <limits>
#include <numbers>

namespace kirtle {
namespace {

struct Drawing {
  double width_mm = 0, height_mm = 0, ppi = 300;
  bool hard = false;  // no anti-aliasing
  int bits = 8;
};

/// A plate of what `film` says at each point (mm); `film` is 0..1.
PlateImage drawn(const Drawing& d, const std::function<double(double x, double y)>& film) {
  PlateImage plate;
  plate.width = static_cast<int>(std::lround(d.width_mm / kMmPerInch * d.ppi));
  plate.height = static_cast<int>(std::lround(d.height_mm / kMmPerInch * d.ppi));
  plate.ppi = d.ppi;
  plate.bits = d.bits;
  const double mm = kMmPerInch / d.ppi;
  constexpr int kSide = 16;
  for (int y = 0; y < plate.height; ++y) {
    for (int x = 0; x < plate.width; ++x) {
      double sum = 0;
      if (d.hard) {
        sum = film((x + 0.5) * mm, (y + 0.5) * mm) >= 0.5 ? 1 : 0;
      } else {
        for (int j = 0; j < kSide; ++j)
          for (int i = 0; i < kSide; ++i)
            sum += film((x + (i + 0.5) / kSide) * mm, (y + (j + 0.5) / kSide) * mm) / (kSide * kSide);
      }
      if (d.bits == 8) {
        plate.ink8.push_back(static_cast<std::uint8_t>(std::lround(255 * sum)));
      } else {
        plate.ink16.push_back(static_cast<std::uint16_t>(std::lround(65535 * sum)));
      }
    }
  }
  return plate;
}

bool in_bar(double x, double y, double cx, double cy, double degrees, double length, double width) {
  const double a = degrees * std::numbers::pi / 180, u = (x - cx) * std::cos(a) + (y - cy) * std::sin(a),
               v = (y - cy) * std::cos(a) - (x - cx) * std::sin(a);
  return std::abs(u) <= length / 2 && std::abs(v) <= width / 2;
}
bool in_disc(double x, double y, double cx, double cy, double diameter) {
  return std::hypot(x - cx, y - cy) <= diameter / 2;
}

struct BarCase {
  double ppi, degrees, width_mm;
  bool hard;
  int bits;
};
class Bars : public testing::TestWithParam<BarCase> {};

/// A bar of the width asked for beside a broad one and a disc: the thin one is found, in its place, and
/// turned into a gap it is found as one.
TEST_P(Bars, WidthWithinHalfAPixel) {
  const BarCase& c = GetParam();
  const double half_pixel = 0.5 * kMmPerInch / c.ppi;
  for (const bool gap : {false, true}) {
    const auto shape = [&](double x, double y) {
      const bool bar = in_bar(x, y, 6.03, 6.07, c.degrees, 6, c.width_mm);
      if (gap) return in_disc(x, y, 6, 6, 10.5) && !bar;
      return bar || in_bar(x, y, 16, 6, 90, 8, 1.9) || in_disc(x, y, 21, 6, 4);
    };
    const PlateHoldings h = measure_plate(
        drawn({25, 12, c.ppi, c.hard, c.bits}, [&](double x, double y) { return shape(x, y) ? 1.0 : 0.0; }),
        c.ppi);
    const auto& found = gap ? h.thinnest_gap : h.thinnest_line;
    ASSERT_TRUE(found.has_value()) << (gap ? "gap" : "line");
    EXPECT_NEAR(found->v, c.width_mm, half_pixel) << (gap ? "gap" : "line");
    const PlateSpot at = gap ? h.thinnest_gap_at : h.thinnest_line_at;
    EXPECT_TRUE(in_bar(at.x.v, at.y.v, 6.03, 6.07, c.degrees, 6, c.width_mm + 2 * half_pixel))
        << at.x.v << ',' << at.y.v;
    EXPECT_FALSE(h.lowest_tint.has_value()) << "edges are no tints";
    EXPECT_EQ(h.tint_share, 0);
  }
}

INSTANTIATE_TEST_SUITE_P(Sizes, Bars,
                         testing::Values(BarCase{150, 0, 0.35, false, 8}, BarCase{150, 30, 0.5, false, 8},
                                         BarCase{150, 90, 1.2, true, 8}, BarCase{300, 0, 0.35, false, 8},
                                         BarCase{300, 17, 0.35, false, 8}, BarCase{300, 45, 0.2, false, 8},
                                         BarCase{300, 90, 0.06, false, 8}, BarCase{300, 72, 1.7, false, 16},
                                         BarCase{300, 33, 0.5, true, 8}, BarCase{300, 45, 1, true, 8},
                                         BarCase{600, 10, 0.1, false, 8}, BarCase{600, 80, 0.35, true, 8},
                                         BarCase{600, 45, 1.5, true, 8}, BarCase{600, 60, 0.05, false, 16}));

TEST(Holdings, TaperingTipsCornersAndDotsAreNoLines) {
  // A triangle 5 mm long and 2.4 mm wide at its foot: its stretch of 0.5 mm next to the tip is 0.12 mm wide
  // in the mean. A square of 1.2 mm is a line of its own width; discs are none.
  const auto triangle = [](double x, double y) {
    return x >= 2 && x <= 7 && std::abs(y - 4) <= (x - 2) * 0.24 ? 1.0 : 0.0;
  };
  PlateHoldings h = measure_plate(drawn({10, 8, 600}, triangle), 600);
  ASSERT_TRUE(h.thinnest_line.has_value());
  EXPECT_NEAR(h.thinnest_line->v, 0.12, 0.05);
  h = measure_plate(
      drawn({10, 8, 300}, [](double x, double y) { return in_disc(x, y, 4, 4, 0.7) ? 1.0 : 0.0; }), 300);
  EXPECT_FALSE(h.thinnest_line.has_value());
  h = measure_plate(
      drawn({10, 8, 300}, [](double x, double y) { return in_bar(x, y, 5, 4, 0, 6, 4) ? 1.0 : 0.0; }), 300);
  EXPECT_FALSE(h.thinnest_line.has_value()) << "4 mm is wider than is looked for";
  EXPECT_FALSE(h.thinnest_gap.has_value());
}

TEST(Holdings, SharesTonesAndBox) {
  // 20 x 10 mm: solid 5 x 4, a tint of 30 % 5 x 4, a ramp 10 .. 80 % 4 x 2 mm.
  const auto film = [](double x, double y) {
    if (x >= 2 && x < 7 && y >= 1 && y < 5) return 1.0;
    if (x >= 10 && x < 15 && y >= 1 && y < 5) return 0.3;
    if (x >= 10 && x < 14 && y >= 6 && y < 8) return 0.1 + 0.7 * (x - 10) / 4;
    return 0.0;
  };
  for (const int bits : {8, 16}) {
    const PlateHoldings h = measure_plate(drawn({20, 10, 254, false, bits}, film), 254);
    EXPECT_NEAR(h.solid_share, 20 / 200.0, 0.001);
    EXPECT_NEAR(h.tint_share, 28 / 200.0, 0.003);
    EXPECT_NEAR(h.none_share, 152 / 200.0, 0.003);
    EXPECT_NEAR(h.coverage, (20 + 0.3 * 20 + 0.45 * 8) / 200.0, 0.001);
    EXPECT_NEAR(h.lowest_tint.value(), 0.1, 0.01);
    EXPECT_NEAR(h.highest_tint.value(), 0.8, 0.01);
    EXPECT_NEAR(h.ink_from.x.v, 2, 0.11);
    EXPECT_NEAR(h.ink_from.y.v, 1, 0.11);
    EXPECT_NEAR(h.ink_to.x.v, 15, 0.11);
    EXPECT_NEAR(h.ink_to.y.v, 8, 0.11);
    EXPECT_FALSE(h.border_inked);
    EXPECT_FALSE(h.empty);
  }
}

TEST(Holdings, SmallestIslandIsTheDiscOfItsArea) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const double diameter : {0.2, 0.5}) {
      const auto film = [&](double x, double y) {
        return in_disc(x, y, 3.013, 2.021, diameter) || in_disc(x, y, 6, 4, 1.2) ||
                       in_bar(x, y, 3, 6, 10, 4, 0.3)
                   ? 1.0
                   : 0.0;
      };
      const PlateHoldings h = measure_plate(drawn({10, 8, ppi}, film), ppi);
      EXPECT_NEAR(h.smallest_dot.value().v, diameter, 0.02 * diameter) << ppi;
      EXPECT_NEAR(h.smallest_dot_at.x.v, 3.013, 0.05);
      EXPECT_NEAR(h.smallest_dot_at.y.v, 2.021, 0.05);
    }
  }
}

TEST(Holdings, AShapeThatWindsIsOneIsland) {
  // A "U" and, apart from it, a dot: joined only at its foot, read top down.
  const auto film = [](double x, double y) {
    const bool u =
        in_bar(x, y, 2, 4, 90, 6, 0.5) || in_bar(x, y, 6, 4, 90, 6, 0.5) || in_bar(x, y, 4, 7, 0, 4.5, 0.5);
    return u || in_disc(x, y, 4, 3, 1) ? 1.0 : 0.0;
  };
  const PlateHoldings h = measure_plate(drawn({8, 8, 300}, film), 300);
  EXPECT_NEAR(h.smallest_dot.value().v, 1, 0.02);
}

TEST(Holdings, EmptyFullAndFramed) {
  PlateHoldings h = measure_plate(drawn({5, 5, 300}, [](double, double) { return 0.0; }), 300);
  EXPECT_TRUE(h.empty);
  EXPECT_EQ(h.coverage, 0);
  EXPECT_FALSE(h.smallest_dot || h.thinnest_line || h.thinnest_gap || h.lowest_tint || h.border_inked);
  h = measure_plate(drawn({5, 5, 300}, [](double, double) { return 1.0; }), 300);
  EXPECT_EQ(h.coverage, 1);
  EXPECT_EQ(h.solid_share, 1);
  EXPECT_TRUE(h.border_inked);
  EXPECT_FALSE(h.thinnest_line) << "where a solid that runs off the plate ends, nobody knows";
  h = measure_plate(drawn({5, 5, 300}, [](double x, double) { return x < 0.1 ? 1.0 : 0.0; }), 300);
  EXPECT_TRUE(h.border_inked);
}

TEST(Holdings, OneBitPlatesHaveShapesAndNoTints) {
  // Halftone dots of 0.25 mm, 0.5 mm apart.
  PlateImage plate = drawn({10, 10, 600, true}, [](double x, double y) {
    return in_disc(std::fmod(x, 0.5), std::fmod(y, 0.5), 0.25, 0.25, 0.25) ? 1.0 : 0.0;
  });
  plate.dots = true;
  const PlateHoldings h = measure_plate(plate, 600);
  EXPECT_EQ(h.tint_share, 0);
  EXPECT_FALSE(h.lowest_tint.has_value());
  EXPECT_NEAR(h.smallest_dot.value().v, 0.25, 0.5 * kMmPerInch / 600);
  EXPECT_NEAR(h.coverage, std::numbers::pi / 16, 0.01);
}

TEST(Holdings, SameOnAnyNumberOfThreads) {
  const PlateImage plate = drawn({30, 30, 150}, [](double x, double y) {
    return in_bar(x, y, 15, 15, 30, 20, 0.4) || in_disc(x, y, 6, 6, 3.1) ? 1.0
           : in_disc(x, y, 22, 8, 6)                                     ? 0.4
                                                                         : 0.0;
  });
  const PlateHoldings one = measure_plate(plate, 150, 1), five = measure_plate(plate, 150, 5);
  EXPECT_EQ(one.coverage, five.coverage);
  EXPECT_EQ(one.thinnest_line->v, five.thinnest_line->v);
  EXPECT_EQ(one.thinnest_line_at.x.v, five.thinnest_line_at.x.v);
  EXPECT_EQ(one.smallest_dot->v, five.smallest_dot->v);
}

TEST(Holdings, NoResolutionIsOurBug) {
  const PlateImage plate = drawn({1, 1, 150}, [](double, double) { return 0.0; });
  EXPECT_THROW(measure_plate(plate, 0), InternalError);
  EXPECT_THROW(measure_plate(plate, std::numeric_limits<double>::quiet_NaN()), InternalError);
}

}  // namespace
}  // namespace kirtle
