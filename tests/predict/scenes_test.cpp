// Every scene that comes with Kirtle: the tiled, cached renderer against the plain per-pixel one, at full
// size.
#include "job/read_scene.h"
#include "light/delta_e_2000.h"
#include "predict/prediction.h"

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <gtest/gtest.h>
#include <string>

namespace kirtle {
namespace {

std::uint32_t hashed(std::uint32_t x) {
  x = (x ^ (x >> 16)) * 0x7feb352du;
  x = (x ^ (x >> 15)) * 0x846ca68bu;
  return x ^ (x >> 16);
}

class SceneTest : public testing::TestWithParam<std::string> {};

TEST_P(SceneTest, FastEqualsSlowAtRandomPixels) {
  const Scene scene =
      read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / GetParam() / "scene.toml");
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  EXPECT_TRUE(notes.all().empty()) << to_string(notes.all().front());
  const PrintRenderer& renderer = prediction.renderer();
  const XYZ white = prediction.model().table.weights().white;
  RenderWorker worker(prediction.model().table);
  std::vector<XYZf> row(static_cast<std::size_t>(renderer.width()));
  double worst = 0;
  int inked = 0;
  std::uint32_t seed = 1;
  const std::vector<double> none(prediction.model().plates.size(), 0.0);
  const Lab shirt = lab_from_xyz(prediction.model().table.mix(none), white);
  for (int r = 0; r < 30; ++r) {
    const int y = static_cast<int>(hashed(seed++) % static_cast<std::uint32_t>(renderer.height()));
    renderer.xyz_rows(y, 1, worker, row);
    for (int i = 0; i < 12; ++i) {
      int x = static_cast<int>(hashed(seed++) % row.size());
      // Half of the pixels where something changes, so that edges and tints are met.
      if (i % 2 == 0) {
        for (int tries = 0; tries < 4000 && x + 1 < renderer.width(); ++tries) {
          if (row[static_cast<std::size_t>(x)].y != row[static_cast<std::size_t>(x) + 1].y) break;
          x = (x + 1) % (renderer.width() - 1);
        }
      }
      const XYZf& f = row[static_cast<std::size_t>(x)];
      const Lab fast =
          lab_from_xyz({static_cast<double>(f.x), static_cast<double>(f.y), static_cast<double>(f.z)}, white);
      const Lab slow = lab_from_xyz(renderer.xyz_at(x, y), white);
      const double de = delta_e_2000(fast, slow);
      ASSERT_LT(de, 0.02) << GetParam() << " at " << x << ',' << y;
      worst = std::max(worst, de);
      inked += delta_e_2000(fast, shirt) > 1;
    }
  }
  EXPECT_GT(inked, 100) << "the sample must meet the print";
  RecordProperty("worst_dE00", std::to_string(worst));
}

INSTANTIATE_TEST_SUITE_P(All, SceneTest, testing::Values("moth", "reef", "botanical"),
                         [](const auto& scene) { return scene.param; });

}  // namespace
}  // namespace kirtle
