// Passes on heads. Truth: counted by hand; the fewest heads of two revolutions against trying every order.
#include "press/placement.h"

#include "base/check.h"
#include "light/random_numbers.h"

#include <algorithm>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <numeric>

namespace kirtle {
namespace {

using ::testing::ElementsAre;

PressLimits press(int heads, int flashes = 1, int revolutions = 1) {
  PressLimits l;
  l.name = "ours";
  l.heads = heads;
  l.flashes = flashes;
  l.revolutions = revolutions;
  return l;
}

/// Six inks with the base, one flash and one cool-down after it.
std::vector<PressPass> six_inks() {
  std::vector<PressPass> passes = {{0, true, true}};
  for (int i = 1; i < 6; ++i) passes.push_back({i, false, false});
  return passes;
}

std::vector<std::string> refused(const std::vector<PressPass>& passes, const PressLimits& limits) {
  const PlacedPasses placed = place_passes(passes, limits, {"job.toml", 3, 1});
  EXPECT_FALSE(placed.plan.has_value());
  std::vector<std::string> texts;
  for (const Diagnostic& d : placed.refusals.all()) texts.push_back(to_string(d));
  EXPECT_THROW(placed.refusals.throw_if_errors(), InputError);
  return texts;
}

PressPlan planned(const std::vector<PressPass>& passes, const PressLimits& limits) {
  const PlacedPasses placed = place_passes(passes, limits, {});
  EXPECT_TRUE(placed.plan.has_value());
  EXPECT_TRUE(placed.refusals.all().empty());
  return placed.plan.value_or(PressPlan{});
}

TEST(Placement, SixInksOneFlashOneCoolDownAreEightStations) {
  const PressPlan plan = planned(six_inks(), press(8));
  EXPECT_EQ(plan.stations, 8);
  EXPECT_EQ(plan.screens, 6);
  EXPECT_EQ(plan.flashes, 1);
  EXPECT_EQ(plan.flash_units, 1);
  EXPECT_EQ(plan.revolutions, 1);
  std::vector<StationUse> uses;
  for (const HeadPlan& h : plan.heads) uses.push_back(h.use);
  using enum StationUse;
  EXPECT_THAT(uses, ElementsAre(ink, flash, cool_down, ink, ink, ink, ink, ink));
  EXPECT_EQ(plan.steps.size(), 8u);
  EXPECT_EQ(planned(six_inks(), press(10)).heads[9].use, empty);
}

TEST(Placement, RefusedOnSixHeadsWithTheRemedy) {
  EXPECT_THAT(
      refused(six_inks(), press(6)),
      ElementsAre(
          "job.toml:3:1: error: the job needs 8 stations (6 ink passes, 1 flash, 1 cool-down) and 1 flash "
          "unit; press \"ours\" has 6 heads and 1 flash unit\n"
          "  fix: use a press with 8 heads, or with 7 in two revolutions; or take 2 stations out: fewer "
          "inks, flashes or cool-downs"));
  EXPECT_THAT(
      refused(six_inks(), press(6, 1, 2)),
      ElementsAre(
          "job.toml:3:1: error: the job needs 8 stations (6 ink passes, 1 flash, 1 cool-down) and 1 flash "
          "unit; press \"ours\" has 6 heads and 1 flash unit; in two revolutions it still needs 7 heads\n"
          "  fix: use a press with 8 heads, or with 7 in two revolutions; or take 2 stations out: fewer "
          "inks, flashes or cool-downs"));
}

TEST(Placement, ANinthHeadIsRefusedOnEight) {
  std::vector<PressPass> passes = six_inks();
  passes.push_back({6, false, false});
  EXPECT_THAT(
      refused(passes, press(8)),
      ElementsAre(
          "job.toml:3:1: error: the job needs 9 stations (7 ink passes, 1 flash, 1 cool-down) and 1 flash "
          "unit; press \"ours\" has 8 heads and 1 flash unit\n"
          "  fix: allow a second revolution, in which it takes 8 heads (about half the shirts an hour); or "
          "use a press with 9 heads; or take 1 station out: fewer inks, flashes or cool-downs"));
  const PressPlan plan = planned(passes, press(8, 1, 2));
  EXPECT_EQ(plan.revolutions, 2);
  EXPECT_EQ(plan.stations, 8);
}

// Base, flash, base again through the same screen, flash, four inks: eight stations, two screens of the base
// and two flash units; going round twice saves a screen and a unit.
TEST(Placement, TheSameScreenPrintsAgainInTheSecondRevolution) {
  const std::vector<PressPass> passes = {{0, true, false},  {0, true, false},  {1, false, false},
                                         {2, false, false}, {3, false, false}, {4, false, false}};
  const PressPlan one = planned(passes, press(8, 2));
  EXPECT_EQ(one.stations, 8);
  EXPECT_EQ(one.screens, 6);
  EXPECT_EQ(one.flash_units, 2);
  const PressPlan two = planned(passes, press(6, 1, 2));
  EXPECT_EQ(two.revolutions, 2);
  EXPECT_EQ(two.stations, 6);
  EXPECT_EQ(two.screens, 5);
  EXPECT_EQ(two.flash_units, 1);
  EXPECT_EQ(two.flashes, 2);
  EXPECT_THAT(two.heads[0].pass, ElementsAre(0, 1));
  EXPECT_THAT(two.heads[2].pass, ElementsAre(-1, 2));
  EXPECT_THAT(
      refused(passes, press(8, 1)),
      ElementsAre(
          "job.toml:3:1: error: the job needs 8 stations (6 ink passes, 2 flashes, 0 cool-downs) and 2 "
          "flash units; press \"ours\" has 8 heads and 1 flash unit\n"
          "  fix: allow a second revolution, in which it takes 6 heads (about half the shirts an "
          "hour); or use a press with 8 heads and 2 flash units; or take 1 flash out"));
}

TEST(Placement, AManualFlashesBesideItsHeads) {
  PressLimits manual = press(6);
  manual.flash_takes_head = false;
  const PressPlan plan = planned(six_inks(), manual);
  EXPECT_EQ(plan.stations, 6);
  EXPECT_EQ(plan.flash_units, 1);
  ASSERT_EQ(plan.steps.size(), 8u);
  EXPECT_EQ(plan.steps[1].use, StationUse::flash);
  EXPECT_EQ(plan.steps[1].head, 0);
  EXPECT_EQ(plan.steps[3].head, 2);
  manual.flashes = 0;
  EXPECT_THAT(
      refused(six_inks(), manual),
      ElementsAre("job.toml:3:1: error: the job needs 6 stations (6 ink passes, 1 flash, 1 cool-down) and 1 "
                  "flash unit; press \"ours\" has 6 heads and 0 flash units\n"
                  "  fix: use a press with 6 heads and 1 flash unit; or take 1 flash out"));
}

TEST(Placement, ACoolDownPassesUnderALiftedScreen) {
  // Second revolution: the shirt cools under the first revolution's screen 1, between flash and ink 2.
  const std::vector<PressPass> passes = {
      {0, true, false}, {1, false, false}, {0, true, true}, {2, false, false}};
  const PressPlan plan = planned(passes, press(4, 1, 2));
  EXPECT_EQ(plan.stations, 4);
  EXPECT_THAT(plan.heads[2].pass, ElementsAre(1, -1));
  EXPECT_EQ(plan.steps[5].use, StationUse::cool_down);
  EXPECT_EQ(plan.steps[5].head, 3);
}

/// Steps follow each other: revolutions and heads rise, each pass prints once and in order, a flash stands on
/// a flash head, a cooling shirt is under no screen that prints, and no more than the asked heads are used.
void expect_sound(const PressPlan& plan, const std::vector<PressPass>& passes, const PressLimits& limits) {
  ASSERT_EQ(static_cast<int>(plan.heads.size()), limits.heads);
  int next = 0;
  PressStep last{1, 0, StationUse::empty, -1};
  std::vector<int> screen_on(plan.heads.size(), -1);
  for (const PressStep& s : plan.steps) {
    EXPECT_TRUE(s.revolution > last.revolution || (s.revolution == last.revolution && s.head > last.head));
    const HeadPlan& head = plan.heads.at(static_cast<std::size_t>(s.head - 1));
    if (s.use == StationUse::ink) {
      EXPECT_EQ(s.pass, next++);
      EXPECT_EQ(head.pass.at(static_cast<std::size_t>(s.revolution - 1)), s.pass);
      int& screen = screen_on.at(static_cast<std::size_t>(s.head - 1));
      const int wanted = passes[static_cast<std::size_t>(s.pass)].screen;
      EXPECT_TRUE(screen == -1 || screen == wanted);
      screen = wanted;
    } else {
      EXPECT_EQ(s.pass, last.pass);
      if (s.use == StationUse::flash) {
        EXPECT_EQ(head.use, StationUse::flash);
      } else {
        EXPECT_EQ(head.pass.at(static_cast<std::size_t>(s.revolution - 1)), -1);
      }
    }
    last = s;
  }
  EXPECT_EQ(next, static_cast<int>(passes.size()));
  EXPECT_LE(plan.stations, limits.heads);
  EXPECT_LE(plan.flash_units, limits.flashes);
  const int flashes = static_cast<int>(std::count_if(
      plan.steps.begin(), plan.steps.end(), [](const PressStep& s) { return s.use == StationUse::flash; }));
  EXPECT_EQ(flashes, plan.flashes);
}

TEST(Placement, EveryPlanIsSound) {
  test::RandomNumbers random(5);
  int plans = 0, two = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    std::vector<PressPass> passes(1 + random.next() % 9);
    for (PressPass& p : passes) {
      p.screen = static_cast<int>(random.next() % 6);
      p.flash_after = random.next() % 3 == 0;
      p.cool_down = p.flash_after && random.next() % 2 == 0;
    }
    const PressLimits limits =
        press(1 + static_cast<int>(random.next() % 12), static_cast<int>(random.next() % 4),
              1 + static_cast<int>(random.next() % 2));
    const PlacedPasses placed = place_passes(passes, limits, {});
    EXPECT_NE(placed.plan.has_value(), placed.refusals.has_errors());
    if (!placed.plan) continue;
    ++plans;
    two += placed.plan->revolutions == 2;
    expect_sound(*placed.plan, passes, limits);
  }
  EXPECT_GT(plans, 500);
  EXPECT_GT(two, 50);
}

/// Whether a shirt that goes round finds what it needs on these heads (screens, -1 flash, -2 nothing),
/// greedily: the earliest head that serves is never a loss.
bool finds_all(const std::vector<int>& heads, const std::vector<PressPass>& passes, std::size_t first,
               std::size_t last) {
  std::vector<int> needs;
  for (std::size_t i = first; i < last; ++i) {
    needs.push_back(passes[i].screen);
    if (passes[i].flash_after) needs.push_back(-1);
    if (passes[i].cool_down && i + 1 < last) needs.push_back(-2);
  }
  std::size_t at = 0;
  for (const int need : needs) {
    while (at < heads.size() && (need == -2 ? heads[at] == -1 : heads[at] != need)) ++at;
    if (at++ >= heads.size()) return false;
  }
  return true;
}

TEST(Placement, NoOtherOrderOfHeadsNeedsFewer) {
  test::RandomNumbers random(6);
  for (int trial = 0; trial < 60; ++trial) {
    std::vector<PressPass> passes(2 + random.next() % 3);
    for (PressPass& p : passes) {
      p.screen = static_cast<int>(random.next() % 3);
      p.flash_after = random.next() % 2 == 0;
      p.cool_down = p.flash_after && random.next() % 2 == 0;
    }
    // Every arrangement of 1.. heads out of three screens, flash and nothing.
    int fewest = 0;
    for (int heads = 1; fewest == 0; ++heads) {
      std::vector<int> hung(static_cast<std::size_t>(heads), -2);
      for (;;) {
        for (std::size_t cut = 1; cut < passes.size() && fewest == 0; ++cut)
          if (finds_all(hung, passes, 0, cut) && finds_all(hung, passes, cut, passes.size())) fewest = heads;
        std::size_t digit = 0;
        while (digit < hung.size() && ++hung[digit] == 3) hung[digit++] = -2;
        if (digit == hung.size() || fewest != 0) break;
      }
    }
    // One revolution may do with as few; two never with fewer than found here.
    const PlacedPasses fits = place_passes(passes, press(fewest, 9, 2), {});
    EXPECT_TRUE(fits.plan.has_value()) << trial;
    if (fewest > 1) {
      EXPECT_FALSE(place_passes(passes, press(fewest - 1, 9, 2), {}).plan.has_value()) << trial;
    }
  }
}

TEST(Placement, SizeOfThePrint) {
  PressLimits l = press(8);
  l.pallet_width = {400};
  l.pallet_height = {550};
  l.image_width = {360};
  l.image_height = {450};
  const auto fits = [&](double w, double h) {
    Diagnostics found;
    check_image_fits({w}, {h}, l, {"job.toml", 0, 0}, found);
    std::vector<std::string> texts;
    for (const Diagnostic& d : found.all()) texts.push_back(to_string(d));
    return texts;
  };
  EXPECT_THAT(fits(360, 450), ElementsAre());
  EXPECT_THAT(fits(360.001, 450).size(), 1u);
  EXPECT_THAT(
      fits(400, 300),
      ElementsAre("job.toml: error: the print is 400 x 300 mm (15.7 x 11.8 in); the largest image of press "
                  "\"ours\" is 360 x 450 mm (14.2 x 17.7 in)\n"
                  "  fix: print it at 90 % or smaller, or on a larger press"));
  EXPECT_EQ(fits(380, 600).size(), 2u) << "pallet and image";
  l.image_width = l.image_height = l.pallet_width = l.pallet_height = {0};
  EXPECT_THAT(fits(5000, 5000), ElementsAre()) << "not stated, not checked";
}

TEST(Placement, OurOwnMistakesAreCaught) {
  const std::vector<PressPass> none;
  EXPECT_THROW(place_passes(none, press(4), {}), InternalError);
  EXPECT_THROW(place_passes(six_inks(), press(0), {}), InternalError);
  EXPECT_THROW(place_passes(six_inks(), press(8, -1), {}), InternalError);
  EXPECT_THROW(place_passes(six_inks(), press(8, 1, 3), {}), InternalError);
}

}  // namespace
}  // namespace kirtle
