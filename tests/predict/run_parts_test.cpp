// The parts of a run beside its gaps: shade of tints out of register, another press, the sample print, the
// map.
#include "job/files.h"
#include "job/press_plan.h"
#include "job/read_scene.h"
#include "light/delta_e_2000.h"
#include "plate/io/write_picture.h"
#include "predict/run_drift.h"
#include "predict/run_map.h"
#include "predict/run_press.h"

#include <cmath>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using testing::HasSubstr;

constexpr int kSide = 300;
constexpr double kPpi = 200;

class RunParts : public testing::Test {
 protected:
  /// Tints in per cent, side by side, and the scene that prints them.
  Scene scene(const std::string& second_angle, const std::string& more = {}) const {
    const auto plate = [&](const std::string& name, const std::function<int(int)>& ink) {
      std::vector<std::uint8_t> grey;
      for (int y = 0; y < kSide; ++y) {
        for (int x = 0; x < kSide; ++x) {
          const bool inside = x > 20 && y > 20 && x < 280 && y < 280;
          grey.push_back(static_cast<std::uint8_t>(255 - (inside ? ink(x) * 255 / 100 : 0)));
        }
      }
      write_grey_png(folder_.path() / (name + ".png"), kSide, kSide, kPpi, grey);
    };
    plate("yellow", [](int) { return 40; });
    plate("blue", [](int x) { return x < 150 ? 30 : 0; });
    std::string text = "schema = 1\ntitle = \"t\"\nshirt = \"white-cotton\"\n" + more;
    for (const auto& [name, ink, angle] : {std::array<std::string, 3>{"yellow", "lemon-yellow", "22.5"},
                                           std::array<std::string, 3>{"blue", "royal-blue", second_angle}}) {
      text += "[[plate]]\nname = \"" + name + "\"\nfile = \"" + name + ".png\"\nink_is = \"dark\"\nink = \"" +
              ink + "\"\nmesh = \"61-64\"\nlpi = 55\nangle = " + angle + "\n";
    }
    return read_scene(folder_.write("scene.toml", text));
  }
  const test::TempFolder folder_;
};

TEST_F(RunParts, ShadeDriftIsThatOfTheJointCoverOfEachShirt) {
  const Scene s = scene("22.5");
  Diagnostics notes;
  const Prediction prediction(s, notes);
  const RegisterRun press(register_model(s));
  const int shirts = 40;
  const RunDrift drift = drift_of_tints(s, prediction, press, shirts, 2, {});
  ASSERT_EQ(drift.pairs.size(), 1u);
  EXPECT_EQ(drift.tints, 1);
  EXPECT_NEAR(drift.share, 1, 1e-12);
  const ShadeDrift& pair = drift.pairs.front();
  EXPECT_EQ(pair.plate_a, "yellow");
  EXPECT_EQ(pair.plate_b, "blue");
  // 129 x 259 pixels less three at each edge, to within a row and a column of the grid of four pixels.
  EXPECT_NEAR(pair.area_mm2, 123.0 * 253 * 0.127 * 0.127, 4.0 * (123 + 253) * 0.127 * 0.127);
  // The same by hand: each shirt's own table, at the steps of 1/16 that stand for the tints.
  std::vector<double> cover;
  for (const PrintingPlate& plate : prediction.model().plates)
    cover.push_back(std::round(16 * plate.tone.printed(plate.name == "yellow" ? 102 / 255.0 : 76 / 255.0)) /
                    16);
  const XYZ white = prediction.model().table.weights().white;
  const Lab meant = lab_from_xyz(prediction.model().table.mix(cover), white);
  double mean = 0, lighter = 0, worst = 0;
  std::vector<double> all;
  for (int i = 1; i <= shirts; ++i) {
    Scene moved = s;
    for (std::size_t p = 0; p < 2; ++p)
      moved.passes[p].offset = press.offset_of(static_cast<std::uint32_t>(i), static_cast<int>(p));
    const Lab lab = lab_from_xyz(PrintModel(moved).table.mix(cover), white);
    all.push_back(delta_e_2000(meant, lab));
    mean += all.back() / shirts;
    lighter += (lab.l - meant.l) / shirts;
    worst = std::max(worst, all.back());
  }
  EXPECT_NEAR(pair.mean_de00, mean, 1e-9);
  EXPECT_NEAR(pair.mean_dl, lighter, 1e-9);
  EXPECT_NEAR(all[static_cast<std::size_t>(pair.worst_shirt - 1)], worst, 1e-12);
  std::sort(all.begin(), all.end());
  EXPECT_NEAR(pair.p95_de00, all[37], 1e-12);
  EXPECT_GT(pair.p95_de00, 1);
  // Dots that part cover more of a white shirt.
  EXPECT_LT(pair.mean_dl, 0);
}

// Dots of noise fall independently, wherever the plates land.
TEST_F(RunParts, TintsOfNoiseDoNotDrift) {
  Scene noise = scene("22.5");
  for (ScenePass& pass : noise.passes) pass.halftone = {.shape = DotShape::noise, .dot = {150}};
  Diagnostics notes;
  const Prediction prediction(noise, notes);
  EXPECT_FALSE(prediction.model().table.share_screen(0, 1));
  EXPECT_TRUE(Prediction(scene("22.5"), notes).model().table.share_screen(0, 1));
  const RunDrift drift = drift_of_tints(noise, prediction, RegisterRun(register_model(noise)), 5, 1, {});
  EXPECT_TRUE(drift.pairs.empty());
  EXPECT_EQ(drift.tints, 0);
}

TEST_F(RunParts, AnotherAngleDoesNotDriftAndAPerfectPressNeither) {
  Diagnostics notes;
  const Scene apart = scene("52.5");
  EXPECT_TRUE(drift_of_tints(apart, Prediction(apart, notes), RegisterRun(register_model(apart)), 5, 1, {})
                  .pairs.empty());
  Scene perfect = scene("22.5");
  perfect.press.holds = Mm{0};
  const RunDrift drift =
      drift_of_tints(perfect, Prediction(perfect, notes), RegisterRun(register_model(perfect)), 5, 1, {});
  ASSERT_EQ(drift.pairs.size(), 1u);
  EXPECT_EQ(drift.pairs[0].p95_de00, 0);
  EXPECT_THROW(drift_of_tints(perfect, Prediction(perfect, notes), RegisterRun(register_model(perfect)), 5, 1,
                              [](double) { return false; }),
               Cancelled);
}

TEST(ShadeWords, StepAtOneTwoAndFour) {
  EXPECT_EQ(shade_words(0.99), "none to be seen");
  EXPECT_EQ(shade_words(1), "seen side by side only");
  EXPECT_EQ(shade_words(2), "seen");
  EXPECT_EQ(shade_words(4), "would be refused");
}

TEST_F(RunParts, AnotherPressReplacesWhatTheScenesHoldsAndAnUnknownOneListsThem) {
  Scene s = scene("22.5", "[press]\nholds = \"0.5 mm\"\nseed = 7\n");
  use_press(s, "worn-manual");
  EXPECT_EQ(s.press.preset.id, "worn-manual");
  EXPECT_NEAR(register_model(s).pair_sigma.v, 0.25, 1e-12);
  EXPECT_EQ(s.press.seed, 7u);
  try {
    use_press(s, "worn-manul");
    FAIL();
  } catch (const InputError& e) {
    EXPECT_THAT(e.what(), HasSubstr("\"worn-manul\": there is no such press"));
    EXPECT_THAT(e.what(), HasSubstr("average-automatic, kept-up-automatic, manual-micros, worn-automatic"));
    EXPECT_THAT(e.what(), HasSubstr("perhaps you mean worn-manual"));
  }
}

TEST_F(RunParts, ASampleprintHasSetUpAndShrinkAndIsTheDrawingWhenNothingIsSaid) {
  const Scene plain = scene("22.5");
  for (const ScenePass& pass : sample_print(plain).passes) EXPECT_TRUE(pass.offset.is_zero());
  Scene shrunk = plain;
  shrunk.passes[0].flash_shrink = 0.004;
  EXPECT_TRUE(sample_print(shrunk).passes[0].offset.is_zero());
  EXPECT_NEAR(sample_print(shrunk).passes[1].offset.stretch_x, 1 / 0.996 - 1, 1e-12);
  Scene drawn = plain;
  drawn.press.draw_setup = true;
  const RegisterRun press(register_model(drawn));
  EXPECT_NE(sample_print(drawn).passes[1].offset.dx.v, 0);
  EXPECT_EQ(sample_print(drawn).passes[1].offset.dx.v, press.fixed_of(1).dx.v);
}

TEST(RunMap, ScaleCoversTheLargestAndColoursDarken) {
  ShowingMap map{2, 1, 5, {3, 0}};
  EXPECT_EQ(map_scale(map, 300), 0.01);
  EXPECT_EQ(map_scale(map, 144), 0.05);
  EXPECT_EQ(map_scale(map, 3), 1);
  EXPECT_EQ(map_scale({}, 0), 0.01);
  double last = 1e9;
  for (int i = 0; i <= 20; ++i) {
    const MapColour c = map_colour(i / 20.0);
    const double light = 0.2126 * c.r + 0.7152 * c.g + 0.0722 * c.b;
    EXPECT_LT(light, last);
    last = light;
  }
}

}  // namespace
}  // namespace kirtle
