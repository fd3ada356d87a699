// One shirt of a run, and where a soaked field's edge is taken to lie.
#include "predict/shirt_run.h"

#include "job/press_plan.h"
#include "job/read_scene.h"

#include <filesystem>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

Scene moth() {
  return read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / "moth" / "scene.toml");
}

TEST(ShirtRun, AShirtIsWhereThePressPutsItLessPlacement) {
  const Scene scene = moth();
  const RegisterRun press(register_model(scene));
  const Scene shirt = scene_on_shirt(scene, press, 317);
  ASSERT_EQ(shirt.passes.size(), scene.passes.size());
  const std::vector<RegisterOffset> raw = press.offsets_of(317);
  double dx = 0;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    EXPECT_NEAR(shirt.passes[i].offset.dx.v - shirt.passes[0].offset.dx.v, raw[i].dx.v - raw[0].dx.v, 1e-12);
    dx += shirt.passes[i].offset.dx.v;
  }
  EXPECT_NEAR(dx, 0, 1e-12);
  EXPECT_NE(shirt.passes[0].offset.dx.v, scene_on_shirt(scene, press, 318).passes[0].offset.dx.v);
}

TEST(ShirtRun, ASoakedEdgeLiesWhereItsBlurredDoseStillTells) {
  const Scene scene = moth();
  const PrintModel model(scene);
  for (int plate = 0; plate < 2; ++plate) {
    ASSERT_TRUE(model.plates[static_cast<std::size_t>(plate)].cover.field);
    const double edge_um = wicked_edge(model, plate).v;
    const double wick_um = 1000 * model.plates[static_cast<std::size_t>(plate)].cover.wick.v;
    // Half of the change comes with less than half of the dose, and within two widths of the blur.
    EXPECT_GT(edge_um, 0.2 * wick_um);
    EXPECT_LT(edge_um, 2 * wick_um);
  }
  Scene films = scene;
  for (ScenePass& pass : films.passes) pass.ink.soak = 0;
  EXPECT_EQ(wicked_edge(PrintModel(films), 0).v, 0);
}

}  // namespace
}  // namespace kirtle
