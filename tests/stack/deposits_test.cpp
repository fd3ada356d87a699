// Where the ink of each pass goes: into the cloth, onto it, into the film that is still wet.
#include "stack/stack_materials.h"

#include <cmath>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::RandomValues;

double dry_on_top(const Overprint& o, int pass) {
  double um = 0;
  for (const FilmLayer& layer : o.film) {
    for (const FilmPart& part : layer.parts) {
      if (part.pass == pass) um += part.dry.v;
    }
  }
  return um;
}

Stack stack_of(const std::vector<StackPass>& passes, StackSettings settings = {}) {
  return Stack(demo::undyed_cloth(), passes, static_cast<int>(passes.size()), demo::process(), settings);
}

// Truth: 24.1664 cm3/m2 of mesh volume, 0.7 of it laid, 0.4 of that solid, 0.3 of the solid into the cloth,
// by hand.
TEST(Deposits, SolidsSplitBetweenFilmAndCloth) {
  StackPass pass = demo::film_pass(0, demo::yellow(), 24.1664 * 0.7);
  pass.ink.solids_by_volume = 0.4;
  pass.ink.soak = 0.3;
  const Overprint o = stack_of({pass}).at(std::vector{1.0});
  EXPECT_NEAR(o.film_total.v, 4.7366144, 5e-8);
  EXPECT_NEAR(o.soaked_total.v, 2.0299776, 5e-8);
  EXPECT_NEAR(o.wet_total.v, 16.91648, 5e-8);
}

TEST(Deposits, DoseScalesThem) {
  StackPass pass = demo::film_pass(0, demo::yellow(), 20);
  pass.ink.soak = 0.3;
  const Stack stack = stack_of({pass});
  EXPECT_NEAR(stack.at(std::vector{0.25}).film_total.v, 0.25 * 14, 1e-12);
  EXPECT_NEAR(stack.at(std::vector{0.25}).soaked_total.v, 0.25 * 6, 1e-9);
}

TEST(Deposits, FlashSeparatesLayersAndWetInksMix) {
  const auto film = [](bool flash) {
    return stack_of(
               {demo::film_pass(0, demo::white(), 40, flash), demo::film_pass(1, demo::red(), 20, flash)})
        .at(std::vector{1.0, 1.0})
        .film;
  };
  ASSERT_EQ(film(true).size(), 2u);
  EXPECT_EQ(film(true)[0].parts, (std::vector<FilmPart>{{0, {40}}}));
  EXPECT_EQ(film(true)[1].parts, (std::vector<FilmPart>{{1, {20}}}));
  ASSERT_EQ(film(false).size(), 1u);
  ASSERT_EQ(film(false)[0].parts.size(), 2u);
  EXPECT_NEAR(film(false)[0].parts[0].dry.v, 40 * 0.9, 1e-12);  // 0.1 picked up
  EXPECT_NEAR(film(false)[0].parts[1].dry.v, 20 * 0.8, 1e-12);  // 0.8 laid
}

TEST(Deposits, AFlashAlsoCountsWhereItsOwnPlateIsAbsent) {
  // The flash follows pass 1; where only passes 0 and 2 print, pass 0 has been flashed too.
  const Stack stack =
      stack_of({demo::film_pass(0, demo::white(), 40, false), demo::film_pass(1, demo::red(), 20, true),
                demo::film_pass(2, demo::yellow(), 20, false)});
  EXPECT_EQ(stack.at(std::vector{1.0, 0.0, 1.0}).film.size(), 2u);
}

TEST(Deposits, AWetMixIsOneLayerOfItsVolumeShares) {
  StackSettings all;
  all.wet_trapping = 1;
  all.wet_pickup = 0;
  const Overprint o =
      stack_of({demo::film_pass(0, demo::white(), 40, false), demo::film_pass(1, demo::red(), 20, false)},
               all)
          .at(std::vector{1.0, 1.0});
  ASSERT_EQ(o.film_ks.size(), 1u);
  for (std::size_t i = 0; i < kBands; ++i) {
    EXPECT_NEAR(o.film_ks[0].k[i], (40 * demo::white().k[i] + 20 * demo::red().k[i]) / 60, 1e-15);
    EXPECT_NEAR(o.film_ks[0].s[i], (40 * demo::white().s[i] + 20 * demo::red().s[i]) / 60, 1e-15);
  }
}

TEST(Deposits, AreConservedApartFromTrapping) {
  RandomValues random(11);
  StackSettings all;
  all.wet_trapping = 1;
  all.wet_pickup = 0;
  for (int run = 0; run < 1000; ++run) {
    const int plates = 1 + run % 5;
    const std::vector<StackPass> passes = demo::random_passes(random, plates);
    const std::vector<double> dose = demo::random_doses(random, plates);
    const Overprint o = Stack(demo::random_cloth(random), passes, plates, demo::process(), all).at(dose);
    double dry = 0, wet = 0, layers = 0;
    for (int i = 0; i < plates; ++i) {
      dry += passes[i].wet.v * dose[i] * passes[i].ink.solids_by_volume;
      wet += passes[i].wet.v * dose[i];
      layers += dry_on_top(o, i);
    }
    EXPECT_NEAR(o.film_total.v + o.soaked_total.v, dry, 1e-9);
    EXPECT_NEAR(layers, o.film_total.v, 1e-9);
    EXPECT_NEAR(o.wet_total.v, wet, 1e-9);
  }
}

TEST(Deposits, TrappingLosesWhatItSays) {
  const Overprint o =
      stack_of({demo::film_pass(0, demo::white(), 40, false), demo::film_pass(1, demo::red(), 20, false),
                demo::film_pass(2, demo::yellow(), 10, false)})
          .at(std::vector{1.0, 1.0, 1.0});
  EXPECT_NEAR(dry_on_top(o, 0), 40 * 0.9 * 0.9, 1e-12);
  EXPECT_NEAR(dry_on_top(o, 1), 20 * 0.8 * 0.9, 1e-12);
  EXPECT_NEAR(dry_on_top(o, 2), 10 * 0.8, 1e-12);
}

TEST(Deposits, AFilmSealsTheClothAgainstInkAndAgent) {
  StackPass soaking = demo::film_pass(1, demo::yellow(), 20);
  soaking.ink.soak = 1;
  soaking.ink.agent_g_cm3 = 0.1;
  const Stack stack = stack_of({demo::film_pass(0, demo::white(), 40), soaking});
  const Overprint bare = stack.at(std::vector{0.0, 1.0}), sealed = stack.at(std::vector{1.0, 1.0});
  EXPECT_NEAR(bare.soaked_total.v, 20, 1e-9);
  EXPECT_NEAR(bare.agent_g_m2, 2, 1e-12);
  const double open = std::exp(-40.0 / 8);
  EXPECT_NEAR(sealed.soaked_total.v, 20 * open, 1e-9);
  EXPECT_NEAR(sealed.agent_g_m2, 2 * open, 1e-12);
  EXPECT_NEAR(sealed.film_total.v, 40 + 20 * (1 - open), 1e-9);
}

TEST(Deposits, InkWithoutRoomStaysOnTop) {
  StackPass flood = demo::film_pass(0, demo::yellow(), 1000);
  flood.ink.soak = 1;
  const Overprint o = stack_of({flood}).at(std::vector{1.0});
  EXPECT_NEAR(o.soaked_total.v, 500 * 0.6, 1e-9);  // all the pores of 500 um of cloth
  EXPECT_NEAR(o.film_total.v, 1000 - 500 * 0.6, 1e-9);
  StackPass second = flood;
  second.plate = 1;
  second.wet = {10};
  StackPass first = flood;
  first.wet = {295};
  const Overprint both = stack_of({first, second}).at(std::vector{1.0, 1.0});
  EXPECT_NEAR(both.soaked_total.v, 300, 1e-9);
  EXPECT_NEAR(dry_on_top(both, 0), 0, 1e-9);  // first come, first soaked
  EXPECT_NEAR(dry_on_top(both, 1), 5, 1e-9);
}

TEST(Deposits, TheClothTableHoldsWhatSoaked) {
  StackPass pass = demo::film_pass(0, demo::yellow(), 20);
  pass.ink.soak = 0.7;
  const Stack stack = stack_of({pass});
  const std::vector<SoakedCloth> table = stack.cloth_table(std::vector{0.5});
  ASSERT_EQ(table.size(), 1u);
  double um = 0;
  for (const ClothSublayer& sub : table[0].sublayers) um += sub.thickness.v * sub.ink_volume[0];
  EXPECT_NEAR(um, 7, 1e-9);
}

}  // namespace
}  // namespace kirtle
