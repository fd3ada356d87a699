// Roles found out, tones and slopes of the shading, the light's body, the art's shades.
#include "compare/shading.h"

#include "compare/scenes.h"
#include "job/files.h"
#include "light/delta_e_2000.h"
#include "light/srgb.h"
#include "plate/io/write_picture.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

PlateImage ramp(double mm_long, double ppi = 150) {
  const int side = static_cast<int>(20 / 25.4 * ppi);
  return test::drawn("shading", side, ppi,
                     [=](double x, double) { return std::clamp((x - 2) / mm_long, 0.0, 1.0); });
}

TEST(CompareShading, SlopeAndTonesOfARamp) {
  const Shading s = shading_of(ramp(10), 150);
  EXPECT_NEAR(s.steepest_per_mm, 0.1, 0.02);
  double sum = 0;
  for (const double w : s.weight) sum += w;
  EXPECT_NEAR(sum, 1, 1e-9);
  for (int i = 3; i < kRampSteps - 3; ++i) EXPECT_NEAR(s.weight[i], 1.0 / (kRampSteps - 2), 0.02);
  EXPECT_NEAR(s.tint_mm2, 200, 12);
  EXPECT_EQ(shading_of(test::discs()[1], 300).tint_mm2, 0);
}

TEST(CompareShading, RolesOfTheDemoScenes) {
  const auto roles = [](const char* name, const char* light, const char* dark) {
    const Scene scene = read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / name / "scene.toml");
    Diagnostics notes;
    const Prediction arrived(scene, notes);
    const CompareRoles r = find_roles(scene, arrived);
    EXPECT_EQ(arrived.model().plates[static_cast<std::size_t>(r.light)].name, light);
    EXPECT_EQ(arrived.model().plates[static_cast<std::size_t>(r.dark)].name, dark);
  };
  roles("moth", "cream", "shading");
}

TEST(CompareShading, StatedRolesWinAndUnknownOnesAreFaults) {
  Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  scene.compare.light = "cream";
  scene.compare.dark = "nobody";
  EXPECT_THROW(find_roles(scene, arrived), InputError);
  scene.compare.dark = "shading";
  EXPECT_EQ(find_roles(scene, arrived).dark, 1);
}

TEST(CompareShading, BodyIsTheLightOrTheLightAndAllThatShadesIt) {
  const PlateImage dark = ramp(10);
  const int side = dark.width;
  const PlateImage solid = test::drawn("cream", side, 150, [](double, double) { return 1.0; });
  EXPECT_EQ(light_body(solid, dark, 150, 0).ink8, solid.ink8);
  // Already faded out: light only where the dark is not.
  const PlateImage faded =
      test::drawn("cream", side, 150, [](double x, double) { return x < 2 ? 1.0 : 0.0; });
  const PlateImage body = light_body(faded, dark, 150, 0);
  EXPECT_EQ(body.film(side / 2, side / 2), 1.0);
  EXPECT_EQ(body.film(side - 3, side / 2), 1.0);
}

TEST(CompareShading, ArtGivesTheShades) {
  const test::TempFolder folder;
  const PlateImage dark = ramp(10);
  const PlateImage body = test::drawn("cream", dark.width, 150, [](double, double) { return 1.0; });
  const auto file = folder.path() / "art.png";
  PictureFormat format;
  format.width = format.height = dark.width;
  auto writer = PictureWriter::open(file, format);
  std::vector<std::uint8_t> rows;
  for (int y = 0; y < dark.height; ++y) {
    for (int x = 0; x < dark.width; ++x) {
      const auto v = static_cast<std::uint8_t>(200 - std::lround(150 * dark.film(x, y)));
      rows.insert(rows.end(), {v, v, v});
    }
  }
  writer->write_rows8(rows);
  writer->commit();
  const Scene scene = test::moth();
  const PrintModel model(scene);
  const ShadeIntent intent = art_intent(file, body, dark, model);
  EXPECT_TRUE(intent.from_art);
  const auto grey = [&](int v) {
    const auto c = static_cast<std::uint8_t>(v);
    return lab_from_xyz(xyz_from_srgb8({c, c, c}, model.table.weights().white), model.table.weights().white);
  };
  EXPECT_LT(delta_e_2000(intent.lab.front(), grey(200)), 0.6);
  EXPECT_LT(delta_e_2000(intent.lab.back(), grey(50)), 0.6);
  EXPECT_LT(delta_e_2000(intent.lab[kRampSteps / 2], grey(125)), 0.6);
  EXPECT_THROW(art_intent(folder.path() / "none.png", body, dark, model), InputError);
}

}  // namespace
}  // namespace kirtle
