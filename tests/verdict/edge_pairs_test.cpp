// Where plates part: overlaps of drawn plates against the geometry they were drawn from.
#include "verdict/edge_pairs.h"

#include "verdict/drawn_plates.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::both;
using test::disc;
using test::draw;
using test::half_plane;
using test::outside;
using test::rectangle;

std::vector<EdgePair> pairs_of(const std::vector<EdgePlate>& plates, double ppi, unsigned threads = 1) {
  EdgeSearch search;
  search.ppi = ppi;
  search.threads = threads;
  return find_edge_pairs(plates, search);
}

double length_of(const std::vector<EdgePair>& pairs) {
  double sum = 0;
  for (const EdgePair& e : pairs) sum += static_cast<double>(e.length_mm);
  return sum;
}

double mean_overlap(const std::vector<EdgePair>& pairs) {
  double sum = 0;
  for (const EdgePair& e : pairs) sum += static_cast<double>(e.length_mm) * static_cast<double>(e.t_mm);
  return sum / length_of(pairs);
}

/// The light plate around a dark shape, cut out `trap` inside its outline.
struct Knocked {
  PlateImage light, dark;
  std::vector<EdgePlate> plates(double spread_um = 0) const {
    return {{&light, nullptr, {spread_um}, false}, {&dark, nullptr, {spread_um}, false}};
  }
};

Knocked disc_with_trap(double ppi, double trap_mm, int bits = 8) {
  return {draw(20, 20, ppi, outside(disc(10.02, 9.97, 7.3 - trap_mm)), bits),
          draw(20, 20, ppi, disc(10.02, 9.97, 7.3), bits)};
}

TEST(EdgePairs, OverlapAtStraightEdgesOfAnyAngle) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const double angle : {0.0, 30.0, 45.0, 77.0, 200.0}) {
      for (const double trap : {0.0, 0.1, 0.25, 1.0}) {
        const double nx = std::cos(angle * std::numbers::pi / 180),
                     ny = std::sin(angle * std::numbers::pi / 180);
        const PlateImage dark = draw(14, 10, ppi, half_plane(7.037, 5.02, angle));
        const PlateImage light =
            draw(14, 10, ppi, outside(half_plane(7.037 - nx * trap, 5.02 - ny * trap, angle)));
        const auto pairs = pairs_of({{&light}, {&dark}}, ppi);
        ASSERT_FALSE(pairs.empty());
        // Away from the plate's border, where a cut edge is not straight. Each drawing rounds by 1/80 pixel.
        double sum = 0, length = 0;
        for (const EdgePair& e : pairs) {
          EXPECT_EQ(e.plate_a, 1);
          EXPECT_EQ(e.plate_b, 0);
          EXPECT_EQ(e.shows, kShirtShows);
          const double x = static_cast<double>(e.x_mm), y = static_cast<double>(e.y_mm);
          if (x < 2 || x > 12 || y < 2 || y > 8) continue;
          EXPECT_NEAR(static_cast<double>(e.t_mm), trap, 0.03 * kMmPerInch / ppi) << ppi << ' ' << angle;
          sum += static_cast<double>(e.length_mm) * static_cast<double>(e.t_mm);
          length += static_cast<double>(e.length_mm);
          EXPECT_NEAR((x - 7.037) * nx + (y - 5.02) * ny, 0, 0.03 * kMmPerInch / ppi);
          EXPECT_NEAR(static_cast<double>(e.nx) * nx + static_cast<double>(e.ny) * ny, 1, 2e-3);
        }
        EXPECT_NEAR(sum / length, trap, 0.025 * kMmPerInch / ppi + 5e-4) << ppi << ' ' << angle;
      }
    }
  }
}

TEST(EdgePairs, LengthIsTheOutlines) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    const Knocked set = disc_with_trap(ppi, 0.1);
    EXPECT_NEAR(length_of(pairs_of(set.plates(), ppi)), 2 * std::numbers::pi * 7.3, 0.05);
  }
}

TEST(EdgePairs, ResolutionAndDepthDoNotMatter) {
  for (const double trap : {0.0, 0.06, 0.18}) {
    const double coarse = mean_overlap(pairs_of(disc_with_trap(150, trap).plates(), 150));
    const double fine = mean_overlap(pairs_of(disc_with_trap(300, trap).plates(), 300));
    const double deep = mean_overlap(pairs_of(disc_with_trap(300, trap, 16).plates(), 300));
    EXPECT_NEAR(coarse, trap, 1e-3);
    EXPECT_NEAR(fine, trap, 1e-3);
    EXPECT_NEAR(deep, trap, 1e-3);
  }
}

TEST(EdgePairs, InkSpreadOfBothEdgesIsOverlap) {
  for (const double ppi : {150.0, 300.0}) {
    for (const double trap : {0.0, 0.1}) {
      const auto pairs = pairs_of(disc_with_trap(ppi, trap).plates(45), ppi);
      EXPECT_NEAR(mean_overlap(pairs), trap + 0.09, 2e-3);
    }
  }
}

TEST(EdgePairs, FoundOnceWhicheverPlateIsLater) {
  const Knocked set = disc_with_trap(300, 0.1);
  const auto dark_last = pairs_of({{&set.light}, {&set.dark}}, 300);
  const auto light_last = pairs_of({{&set.dark}, {&set.light}}, 300);
  EXPECT_NEAR(length_of(dark_last), 2 * std::numbers::pi * 7.3, 0.05);
  EXPECT_NEAR(length_of(light_last), 2 * std::numbers::pi * 7.2, 0.05);  // the hole's edge
  EXPECT_NEAR(mean_overlap(light_last), 0.1, 1e-3);
}

TEST(EdgePairs, NothingOpensWhereAPlateRunsUnderAll) {
  const Knocked set = disc_with_trap(300, 0.1);
  const PlateImage all = draw(20, 20, 300, [](double, double) { return -1.0; });
  EXPECT_TRUE(pairs_of({{&all}, {&set.dark}}, 300).empty());
  EXPECT_TRUE(pairs_of({{&all}, {&set.light}, {&set.dark}}, 300).empty());
  // More than the reach is as good as under all.
  EXPECT_TRUE(pairs_of(disc_with_trap(300, 1.6).plates(), 300).empty());
  EXPECT_FALSE(pairs_of(disc_with_trap(300, 1.4).plates(), 300).empty());
}

TEST(EdgePairs, ABaseUnderAllShowsInTheGap) {
  const Knocked set = disc_with_trap(300, 0.1);
  const PlateImage all = draw(20, 20, 300, [](double, double) { return -1.0; });
  const auto pairs = pairs_of({{&all, nullptr, {}, true}, {&set.light}, {&set.dark}}, 300);
  EXPECT_NEAR(length_of(pairs), 2 * std::numbers::pi * 7.3, 0.05);
  for (const EdgePair& e : pairs) {
    EXPECT_EQ(e.plate_a, 2);
    EXPECT_EQ(e.plate_b, 1);
    EXPECT_EQ(e.shows, 0);
    EXPECT_NEAR(e.t_mm, 0.1F, 2e-3F);
  }
}

TEST(EdgePairs, AThirdPlateUnderTheEdgeBoundsTheGap) {
  // A further light plate reaches 0.3 under the dark: the shirt shows only when both have left.
  const Knocked set = disc_with_trap(300, 0.1);
  const PlateImage further = draw(20, 20, 300, outside(disc(10.02, 9.97, 7.0)));
  const auto pairs = pairs_of({{&set.light}, {&further}, {&set.dark}}, 300);
  EXPECT_NEAR(length_of(pairs), 2 * std::numbers::pi * 7.3, 0.05);
  for (const EdgePair& e : pairs) {
    EXPECT_EQ(e.plate_a, 2);
    EXPECT_EQ(e.plate_b, 1);
    EXPECT_NEAR(e.t_mm, 0.3F, 3e-3F);
    ASSERT_EQ(e.also[0].plate, 0);
    EXPECT_TRUE(e.also[0].outer);
    EXPECT_NEAR(e.also[0].depth_mm, 0.1F, 3e-3F);
    EXPECT_EQ(e.also[1].plate, -1);
  }
}

TEST(EdgePairs, AChokedBasePeeks) {
  const PlateImage top = draw(20, 20, 300, disc(10.02, 9.97, 7.3)),
                   base = draw(20, 20, 300, disc(10.02, 9.97, 7.12));
  const auto pairs = pairs_of({{&base, nullptr, {}, true}, {&top}}, 300);
  EXPECT_NEAR(length_of(pairs), 2 * std::numbers::pi * 7.3, 0.05);
  EXPECT_NEAR(mean_overlap(pairs), 0.18, 1e-3);
  for (const EdgePair& e : pairs) {
    EXPECT_EQ(e.plate_a, 1);
    EXPECT_EQ(e.plate_b, 0);
    EXPECT_EQ(e.shows, 0);
  }
  // Without being a base it is just ink under ink.
  EXPECT_TRUE(pairs_of({{&base}, {&top}}, 300).empty());
}

TEST(EdgePairs, ABasePeeksOnlyWhereNothingLiesBeside) {
  // A second top beside the first covers the base's way out: what is left is the outer half.
  const PlateImage left = draw(20, 20, 300, both(disc(10, 10, 7), half_plane(10, 10, 0)));
  const PlateImage right = draw(20, 20, 300, both(disc(10, 10, 7), outside(half_plane(9.9, 10, 0))));
  const PlateImage base = draw(20, 20, 300, disc(10, 10, 6.8));
  const auto pairs = pairs_of({{&base, nullptr, {}, true}, {&left}, {&right}}, 300);
  double peeking = 0, gaps = 0, shirt = 0;
  for (const EdgePair& e : pairs) {
    const double r = std::hypot(static_cast<double>(e.x_mm) - 10, static_cast<double>(e.y_mm) - 10);
    if (e.shows == kShirtShows) {
      // At the rim, by the base's own edge, the two tops part over the shirt.
      EXPECT_GT(r, 6.5);
      shirt += static_cast<double>(e.length_mm);
      continue;
    }
    (e.plate_b == 0 ? peeking : gaps) += static_cast<double>(e.length_mm);
    if (e.plate_b == 0) {
      EXPECT_NEAR(r, 7, 0.05);
    }
  }
  EXPECT_NEAR(peeking, 2 * std::numbers::pi * 7, 0.8);  // where the two tops meet at the rim either may count
  EXPECT_NEAR(gaps, 13.6, 0.4);
  EXPECT_LT(shirt, 1.2);
}

TEST(EdgePairs, ThinLinesOpenNoWiderThanTheirKnockOut) {
  // A dark line of 0.6 over a knock-out of 0.3: trap 0.15 a side, at most 0.3 of shirt.
  const PlateImage line = draw(20, 12, 300, rectangle(-5, 5.7, 30, 6.3)),
                   light = draw(20, 12, 300, outside(rectangle(-5, 5.85, 30, 6.15)));
  const auto pairs = pairs_of({{&light}, {&line}}, 300);
  EXPECT_NEAR(length_of(pairs), 40, 0.5);
  for (const EdgePair& e : pairs) {
    EXPECT_NEAR(e.t_mm, 0.15F, 2e-3F);
    EXPECT_NEAR(e.widest_mm, 0.3F, 3e-3F);
  }
}

TEST(EdgePairs, TintsHaveNoContourButCoverAndEnd) {
  // A tint of 70 % beside the dark, ending 0.2 under it.
  const double ppi = 300;
  const PlateImage dark = draw(20, 10, ppi, half_plane(10, 5, 180));  // right of 10
  PlateImage tint = draw(20, 10, ppi, half_plane(10.2, 5, 0));
  for (std::uint8_t& v : tint.ink8) v = static_cast<std::uint8_t>(v * 7 / 10);
  const auto strong = pairs_of({{&tint}, {&dark}}, ppi);
  EXPECT_NEAR(length_of(strong), 10, 0.2);
  EXPECT_NEAR(mean_overlap(strong), 0.2, 0.5 * kMmPerInch / ppi);  // a tint's end is known to half a pixel
  const auto tint_later = pairs_of({{&dark}, {&tint}}, ppi);
  EXPECT_NEAR(length_of(tint_later), 10, 0.2);
  for (const EdgePair& e : tint_later) EXPECT_EQ(e.plate_a, 0);  // from the only contour there is
  for (std::uint8_t& v : tint.ink8) v = static_cast<std::uint8_t>(v / 2);
  EXPECT_TRUE(pairs_of({{&tint}, {&dark}}, ppi).empty());
}

TEST(EdgePairs, GapsAlreadyInTheDesignAreNotMisregister) {
  EXPECT_TRUE(pairs_of(disc_with_trap(300, -0.2).plates(), 300).empty());
  const auto hairline =
      pairs_of(disc_with_trap(300, -0.02).plates(), 300);  // touches, for the eye and the press
  EXPECT_NEAR(length_of(hairline), 2 * std::numbers::pi * 7.3, 0.1);
  EXPECT_EQ(mean_overlap(hairline), 0);
}

TEST(EdgePairs, SameBytesOnAnyNumberOfThreads) {
  const Knocked set = disc_with_trap(600, 0.1);
  const auto one = pairs_of(set.plates(45), 600, 1), three = pairs_of(set.plates(45), 600, 3);
  ASSERT_EQ(one.size(), three.size());
  for (std::size_t i = 0; i < one.size(); ++i) {
    EXPECT_EQ(one[i].x_mm, three[i].x_mm);
    EXPECT_EQ(one[i].y_mm, three[i].y_mm);
    EXPECT_EQ(one[i].t_mm, three[i].t_mm);
    EXPECT_EQ(one[i].length_mm, three[i].length_mm);
  }
}

TEST(EdgePairs, EmptyPlatesAndNone) {
  PlateImage empty = draw(5, 5, 300, [](double, double) { return 1.0; });
  EXPECT_TRUE(pairs_of({{&empty}, {&empty}}, 300).empty());
  EXPECT_TRUE(pairs_of({}, 300).empty());
}

TEST(EdgePairs, MovedByIsShiftTurnAndStretchAboutTheMiddle) {
  RegisterOffset o;
  o.dx = {0.3};
  o.dy = {-0.1};
  Moved m = moved_by(o, 17, 4, 100, 80);
  EXPECT_DOUBLE_EQ(m.dx_mm, 0.3);
  EXPECT_DOUBLE_EQ(m.dy_mm, -0.1);
  o = {};
  o.stretch_x = 0.001;
  o.stretch_y = -0.002;
  m = moved_by(o, 100, 0, 100, 80);
  EXPECT_NEAR(m.dx_mm, 0.05, 1e-12);
  EXPECT_NEAR(m.dy_mm, 0.08, 1e-12);
  o = {};
  o.turn_deg = 0.1;  // clockwise as seen, y down: right of the middle goes down
  m = moved_by(o, 100, 40, 100, 80);
  EXPECT_NEAR(m.dy_mm, 50 * std::sin(0.1 * std::numbers::pi / 180), 1e-12);
  EXPECT_NEAR(m.dx_mm, 50 * (std::cos(0.1 * std::numbers::pi / 180) - 1), 1e-12);
}

}  // namespace
}  // namespace kirtle
