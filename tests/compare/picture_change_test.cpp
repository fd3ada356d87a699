// What a build makes of the picture, against areas known from the drawing.
#include "compare/picture_change.h"

#include "compare/compare.h"
#include "compare/scenes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

constexpr double kPpi = 300;

TEST(PictureChange, SamePlatesAreTheSamePicture) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), kPpi);
  const PictureChange same = ArrivedPicture(arrived, 1).change_to(arrived, 2);
  EXPECT_EQ(same.off_mm2, 0);
  // A disc of 4 mm radius, its border a pixel of half a millimetre wide at the most, and the ink wicks.
  EXPECT_NEAR(same.printed_mm2, std::numbers::pi * 4 * 4, 2 * std::numbers::pi * 4 * (0.5 + 0.2));
}

TEST(PictureChange, CountsTheAreaOfAnotherColour) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), kPpi);
  std::vector<PlateImage> without_dark = test::discs();
  std::fill(without_dark[1].ink8.begin(), without_dark[1].ink8.end(), std::uint8_t{0});
  const Prediction build(scene, std::move(without_dark), kPpi);
  const PictureChange change = ArrivedPicture(arrived, 1).change_to(build, 1);
  EXPECT_NEAR(change.off_mm2, std::numbers::pi * 2 * 2, 2 * std::numbers::pi * 2 * 0.5);
  EXPECT_NEAR(change.off_share(), 0.25, 0.1);
  EXPECT_GT(change.p95_de00, 10);
}

TEST(PictureChange, TheAnswerSaysWhereABuildPrintsAnotherPicture) {
  const Scene scene = test::moth();
  // Most of the dark lies on the bare shirt: a build that lays the light below it prints something else.
  std::vector<PlateImage> plates = test::discs();
  plates[1] =
      test::drawn("shading", plates[0].width, kPpi, [](double, double y) { return y < 4 ? 0.5 : 0.0; });
  const Prediction arrived(scene, std::move(plates), kPpi);
  CompareOptions options;
  options.shirts = 12;
  options.pictures = false;
  options.kinds = {BuildKind::solid_under_all};
  const Comparison c = compare_builds(scene, arrived, options);
  EXPECT_GT(c.builds.front().picture.off_share(), 0.3);
  EXPECT_THAT(caution_text(c), ::testing::HasSubstr("in another colour than from the plates"));
}

}  // namespace
}  // namespace kirtle
