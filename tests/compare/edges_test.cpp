// Shares of shirts and the solved overlap against closed forms, and against a run over built plates.
#include "compare/build_plates.h"
#include "compare/evaluate.h"
#include "compare/scenes.h"
#include "job/press_plan.h"
#include "predict/shirt_run.h"
#include "press/gap_theory.h"

#include <cmath>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

// Closed form: somewhere round a smooth outline a gap opens on exp(-t^2 / 2 sigma^2) of the shirts (Rayleigh
// distribution of the length of a shift in the plane); 1 % at t = sigma sqrt(2 ln 100) = 3.03 sigma.
TEST(CompareEdges, SolvedOverlapIsThreeSigmaLessTheSpreads) {
  for (const double sigma : {0.05, 0.08, 0.13, 0.16}) {
    for (const double spread : {0.0, 30.0, 45.0}) {
      const double t = solved_overlap({sigma}, 0.01, {spread}, {spread}).v;
      const double expected = std::max(0.0, sigma * std::sqrt(2 * std::log(100.0)) - 2 * spread / 1000);
      EXPECT_NEAR(t, expected, 0.01 * expected + 1e-12);
      EXPECT_NEAR(t, std::max(0.0, 3.03 * sigma - 2 * spread / 1000), 0.01 * 3.03 * sigma);
    }
  }
  EXPECT_EQ(solved_overlap({0}, 0.01, {0}, {0}).v, 0);
}

TEST(CompareEdges, SharesOfFadeAndTrapAreTheClosedForms) {
  Scene scene = test::with_film_inks(test::moth());
  scene.press.holds = Mm{0.25};
  const double sigma = 0.25 / 2.5;
  const PrintModel model(scene);
  const ShadeIntent intent = ideal_ramp(model, {0, 1});
  for (ScenePass& pass : scene.passes) pass.ink_spread = Um{30};
  const PrintModel spread(scene);
  CompareSettings settings;
  settings.overlap = Mm{0.12};
  const BuildFigures fade = evaluate_build(scene, spread, {0, 1}, intent, BuildKind::fade, settings);
  const BuildFigures trap = evaluate_build(scene, spread, {0, 1}, intent, BuildKind::fade_trap, settings);
  const auto share = [&](double t) { return std::exp(-t * t / (2 * sigma * sigma)); };
  EXPECT_NEAR(fade.any_gap_share, share(0.06), 1e-9);
  EXPECT_NEAR(trap.any_gap_share, share(0.12 + 0.06), 1e-9);
  EXPECT_LT(trap.showing_share, trap.any_gap_share);
}

// The same on plates: discs, built, printed on 4000 shirts. Bands: 99.9 % for both builds together.
TEST(CompareEdges, ARunOverBuiltPlatesGivesTheSameShares) {
  Scene scene = test::with_film_inks(test::moth());
  scene.press.holds = Mm{0.25};
  for (ScenePass& pass : scene.passes) pass.ink_spread = Um{20};
  const Prediction arrived(scene, test::discs(600), 600);
  const ShadeIntent intent = ideal_ramp(arrived.model(), {0, 1});
  CompareSettings settings;
  settings.overlap = Mm{0.15};
  for (const BuildKind kind : {BuildKind::fade, BuildKind::fade_trap, BuildKind::solid_under}) {
    const BuildFigures figures = evaluate_build(scene, arrived.model(), {0, 1}, intent, kind, settings);
    BuiltPlates built = build_plates(scene, arrived, {0, 1}, arrived.covers()[0].image(), figures, 0);
    const Prediction print(built.scene, std::move(built.images), built.ppi);
    ShirtRunSettings run;
    run.shirts = 4000;
    const ShirtRun shirts = run_shirts(built.scene, print, RegisterRun(register_model(built.scene)), run);
    const double p = figures.any_gap_share, n = 4000;
    EXPECT_NEAR(shirts.showing.gap.share, p, 3.6 * std::sqrt(p * (1 - p) / n) + 0.02) << build_name(kind);
  }
}

// Common practice, no source: two solids of a discharge set, both through 43/cm-80, carry about 78 cm3/m2 of
// wet ink; knocked out, half of that is left away from the rim.
TEST(CompareEdges, PiledSolidsAreRefusedAndKnockedOutOnesAreNot) {
  Scene scene = test::moth();
  scene.passes[1].mesh = scene.passes[0].mesh;
  const PrintModel model(scene);
  const ShadeIntent intent = ideal_ramp(model, {0, 1});
  const BuildFigures all = evaluate_build(scene, model, {0, 1}, intent, BuildKind::solid_under_all, {});
  EXPECT_NEAR(all.load, 78, 2);
  EXPECT_TRUE(all.piled);
  EXPECT_FALSE(all.refused.empty());
  const BuildFigures fade = evaluate_build(scene, model, {0, 1}, intent, BuildKind::fade, {});
  EXPECT_TRUE(fade.refused.empty());
  // Where the dark is solid the light is gone: one solid's load.
  EXPECT_NEAR(model.table.stack().at(std::vector<double>{0, 1}).wet_total.v, 39, 1);
}

}  // namespace
}  // namespace kirtle
