// The shading ramp: its intent, and builds fitted to it.
#include "compare/ramp.h"

#include "compare/flips.h"
#include "compare/scenes.h"
#include "light/delta_e_2000.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

TEST(Ramp, IdealRampHasNoClothAndEvenSteps) {
  const Scene scene = test::moth();
  const PrintModel model(scene);
  const ShadeIntent intent = ideal_ramp(model, {0, 1});
  const Lab light = ramp_colour(model, {0, 1}, 1, 0), dark = ramp_colour(model, {0, 1}, 1, 1);
  EXPECT_LT(delta_e_2000(intent.lab.front(), light), 1e-6);
  EXPECT_LT(delta_e_2000(intent.lab.back(), dark), 1e-6);
  for (int i = 1; i < kRampSteps; ++i)
    EXPECT_NEAR(intent.lab[i].l - intent.lab[i - 1].l, (dark.l - light.l) / (kRampSteps - 1), 1e-6);
}

// What the intent is made of is what a solid light under the dark prints: only the film's smallest dot stands
// between, so a screen that holds any dot lands on it.
TEST(Ramp, SolidUnderAllLandsOnTheIdealRamp) {
  Scene scene = test::moth();
  for (ScenePass& pass : scene.passes) {
    pass.wet_deposit = wet_deposit_of(pass);
    pass.mesh.threads_per_cm = 400;
    pass.mesh.thread = {1};
  }
  const PrintModel model(scene);
  const FittedRamp ramp =
      fit_ramp(model, {0, 1}, BuildKind::solid_under_all, ideal_ramp(model, {0, 1}), {0.9, 0.6});
  EXPECT_LT(ramp.p95_de00, 1.0);
  for (int i = 1; i < kRampSteps; ++i) EXPECT_GE(ramp.dark_film[i], ramp.dark_film[i - 1]);
}

// Light fading out as the dark fades in leaves (1 - a)(1 - b) of bare cloth where their dots fall
// independently (Demichel 1924): a quarter at 50/50 without spread; ink spread of 45 um on both, at 55 lines
// per inch, leaves about a twentieth (closed form of the round dot's spread). A solid light leaves none.
TEST(Ramp, FadeLeavesClothAndSolidUnderDoesNot) {
  Scene scene = with_distinct_angles(test::with_film_inks(test::moth()));
  const auto bare_at_half = [&](Um spread) {
    for (ScenePass& pass : scene.passes) {
      pass.ink_spread = spread;
      pass.mesh.threads_per_cm = 400;
      pass.mesh.thread = {1};
      pass.wet_deposit = Um{30};
    }
    const PrintModel model(scene);
    return (1 - model.plates[0].tone.printed(0.5)) * (1 - model.plates[1].tone.printed(0.5));
  };
  EXPECT_NEAR(bare_at_half({0}), 0.25, 0.01);
  EXPECT_NEAR(bare_at_half({45}), 0.05, 0.015);
  const PrintModel model(scene);
  const ShadeIntent intent = ideal_ramp(model, {0, 1});
  EXPECT_GT(fit_ramp(model, {0, 1}, BuildKind::fade, intent, {}).bare_share, 0.02);
  EXPECT_EQ(fit_ramp(model, {0, 1}, BuildKind::solid_under_all, intent, {}).bare_share, 0);
}

// Common practice, no source: what prints solid is cut from about 88 % film, 4 either way, at 45 um and 55
// lines per inch; for the moth's soaked inks it is where the tint looks like the solid.
TEST(Ramp, DarkLooksSolidFromAboutEightyEightPerCent) {
  Scene films = test::with_film_inks(test::moth());
  for (ScenePass& pass : films.passes) pass.ink_spread = Um{45};
  EXPECT_NEAR(looks_solid_from(PrintModel(films), {0, 1}), 0.88, 0.04);
  EXPECT_NEAR(looks_solid_from(PrintModel(test::moth()), {0, 1}), 0.88, 0.04);
}

TEST(Ramp, TaperingLightFallsBetweenItsEnds) {
  const RampSettings s{0.9, 0.6};
  EXPECT_EQ(light_film_for(BuildKind::solid_tapering, 0.5, s), 1);
  EXPECT_NEAR(light_film_for(BuildKind::solid_tapering, 0.75, s), 0.5, 1e-12);
  EXPECT_EQ(light_film_for(BuildKind::solid_tapering, 0.95, s), 0);
  EXPECT_EQ(light_film_for(BuildKind::solid_under, 0.89, s), 1);
  EXPECT_EQ(light_film_for(BuildKind::solid_under, 0.9, s), 0);
  EXPECT_NEAR(light_film_for(BuildKind::fade, 0.3, s), 0.7, 1e-12);
}

}  // namespace
}  // namespace kirtle
