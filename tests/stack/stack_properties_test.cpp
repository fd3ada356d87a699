// What must hold for every pile, over thousands of random ones.
#include "layer/kubelka_munk.h"
#include "stack/stack_materials.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::RandomValues;

constexpr int kRuns = 3000;

Spectrum look(const Cloth& cloth, const std::vector<StackPass>& passes, std::span<const double> dose) {
  return mean_reflectance(Stack(cloth, passes, static_cast<int>(dose.size()), demo::process(), {}).at(dose));
}

TEST(StackProperties, ReflectanceStaysBetweenNothingAndAll) {
  RandomValues random(1);
  for (int run = 0; run < kRuns; ++run) {
    const int plates = run % 6;
    const Cloth cloth = demo::random_cloth(random);
    const std::vector<StackPass> passes = demo::random_passes(random, plates);
    const Stack stack(cloth, passes, plates, demo::process(), {});
    const Overprint o = stack.at(demo::random_doses(random, plates));
    for (const Spectrum& r : o.reflectance) {
      for (const double v : r.v) {
        ASSERT_GE(v, 0);
        ASSERT_LE(v, 1);
      }
    }
    for (const LayerSpectra& film : o.film_rt) {
      for (std::size_t i = 0; i < kBands; ++i)
        ASSERT_LE(film.r0[i] + film.t[i], 1 + 1e-12);  // no light is made
    }
  }
}

TEST(StackProperties, NoInkGivesTheCloth) {
  RandomValues random(2);
  for (int run = 0; run < kRuns / 3; ++run) {
    const Cloth cloth = demo::random_cloth(random);
    std::vector<StackPass> passes = demo::random_passes(random, 3);
    const Spectrum bare = look(cloth, {}, {});
    EXPECT_EQ(look(cloth, passes, std::vector{0.0, 0.0, 0.0}), bare);
    for (StackPass& pass : passes) pass.wet = {0};
    const Spectrum nothing_laid = look(cloth, passes, std::vector{1.0, 1.0, 1.0});
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(nothing_laid[i], bare[i], 1e-12);
  }
}

TEST(StackProperties, InkFadesInWithoutAJump) {
  RandomValues random(3);
  for (int run = 0; run < kRuns / 3; ++run) {
    const Cloth cloth = [&] {
      Cloth c = demo::random_cloth(random);
      c.show_through = 0.2;
      return c;
    }();
    const std::vector<StackPass> passes = demo::random_passes(random, 2);
    const Spectrum bare = look(cloth, {}, {});
    const Spectrum trace = look(cloth, passes, std::vector{1e-9, 1e-9});
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(trace[i], bare[i], 1e-5);
  }
}

TEST(StackProperties, MoreDyeNeverLightens) {
  RandomValues random(4);
  for (int run = 0; run < kRuns / 3; ++run) {
    Cloth cloth = demo::random_cloth(random);
    const std::vector<StackPass> passes = demo::random_passes(random, 3);
    const std::vector<double> dose = demo::random_doses(random, 3);
    const Spectrum before = look(cloth, passes, dose);
    cloth.fibres[0].dyes[0].k_per_um *= random.even(1, 3);
    const Spectrum after = look(cloth, passes, dose);
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_LE(after[i], before[i] + 1e-12);
  }
}

TEST(StackProperties, WhatCannotBeReducedIsNotDischarged) {
  RandomValues random(5);
  for (int run = 0; run < kRuns / 3; ++run) {
    Cloth cloth = demo::random_cloth(random);
    for (ClothFibre& fibre : cloth.fibres) {
      for (Dye& dye : fibre.dyes) dye.reducible = 0;
    }
    const std::vector<StackPass> passes{demo::agent_pass(0, random.even(0, 20))};
    const Spectrum bare = look(cloth, {}, {}), discharged = look(cloth, passes, std::vector{1.0});
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(discharged[i], bare[i], 1e-12);
  }
}

TEST(StackProperties, MoreAgentNeverDarkensWithoutByproduct) {
  RandomValues random(6);
  for (int run = 0; run < kRuns / 3; ++run) {
    Cloth cloth = demo::random_cloth(random);
    for (ClothFibre& fibre : cloth.fibres) {
      for (Dye& dye : fibre.dyes) dye.byproduct_k_per_um = {};
    }
    const std::vector<StackPass> passes{demo::agent_pass(0, random.even(0, 20))};
    const Spectrum less = look(cloth, passes, std::vector{0.4}), more = look(cloth, passes, std::vector{0.9});
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_GE(more[i], less[i] - 1e-12);
  }
}

// Kubelka 1948: a layer moves its ground towards its own R infinity and never past it. Gloss, soak, fibres
// that show through and the light off the fibres' surface would break it, rightly, and are off.
TEST(StackProperties, AWhiteLighterThanItsGroundNeverDarkens) {
  RandomValues random(7);
  int tried = 0;
  for (int run = 0; run < kRuns; ++run) {
    Cloth cloth = demo::random_cloth(random);
    cloth.show_through = 0;
    cloth.surface = 0;
    const KSSpectra white{demo::random_spectrum(random, 0, 0.02), demo::random_spectrum(random, 0.05, 1)};
    const Stack stack(cloth, {demo::film_pass(0, white, random.even(0, 100))}, 1, demo::process(), {});
    const std::vector<Spectrum> bare = stack.at(std::vector{0.0}).reflectance;
    const std::vector<Spectrum> printed = stack.at(std::vector{1.0}).reflectance;
    for (std::size_t f = 0; f < bare.size();
         ++f) {  // fibre by fibre: heather may hold one lighter than the white
      bool lighter = true;
      for (std::size_t i = 0; i < kBands; ++i) lighter = lighter && r_infinity(white.at(i)) > bare[f][i];
      if (!lighter) continue;
      ++tried;
      for (std::size_t i = 0; i < kBands; ++i) {
        EXPECT_GE(printed[f][i], bare[f][i] - 1e-12);
        EXPECT_LE(printed[f][i], r_infinity(white.at(i)) + 1e-12);
      }
    }
  }
  EXPECT_GT(tried, kRuns / 3);
}

TEST(StackProperties, OrderOfClearFlashedInksDoesNotMatter) {
  RandomValues random(8);
  for (int run = 0; run < kRuns / 3; ++run) {
    const Cloth cloth = demo::random_cloth(random);
    std::vector<StackPass> passes;
    for (int i = 0; i < 3; ++i) {
      passes.push_back(demo::film_pass(i, {demo::random_spectrum(random, 0, 0.2), {}}, random.even(1, 40)));
    }
    const std::vector<double> dose{1, 1, 1};
    const Spectrum one = look(cloth, passes, dose);
    std::swap(passes[0], passes[2]);
    std::swap(passes[0], passes[1]);
    const Spectrum other = look(cloth, passes, dose);
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(one[i], other[i], 1e-12);
  }
}

TEST(StackProperties, OrderOfOpaqueInksMatters) {
  const Cloth cloth = demo::black_cloth();
  StackPass white = demo::film_pass(0, demo::white(), 60), red = demo::film_pass(1, demo::red(), 60);
  const Spectrum red_on_top = look(cloth, {white, red}, std::vector{1.0, 1.0});
  const Spectrum white_on_top = look(cloth, {red, white}, std::vector{1.0, 1.0});
  EXPECT_GT(white_on_top[15], red_on_top[15] + 0.5);  // 530 nm, where the red absorbs
}

TEST(StackProperties, SplittingAFilmInTwoFlashedPassesChangesNothing) {
  RandomValues random(9);
  for (int run = 0; run < kRuns / 3; ++run) {
    Cloth cloth = demo::random_cloth(random);
    cloth.show_through = 0;  // two thin films show more than one thick
    const KSSpectra ink{demo::random_spectrum(random, 0, 0.5), demo::random_spectrum(random, 0, 1)};
    const double x = random.even(1, 80), part = random.even(0, 1);
    const Spectrum whole = look(cloth, {demo::film_pass(0, ink, x)}, std::vector{1.0});
    const Spectrum split =
        look(cloth, {demo::film_pass(0, ink, part * x), demo::film_pass(0, ink, (1 - part) * x)},
             std::vector{1.0});
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(whole[i], split[i], 1e-10);
  }
}

}  // namespace
}  // namespace kirtle
