// Runs of shirts over drawn plates against the closed forms of misregister (press/gap_theory.h), and the
// figures a run reports.
#include "verdict/showing.h"

#include "base/check.h"
#include "press/gap_oracle.h"
#include "press/statistics.h"
#include "verdict/drawn_plates.h"

#include <algorithm>
#include <array>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::disc;
using test::draw;
using test::outside;
using test::pair_offsets;
using test::rectangle;

constexpr int kShirts = 20000;
// Every check of one test together holds in 99.9 % of all seeds.
constexpr double kAlpha = 0.001;

std::vector<EdgePair> search(const PlateImage& light, const PlateImage& dark, Um spread = {0}) {
  EdgeSearch settings;
  settings.ppi = dark.ppi;
  return find_edge_pairs(
      std::vector<EdgePlate>{{&light, nullptr, spread, false}, {&dark, nullptr, spread, false}}, settings);
}

constexpr double kPlateSide = 20;
ShowingSettings settings_of(double gap_mm = 0) {
  ShowingSettings s;
  s.gap = {gap_mm};
  s.visible.distance = {500};
  s.least_length = {0};  // as the closed forms count
  return s;
}

Showing showing_of(std::vector<EdgePair> pairs, double gap_mm = 0, double de00 = 40) {
  return Showing(
      std::move(pairs), [=](const EdgePair&) { return de00; }, kPlateSide, kPlateSide, settings_of(gap_mm));
}

RunShowing run_of(const Showing& showing, double sigma_mm, std::uint64_t seed, int shirts = kShirts) {
  return showing.run(shirts, [=](int i) { return pair_offsets(seed, i, sigma_mm); });
}

/// A dark shape over a light ground cut out `trap` inside it.
struct Place {
  GapPlace place;
  std::function<test::Shape(double trap)> shape;
};
const std::vector<Place>& places() {
  static const std::vector<Place> list = {
      {GapPlace::one_edge, [](double t) { return rectangle(9.031 + t, -9, 50, 50); }},
      {GapPlace::two_edges, [](double t) { return rectangle(4.03 + t, -9, 15.017 - t, 50); }},
      {GapPlace::round_outline, [](double t) { return disc(10.02, 9.97, 7.3 - t); }},
      {GapPlace::square_outline,
       [](double t) { return rectangle(4.03 + t, 4.01 + t, 15.017 - t, 16.04 - t); }}};
  return list;
}

std::vector<EdgePair> pairs_at(const Place& place, double trap, double ppi = 300, Um spread = {0}) {
  return search(draw(kPlateSide, kPlateSide, ppi, outside(place.shape(trap))),
                draw(kPlateSide, kPlateSide, ppi, place.shape(0)), spread);
}

TEST(Showing, SharesFollowTheClosedFormsOverNineCells) {
  int checks = 0;
  const double alpha = kAlpha / (4 * 9 * 2);
  for (const Place& place : places()) {
    for (const double trap : {0.06, 0.12, 0.25}) {
      const std::vector<EdgePair> pairs = pairs_at(place, trap);
      for (const double sigma : {0.05, 0.1, 0.15}) {
        const std::uint64_t seed = 100 + static_cast<std::uint64_t>(checks);
        const RunShowing any = run_of(showing_of(pairs), sigma, seed);
        EXPECT_TRUE(
            test::count_is_likely(any.gap.shirts, kShirts, gap_share(place.place, {trap}, {sigma}), alpha))
            << static_cast<int>(place.place) << " trap " << trap << " sigma " << sigma << ": "
            << any.gap.share << " for " << gap_share(place.place, {trap}, {sigma});
        const auto wide = std::count_if(any.shirts.begin(), any.shirts.end(),
                                        [](const ShirtShowing& s) { return s.widest_mm > 0.05F; });
        EXPECT_TRUE(
            test::count_is_likely(wide, kShirts, gap_share(place.place, {trap}, {sigma}, {0.05}), alpha))
            << static_cast<int>(place.place) << " trap " << trap << " sigma " << sigma << ": " << wide;
        checks += 2;
      }
    }
  }
  EXPECT_EQ(checks, 72);
}

TEST(Showing, GapsCountFromTheWidthAskedFor) {
  const std::vector<EdgePair> pairs = pairs_at(places()[2], 0.12);
  const RunShowing any = run_of(showing_of(pairs), 0.1, 8, 3000),
                   wide = run_of(showing_of(pairs, 0.05), 0.1, 8, 3000);
  int wider = 0;
  for (std::size_t i = 0; i < any.shirts.size(); ++i) {
    EXPECT_EQ(any.shirts[i].widest_mm, wide.shirts[i].widest_mm);
    wider += any.shirts[i].widest_mm > 0.05F;
    EXPECT_LE(any.shirts[i].gap_from, wide.shirts[i].gap_from);
  }
  EXPECT_EQ(wide.gap.shirts, wider);
  EXPECT_GT(any.gap.shirts, wider);
}

TEST(Showing, MeanGapFollowsTheClosedForm) {
  const double z = 4.0;  // nine cells and butt at 99.9 %: two-sided normal quantile of 0.001 / 12
  for (const double trap : {0.0, 0.06, 0.12, 0.25}) {
    const Showing showing = showing_of(pairs_at(places()[0], trap));
    for (const double sigma : {0.05, 0.1, 0.15}) {
      const RunShowing run = run_of(showing, sigma, 7);
      double sum = 0;
      for (const ShirtShowing& s : run.shirts) sum += static_cast<double>(s.widest_mm);
      EXPECT_NEAR(sum / kShirts, mean_gap({trap}, {sigma}).v,
                  z * test::gap_deviation_mm(trap, sigma) / std::sqrt(kShirts))
          << trap << ' ' << sigma;
    }
  }
}

TEST(Showing, ButtRegisterShowsOnHalfAtAnEdgeAndOnAllRoundAnOutline) {
  const RunShowing edge = run_of(showing_of(pairs_at(places()[0], 0)), 0.1, 3);
  EXPECT_TRUE(test::count_is_likely(edge.gap.shirts, kShirts, 0.5, kAlpha));
  EXPECT_EQ(run_of(showing_of(pairs_at(places()[2], 0)), 0.1, 3).gap.shirts, kShirts);
}

TEST(Showing, InkSpreadIsExtraTrap) {
  const RunShowing run = run_of(showing_of(pairs_at(places()[2], 0.06, 300, {45})), 0.1, 5);
  const double expected = gap_share(GapPlace::round_outline, trap_with_spread({0.06}, {45}, {45}), {0.1});
  // The spread contour is known to about 1 um, which moves this share by 0.005.
  EXPECT_NEAR(run.gap.share, expected, 4 * std::sqrt(expected * (1 - expected) / kShirts) + 0.005);
}

TEST(Showing, ResolutionChangesTheMeanGapByUnder3um) {
  for (const Place& place : places()) {
    for (const double trap : {0.0, 0.1}) {
      double mean[2] = {0, 0};
      for (const int i : {0, 1}) {
        const RunShowing run = run_of(showing_of(pairs_at(place, trap, i ? 300 : 150)), 0.1, 11, 4000);
        for (const ShirtShowing& s : run.shirts) mean[i] += static_cast<double>(s.widest_mm) / 4000;
      }
      EXPECT_NEAR(mean[0], mean[1], 0.003) << static_cast<int>(place.place) << ' ' << trap;
    }
  }
}

TEST(Showing, AThirdPlateMustLeaveToo) {
  const double ppi = 300;
  const PlateImage dark = draw(kPlateSide, kPlateSide, ppi, rectangle(9, -9, 50, 50)),
                   near = draw(kPlateSide, kPlateSide, ppi, rectangle(-9, -9, 9.1, 50)),
                   far = draw(kPlateSide, kPlateSide, ppi, rectangle(-9, -9, 9.3, 50));
  EdgeSearch settings;
  settings.ppi = ppi;
  const Showing showing =
      showing_of(find_edge_pairs(std::vector<EdgePlate>{{&near}, {&far}, {&dark}}, settings));
  const auto shirt = [&](double near_mm, double far_mm, double dark_mm) {
    std::vector<RegisterOffset> o(3);
    o[0].dx = {near_mm};
    o[1].dx = {far_mm};
    o[2].dx = {dark_mm};
    return static_cast<double>(showing.shirt(o).widest_mm);
  };
  EXPECT_EQ(shirt(0, 0, 0.25), 0);
  EXPECT_NEAR(shirt(0, 0, 0.4), 0.1, 2e-3);
  EXPECT_NEAR(shirt(0, -0.5, 0.05), 0, 2e-3);     // the near one still covers
  EXPECT_NEAR(shirt(0, -0.5, 0.15), 0.05, 2e-3);  // dark against near, since far is off by more
  EXPECT_NEAR(shirt(-0.5, 0, 0.35), 0.05, 2e-3);
  EXPECT_EQ(shirt(0.2, 0.2, 0.2), 0);  // placement is not misregister
}

TEST(Showing, TurnAndStretchOpenGapsAtTheEdges) {
  const Showing showing = showing_of(pairs_at(places()[3], 0));
  std::vector<RegisterOffset> o(2);
  o[0].stretch_x = o[0].stretch_y = 0.01;  // the ground's hole, 4.03 .. 15.017, about the middle, 10
  const ShirtShowing s = showing.shirt(o);
  // The hole grows outward by 1 % of each side's distance from the middle: most at the farthest, 6.04 below.
  EXPECT_NEAR(static_cast<double>(s.widest_mm), 0.0604, 2e-3);
  EXPECT_NEAR(static_cast<double>(s.y_mm), 16.04, 0.02);
  o[0] = {};
  o[0].turn_deg = 0.5;
  // A side at 6.04 below the middle, half-width 5.97 to the left: it moves by sin(0.5 deg) x 5.97 there.
  EXPECT_NEAR(static_cast<double>(showing.shirt(o).widest_mm), 6.04 * std::sin(0.5 * std::numbers::pi / 180),
              4e-3);
}

TEST(Showing, CornersOfSquaresDoNotOpenEarly) {
  // A shift short of the trap on both axes opens nothing, though along the diagonal it is longer.
  const Showing showing = showing_of(pairs_at(places()[3], 0.2));
  std::vector<RegisterOffset> o(2);
  for (const double dx : {-0.19, 0.0, 0.19}) {
    for (const double dy : {-0.19, 0.0, 0.19}) {
      o[0].dx = {dx};
      o[0].dy = {dy};
      EXPECT_LT(showing.shirt(o).widest_mm, 2e-3F) << dx << ' ' << dy;
    }
  }
}

TEST(Showing, VisibleWidthIsTheOneDefinition) {
  // One minute of arc at 1 m: 0.2908882 mm (tan 1/60 degree).
  EXPECT_NEAR(minute_of_arc({1000}).v, 0.2908882, 5e-8);
  const VisibleRule rule{{500}, 2};
  EXPECT_NEAR(visible_width(40, rule).v, 0.05 * 0.1454441, 1e-7);
  EXPECT_NEAR(visible_width(2.0001, rule).v, 0.1454441, 1e-4);
  EXPECT_EQ(visible_width(2, rule).v, std::numeric_limits<double>::infinity());
  EXPECT_EQ(visible_width(std::nan(""), rule).v, std::numeric_limits<double>::infinity());
  EXPECT_THROW(visible_width(40, VisibleRule{{0}, 2}), InternalError);
  EXPECT_THROW(visible_width(40, VisibleRule{{500}, 0}), InternalError);
}

TEST(Showing, LengthAndAreaOfAKnownShift) {
  // The ground moves right by 0.3 against a trap of 0.1: 0.2 of shirt along the left side's 20 mm.
  const Showing showing = showing_of(pairs_at(places()[0], 0.1));
  std::vector<RegisterOffset> o(2);
  o[0].dx = {-0.3};
  const ShirtShowing s = showing.shirt(o);
  EXPECT_TRUE(s.gap && s.visible);
  EXPECT_NEAR(s.widest_mm, 0.2F, 2e-3F);
  EXPECT_NEAR(s.length_mm, 20.0F, 0.2F);
  EXPECT_NEAR(s.area_mm2, 4.0F, 0.1F);
  EXPECT_NEAR(s.x_mm, 9.031F, 3e-3F);
  EXPECT_NEAR(s.gap_from, 1.0F / 3, 0.01F);
  o[0].dx = {0.3};
  const ShirtShowing closed = showing.shirt(o);
  EXPECT_FALSE(closed.gap || closed.visible);
  EXPECT_EQ(closed.gap_from, std::numeric_limits<float>::infinity());
}

TEST(Showing, ColourTooCloseIsAGapButNotSeen) {
  const RunShowing run = run_of(showing_of(pairs_at(places()[2], 0.05), 0, 1.5), 0.1, 2, 2000);
  EXPECT_GT(run.gap.shirts, 1000);
  EXPECT_EQ(run.visible.shirts, 0);
  EXPECT_EQ(run.stands_factor(0.05), std::numeric_limits<double>::infinity());
}

TEST(Showing, SpecksDoNotCount) {
  // Two sides of a square, 11 and 12 mm; the least length lies between one side and both.
  const std::vector<EdgePair> pairs = pairs_at(places()[3], 0.1);
  ShowingSettings settings = settings_of();
  settings.least_length = {18};
  settings.place = {kPlateSide};
  const Showing showing(
      pairs, [](const EdgePair&) { return 40.0; }, kPlateSide, kPlateSide, settings);
  std::vector<RegisterOffset> o(2);
  o[0].dx = {0.2};
  EXPECT_TRUE(showing.shirt(o).gap);
  EXPECT_FALSE(showing.shirt(o).visible);
  EXPECT_EQ(showing.shirt(o).visible_from, std::numeric_limits<float>::infinity());
  o[0].dy = {0.4};
  const ShirtShowing both_sides = showing.shirt(o);
  EXPECT_TRUE(both_sides.visible);
  // The second side is seen from a shift of the trap and the width that is seen.
  const double seen = visible_width(40, settings.visible).v;
  EXPECT_NEAR(static_cast<double>(both_sides.visible_from), (0.1 + seen) / 0.2, 0.01);
  EXPECT_NEAR(static_cast<double>(both_sides.gap_from), 0.1 / 0.4, 0.01);
  const RunShowing run = run_of(showing, 0.1, 31, 4000);
  EXPECT_EQ(run.at_factor(1).visible.shirts, run.visible.shirts);
  // Both axes must open: the square of two opposite edges' share.
  const double one = gap_share(GapPlace::two_edges, {0.1}, {0.1}, {seen});
  EXPECT_TRUE(test::count_is_likely(run.visible.shirts, 4000, one * one, kAlpha)) << run.visible.share;
  for (const std::uint32_t n : run.map.shirts) EXPECT_LE(static_cast<int>(n), run.visible.shirts);
}

TEST(Showing, ToleranceCurveIsTheClosedFormsAndTheRunItself) {
  const double trap = 0.12, sigma = 0.05;
  const Showing showing = showing_of(pairs_at(places()[2], trap));
  const RunShowing run = run_of(showing, sigma, 21);
  EXPECT_EQ(run.at_factor(1).gap.shirts, run.gap.shirts);
  EXPECT_EQ(run.at_factor(1).visible.shirts, run.visible.shirts);
  const double seen = visible_width(40, settings_of().visible).v;
  for (const double factor : {0.5, 1.0, 1.5, 2.0, 4.0}) {
    EXPECT_TRUE(test::count_is_likely(run.at_factor(factor).visible.shirts, kShirts,
                                      gap_share(GapPlace::round_outline, {trap}, {sigma * factor}, {seen}),
                                      kAlpha / 5))
        << factor;
    // Truly scaled offsets give the same count as the scaled run.
    const RunShowing scaled = run_of(showing, sigma * factor, 21, 3000);
    const RunShowing first = run_of(showing, sigma, 21, 3000);
    EXPECT_NEAR(scaled.visible.shirts, first.at_factor(factor).visible.shirts, 1) << factor;
  }
  // 5 % of outlines fail at sigma = r / sqrt(-2 ln .05).
  const double stands = run.stands_factor(0.05) * sigma;
  EXPECT_NEAR(stands, test::sigma_for_share(GapPlace::round_outline, 0.05, {trap}, {seen}).v, 0.001);
  EXPECT_LT(run.at_factor(run.stands_factor(0.05)).visible.share, 0.05);
  EXPECT_GE(run.at_factor(run.stands_factor(0.05) * (1 + 1e-6)).visible.share, 0.05);
}

TEST(Showing, PreciseRunsNameTypicalAndWorstShirtAndPlaces) {
  const Showing showing = showing_of(pairs_at(places()[2], 0.1));
  const RunShowing run = run_of(showing, 0.1, 4, 501);
  const auto area = [&](int i) { return run.shirts[static_cast<std::size_t>(i)].area_mm2; };
  int below = 0, above = 0;
  for (int i = 0; i < 501; ++i) {
    EXPECT_LE(area(i), area(run.worst));
    below += area(i) < area(run.typical);
    above += area(i) > area(run.typical);
  }
  EXPECT_LE(below, 250);
  EXPECT_LE(above, 250);
  // The map: every cell of the outline now and then, none inside, none more often than shirts show.
  ASSERT_EQ(run.map.columns, 4);
  ASSERT_EQ(run.map.rows, 4);
  const auto cell = [&](int x, int y) { return run.map.shirts[static_cast<std::size_t>(y * 4 + x)]; };
  for (const std::uint32_t n : run.map.shirts) EXPECT_LE(static_cast<int>(n), run.visible.shirts);
  EXPECT_GT(cell(0, 1), 50u);
  EXPECT_GT(cell(3, 2), 50u);
}

TEST(Showing, SameOnAnyNumberOfThreadsAndShirtByShirt) {
  const Showing showing = showing_of(pairs_at(places()[2], 0.1));
  const auto offsets = [](int i) { return pair_offsets(9, i, 0.1); };
  const RunShowing one = showing.run(300, offsets, 1), three = showing.run(300, offsets, 3);
  EXPECT_EQ(one.map.shirts, three.map.shirts);
  EXPECT_EQ(one.typical, three.typical);
  EXPECT_EQ(one.worst, three.worst);
  for (int i = 0; i < 300; ++i) {
    const ShirtShowing &a = one.shirts[static_cast<std::size_t>(i)],
                       &b = three.shirts[static_cast<std::size_t>(i)], c = showing.shirt(offsets(i));
    EXPECT_EQ(a.area_mm2, b.area_mm2);
    EXPECT_EQ(a.widest_mm, b.widest_mm);
    EXPECT_EQ(a.visible_from, b.visible_from);
    EXPECT_EQ(a.area_mm2, c.area_mm2);
    EXPECT_EQ(a.visible_from, c.visible_from);
    EXPECT_EQ(static_cast<double>(a.widest_mm),
              a.widest_pair < 0
                  ? 0.0
                  : static_cast<double>(static_cast<float>(showing.gap_at(
                        showing.pairs()[static_cast<std::size_t>(a.widest_pair)], offsets(i)))));
  }
}

TEST(Showing, StoppedRunsKeepTheShirtsDone) {
  const Showing showing = showing_of(pairs_at(places()[2], 0.1));
  const auto offsets = [](int i) { return pair_offsets(9, i, 0.1); };
  double told = 0;
  const RunShowing run = showing.run(1000, offsets, 2, [&](double share) {
    EXPECT_GT(share, told);
    told = share;
    return share < 0.2;
  });
  EXPECT_TRUE(run.cancelled);
  EXPECT_GE(run.shirts.size(), 200u);
  EXPECT_LT(run.shirts.size(), 400u);
  const RunShowing short_run = showing.run(static_cast<int>(run.shirts.size()), offsets);
  EXPECT_FALSE(short_run.cancelled);
  EXPECT_EQ(short_run.visible.shirts, run.visible.shirts);
  EXPECT_EQ(short_run.map.shirts, run.map.shirts);
}

TEST(Showing, WilsonIntervals) {
  // Truth: the interval's ends solve |p - k/n| = z sqrt(p (1 - p) / n) (Wilson 1927).
  for (const auto& [k, n] : {std::pair{1, 144}, {5, 10}, {59, 144}, {10, 2000}}) {
    const ShirtShare s = wilson_share(k, n);
    for (const double end : {s.low, s.high}) {
      EXPECT_NEAR(std::abs(end - s.share), 1.959963984540054 * std::sqrt(end * (1 - end) / n), 1e-12);
    }
    EXPECT_LT(s.low, s.share);
    EXPECT_GT(s.high, s.share);
  }
  EXPECT_EQ(wilson_share(0, 50).low, 0);
  EXPECT_NEAR(wilson_share(0, 50).high, 3.841458820694124 / (50 + 3.841458820694124), 1e-12);
  EXPECT_EQ(wilson_share(50, 50).high, 1);
  EXPECT_EQ(wilson_share(0, 0).high, 1);
  EXPECT_THROW(wilson_share(3, 2), InternalError);
}

TEST(Showing, NoPairsNoShirts) {
  const Showing nothing({}, [](const EdgePair&) { return 0.0; }, 10, 10, {});
  EXPECT_FALSE(nothing.shirt({}).gap);
  const RunShowing none = nothing.run(0, [](int) { return std::vector<RegisterOffset>(); });
  EXPECT_EQ(none.typical, -1);
  EXPECT_EQ(none.gap.of, 0);
}

}  // namespace
}  // namespace kirtle
