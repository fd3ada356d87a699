// Builds on plates: what lies where, and that a written set prints the same and needs nothing else.
#include "compare/build_plates.h"

#include "compare/scenes.h"
#include "compare/shading.h"
#include "job/files.h"

#include <fstream>
#include <gtest/gtest.h>
#include <iterator>

namespace kirtle {
namespace {

constexpr CompareRoles kRoles{0, 1};

BuiltPlates built(const Scene& scene, const Prediction& arrived, BuildKind kind, Mm overlap) {
  CompareSettings settings;
  settings.overlap = overlap;
  const ShadeIntent intent = ideal_ramp(arrived.model(), kRoles);
  const BuildFigures figures = evaluate_build(scene, arrived.model(), kRoles, intent, kind, settings);
  return build_plates(scene, arrived, kRoles, arrived.covers()[0].image(), figures, 0);
}

double area_mm2(const PlateImage& plate, double ppi) {
  double sum = 0;
  for (const std::uint8_t v : plate.ink8) sum += v / 255.0;
  return sum * 25.4 / ppi * 25.4 / ppi;
}

TEST(BuildPlates, LightUnderADiscByBuild) {
  const Scene scene = test::moth();
  for (const double ppi : {150.0, 300.0, 600.0}) {
    const Prediction arrived(scene, test::discs(ppi), ppi);
    const double pi = 3.14159265358979;
    const auto light_area = [&](BuildKind kind) {
      return area_mm2(built(scene, arrived, kind, {0.3}).images[0], ppi);
    };
    const double pixel = 25.4 / ppi;
    EXPECT_NEAR(light_area(BuildKind::fade), pi * (16 - 4), 0.4);
    EXPECT_NEAR(light_area(BuildKind::fade_trap), pi * (16 - 1.7 * 1.7), 2 * pi * 1.7 * pixel);
    // The rim of a knock-out, within 10 um at any resolution.
    EXPECT_NEAR(light_area(BuildKind::solid_under), pi * (16 - 1.7 * 1.7), 2 * pi * 1.7 * 0.01);
    EXPECT_NEAR(light_area(BuildKind::solid_under_all), pi * 16, 0.1);
  }
}

TEST(BuildPlates, EngravingIsNotCutOut) {
  const Scene scene = test::moth();
  // Dark lines of 0.4 mm on a light that fills the plate: too narrow for a hole inside the rim.
  const int side = 140;
  const std::vector<PlateImage> plates{test::drawn("cream", side, 300, [](double, double) { return 1.0; }),
                                       test::drawn("shading", side, 300, [](double x, double) {
                                         return std::fmod(x, 1.0) < 0.4 ? 1.0 : 0.0;
                                       })};
  const Prediction arrived(scene, plates, 300);
  EXPECT_EQ(built(scene, arrived, BuildKind::solid_under, {0.1}).images[0].ink8, plates[0].ink8);
}

TEST(BuildPlates, ButtedPlatesAreCarriedUnder) {
  const Scene scene = test::moth();
  // A light and a dark half that butt in the middle of a pixel.
  const int side = 142;
  const std::vector<PlateImage> plates{
      test::drawn("cream", side, 300, [](double x, double) { return x < 6.02 ? 1.0 : 0.0; }),
      test::drawn("shading", side, 300, [](double x, double) { return x < 6.02 ? 0.0 : 1.0; })};
  const Prediction arrived(scene, plates, 300);
  const BuiltPlates all = built(scene, arrived, BuildKind::solid_under_all, {0.3});
  EXPECT_NEAR(area_mm2(all.images[0], 300) / (side * 25.4 / 300), 6.02 + 0.3, 0.01);
}

TEST(BuildPlates, AWrittenSetReadsBackAndPrintsTheSame) {
  const test::TempFolder folder;
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  for (const BuildKind kind : all_builds()) {
    BuiltPlates plates = built(scene, arrived, kind, {0.2});
    const auto target = folder.path() / std::string(build_id(kind));
    write_build(scene, plates, target, PlateForm::png, 0);
    const Scene again = read_scene(target / "scene.toml");
    EXPECT_EQ(again.passes.size(), prints_dark(kind) ? 2U : 1U);
    Diagnostics notes;
    const Prediction read(again, notes);
    const Prediction direct(plates.scene, std::move(plates.images), plates.ppi);
    ASSERT_EQ(read.renderer().width(), direct.renderer().width());
    for (int y = 3; y < direct.renderer().height(); y += 17) {
      for (int x = 3; x < direct.renderer().width(); x += 13) {
        const XYZ a = direct.renderer().xyz_at(x, y), b = read.renderer().xyz_at(x, y);
        EXPECT_NEAR(a.y, b.y, 1e-9);
        EXPECT_NEAR(a.x, b.x, 1e-9);
      }
    }
    std::ifstream in(target / "changes.txt");
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    EXPECT_NE(text.find("cream"), std::string::npos);
    EXPECT_NE(text.find(std::string(build_name(kind))), std::string::npos);
  }
}

TEST(BuildPlates, EveryFormReadsBackAsTheSamePrint) {
  const test::TempFolder folder;
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  const BuiltPlates plates = built(scene, arrived, BuildKind::solid_under, {0.2});
  const Prediction direct(plates.scene, plates.images, plates.ppi);
  const auto colour = [](const Prediction& p, double x_mm, double y_mm) {
    return p.renderer().xyz_at(static_cast<int>(x_mm / 25.4 * p.ppi()),
                               static_cast<int>(y_mm / 25.4 * p.ppi()));
  };
  for (const PlateForm form : {PlateForm::tiff, PlateForm::separated, PlateForm::films}) {
    const auto target = folder.path() / std::to_string(static_cast<int>(form));
    write_build(scene, plates, target, form, 0);
    const Scene again = read_scene(target / "scene.toml");
    Diagnostics notes;
    const Prediction read(again, notes);
    const double x0 = again.art_box ? again.art_box->x.v : 0, y0 = again.art_box ? again.art_box->y.v : 0;
    // In the middle of the dark, on the light, on the shirt; and on the rim of 0.2 mm, where a film's
    // contours, redrawn to a device pixel, may differ by a tenth.
    for (const double at : {6.0, 9.2, 11.5, 7.9}) {
      EXPECT_NEAR(colour(read, x0 + at, y0 + 6).y, colour(direct, at, 6).y,
                  form == PlateForm::films && at == 7.9 ? 0.3 : 0.02)
          << static_cast<int>(form) << " " << at;
    }
    EXPECT_EQ(read.ppi(), form == PlateForm::films ? 1200 : 300);
  }
}

TEST(BuildPlates, TheScenesOwnFolderIsRefused) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  const BuiltPlates plates = built(scene, arrived, BuildKind::fade, {0.2});
  EXPECT_THROW(write_build(scene, plates, scene.file.parent_path(), PlateForm::png, 0), InputError);
}

}  // namespace
}  // namespace kirtle
