// What the eye sees of each shirt of a run, only where plates moved, against each shirt rendered and filtered
// whole.
#include "predict/run_eye.h"

#include "job/files.h"
#include "job/press_plan.h"
#include "job/read_scene.h"
#include "plate/io/write_picture.h"
#include "predict/shirt_run.h"

#include <cmath>
#include <ctime>
#include <functional>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

/// The slow twin of a shirt: its plates moved, placement taken out as the eye does.
SeenDifference whole(const Scene& scene, const Prediction& in_register, std::vector<RegisterOffset> passes,
                     const Placement& shared, const EyeSettings& settings) {
  Scene moved = scene;
  for (std::size_t i = 0; i < moved.passes.size(); ++i) {
    passes[i].dx.v -= shared.dx.v;
    passes[i].dy.v -= shared.dy.v;
    moved.passes[i].offset = passes[i];
  }
  Diagnostics notes;
  const Prediction shirt(moved, notes);
  return seen_whole(in_register, shirt, settings);
}

struct Compared {
  double fast_s = 0, slow_s = 0;
};

/// The print with every pass where it is meant to be.
Prediction print_in_register(Scene scene) {
  for (ScenePass& pass : scene.passes) pass.offset = {};
  Diagnostics notes;
  return Prediction(scene, notes);
}

/// Every shirt both ways; or the first alone, after the others have been looked at as in a run.
Compared compare(const Scene& scene, const std::vector<std::vector<RegisterOffset>>& shirts,
                 const EyeSettings& settings, bool first_alone = false) {
  // Processor time, which does not hang on what else the machine does.
  const auto since = [](std::clock_t t) { return static_cast<double>(std::clock() - t) / CLOCKS_PER_SEC; };
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  double farthest = 0;
  std::vector<std::vector<RegisterOffset>> of_plates;
  for (const auto& passes : shirts) {
    of_plates.push_back(plate_offsets(scene, prediction.model(), passes));
    farthest =
        std::max(farthest, farthest_apart(of_plates.back(), prediction.width_mm(), prediction.height_mm()));
  }
  RunEye eye(scene, prediction, {farthest}, settings);
  const Prediction in_register = print_in_register(scene);
  Compared out;
  for (std::size_t i = 1; first_alone && i < shirts.size(); ++i) eye.shirt(of_plates[i]);
  for (std::size_t i = 0; i < (first_alone ? 1 : shirts.size()); ++i) {
    std::clock_t start = std::clock();
    const SeenOnShirt fast = eye.shirt(of_plates[i]);
    out.fast_s += since(start);
    start = std::clock();
    const SeenDifference slow = whole(scene, in_register, shirts[i], eye.placement(of_plates[i]), settings);
    out.slow_s += since(start);
    EXPECT_NEAR(fast.largest_de00, slow.largest, 0.05 + 0.02 * slow.largest) << i;
    EXPECT_NEAR(fast.p999_de00, slow.p999, 0.05 + 0.02 * slow.p999) << i;
    // Along a straight edge the difference is one number, which may be near the threshold.
    const double least = slow.area_over_mm2(1.03 * settings.threshold),
                 most = slow.area_over_mm2(0.97 * settings.threshold);
    EXPECT_GE(fast.area_mm2, 0.99 * least - 1) << i;
    EXPECT_LE(fast.area_mm2, 1.01 * most + 1) << i;
    EXPECT_LT(most, 1.2 * least + 50) << i;
  }
  return out;
}

std::vector<std::vector<RegisterOffset>> first_shirts(const Scene& scene, int count) {
  const RegisterRun press(register_model(scene));
  std::vector<std::vector<RegisterOffset>> out;
  for (int i = 1; i <= count; ++i) out.push_back(press.offsets_of(static_cast<std::uint32_t>(i)));
  return out;
}

Scene demo(const std::string& name) {
  return read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / name / "scene.toml");
}

class RunEyeDemo : public testing::TestWithParam<std::string> {};

TEST_P(RunEyeDemo, EqualsEveryShirtRenderedAndFilteredWhole) {
  const Scene scene = demo(GetParam());
  const Compared c = compare(scene, first_shirts(scene, 4), {}, true);
  // For the eye; how much faster is measured by tests/bench. The long way renders and filters two pictures,
  // of which one would do for a run.
  RecordProperty("times_faster", std::to_string(c.slow_s / 2 / c.fast_s));
}
INSTANTIATE_TEST_SUITE_P(Scenes, RunEyeDemo, testing::Values("moth", "reef"));

/// Two or three films on 40 x 40 mm of 300 per inch.
class RunEyeFilms : public testing::Test {
 protected:
  static constexpr int kSide = 472;
  static constexpr double kPpi = 300;

  void plate(const std::string& name, const std::function<double(double x_mm, double y_mm)>& film) const {
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) {
        grey.push_back(
            static_cast<std::uint8_t>(255.5 - 255 * film((x + 0.5) / kPpi * 25.4, (y + 0.5) / kPpi * 25.4)));
      }
    }
    write_grey_png(folder_.path() / (name + ".png"), kSide, kSide, kPpi, grey);
  }
  Scene scene(const std::vector<std::pair<std::string, std::string>>& plates,
              const std::string& more = {}) const {
    std::string text = "schema = 1\ntitle = \"t\"\nshirt = \"red-cotton\"\n" + more;
    for (const auto& [name, ink] : plates) {
      text += "[[plate]]\nname = \"" + name + "\"\nfile = \"" + name + ".png\"\nink_is = \"dark\"\nink = \"" +
              ink + "\"\nmesh = \"61-64\"\n";
    }
    return read_scene(folder_.write("scene.toml", text));
  }
  static double disc(double x, double y, double radius) {
    return std::clamp((radius - std::hypot(x - 20.1, y - 19.8)) / 25.4 * kPpi + 0.5, 0.0, 1.0);
  }
  static RegisterOffset offset(double dx, double dy, double turn = 0, double stretch = 0) {
    return {{dx}, {dy}, turn, stretch, stretch};
  }

  const test::TempFolder folder_;
};

TEST_F(RunEyeFilms, ButtedEdgesTurnAndStretch) {
  plate("light",
        [](double x, double y) { return x < 2 || y < 2 || x > 38 || y > 38 ? 0.0 : 1 - disc(x, y, 10); });
  plate("dark", [](double x, double y) { return disc(x, y, 10.05); });
  const Scene s = scene({{"light", "base-white"}, {"dark", "black"}});
  compare(s,
          {{offset(0.2, 0), offset(0, 0)},
           {offset(-0.1, 0.15), offset(0.1, 0.02)},
           {offset(0, 0), offset(0, 0, 0.3)},
           {offset(0, 0, 0, 0.004), offset(0.05, 0)}},
          {});
}

TEST_F(RunEyeFilms, TintsOfOneScreenShiftTheirShade) {
  const auto inside = [](double x, double y) { return x > 3 && y > 3 && x < 37 && y < 37; };
  plate("yellow", [&](double x, double y) { return inside(x, y) ? 0.4 : 0.0; });
  plate("blue", [&](double x, double y) { return inside(x, y) ? (x < 20 ? 0.3 : y / 60) : 0.0; });
  Scene s = scene({{"yellow", "lemon-yellow"}, {"blue", "royal-blue"}});
  const std::vector<std::vector<RegisterOffset>> shirts{{offset(0.1, 0.05), offset(0, 0)},
                                                        {offset(0.2, -0.2), offset(0, 0.03)},
                                                        {offset(0.1, 0.1), offset(0.1, 0.1)}};
  compare(s, shirts, {});
  // A register error that the scene knows of is in every shirt, and not in what they are compared with.
  s.passes[1].offset = offset(0.23, 0);
  compare(s, shirts, {});
}

TEST_F(RunEyeFilms, NothingMovedIsNothingSeenAndPlacementIsNoDifference) {
  plate("light",
        [](double x, double y) { return x < 2 || y < 2 || x > 38 || y > 38 ? 0.0 : 1 - disc(x, y, 10); });
  plate("dark", [](double x, double y) { return disc(x, y, 10.05); });
  const Scene s = scene({{"light", "base-white"}, {"dark", "black"}});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  RunEye eye(s, prediction, {0.3}, {});
  for (const double by : {0.0, 0.2}) {
    const std::vector<RegisterOffset> both{offset(by, -by), offset(by, -by)};
    EXPECT_NEAR(eye.placement(both).dx.v, by, 1e-9);
    const SeenOnShirt seen = eye.shirt(both);
    EXPECT_EQ(seen.largest_de00, 0) << by;
    EXPECT_FALSE(seen.differs);
  }
  // What is seen does not hang on the shirts before, nor on the threads.
  EyeSettings one;
  one.threads = 1;
  RunEye other(s, prediction, {0.3}, one);
  const std::vector<RegisterOffset> apart{offset(0.2, 0), offset(0, 0.1)},
      more{offset(-0.1, 0), offset(0, 0)};
  other.shirt(more);
  const SeenOnShirt a = eye.shirt(apart), b = other.shirt(apart);
  EXPECT_GT(a.largest_de00, 2);
  EXPECT_EQ(a.largest_de00, b.largest_de00);
  EXPECT_EQ(a.area_mm2, b.area_mm2);
  EXPECT_EQ(a.p999_de00, b.p999_de00);
  EXPECT_EQ(a.x_mm, b.x_mm);
}

}  // namespace
}  // namespace kirtle
