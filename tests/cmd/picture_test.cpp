// Pictures that predict writes: size, depth, kind, profile, resolution; the same bytes on any number of
// threads.
#include "cmd/command_test.h"

#include <cmath>
#include <numbers>

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

class Picture : public CommandTest {
 protected:
  void SetUp() override { scene_ = small_scene(); }

  ProgramRun predict(const std::string& target, std::vector<std::string> more = {},
                     const RunSettings& settings = {}) const {
    more.insert(more.begin(), {"predict", scene_, "-o", path(target)});
    const ProgramRun run = run_kirtle(more, settings);
    EXPECT_EQ(run.status, 0) << run.err;
    return run;
  }
  DecodedPng png(const std::string& name, const std::vector<std::string>& more = {}) const {
    predict(name, more);
    DecodedPng decoded = decode_png(folder_ / name);
    EXPECT_EQ(decoded.trouble, "");
    return decoded;
  }

  /// 420 x 300 at 150 per inch with all that a row can need: tints, contours, soaked ink that wicks, a plate
  /// turned and stretched, halftones on one angle and on another.
  void rich_scene() const {
    const auto disc = [](double cx, double cy, double r) {
      return [=](int x, int y) { return std::hypot(x - cx, y - cy) < r ? 1.0 : 0.0; };
    };
    plate("base.png", 420, 300, 150, disc(200, 150, 130));
    plate("tint.png", 420, 300, 150, [](int x, int y) {
      return 0.5 + 0.5 * std::sin(x * std::numbers::pi / 90) * std::cos(y * std::numbers::pi / 70);
    });
    plate("soak.png", 420, 300, 150, disc(260, 120, 80));
    plate("dark.png", 420, 300, 150, [](int x, int y) { return x % 40 < 6 ? 1.0 : y / 299.0; });
    write("scene.toml",
          scene_text("black-cotton", {{"base", "base-white", "flash = true"},
                                      {"soak", "discharge-gold", "offset = [0.3, -0.2]"},
                                      {"tint", "turquoise", "turn_deg = 0.4\nstretch_percent = [0.2, -0.1]"},
                                      {"dark", "navy", "angle = 52.5"}}));
  }

  std::string scene_;
};

TEST_F(Picture, HasThePlatesSizeAndResolution) {
  const DecodedPng p = png("print.png");
  EXPECT_EQ(p.width, 80);
  EXPECT_EQ(p.height, 60);
  EXPECT_EQ(p.depth, 8);
  EXPECT_EQ(p.channels, 3);
  EXPECT_EQ(p.x_per_metre, 3937u);  // 100 per inch
  EXPECT_EQ(p.y_per_metre, 3937u);
}

TEST_F(Picture, ScaleAndDpi) {
  const DecodedPng quarter = png("a.png", {"--scale", "0.25"});
  EXPECT_EQ(quarter.width, 20);
  EXPECT_EQ(quarter.height, 15);
  EXPECT_EQ(quarter.x_per_metre, 984u);  // 25 per inch
  const DecodedPng forty = png("b.png", {"--dpi", "40"});
  EXPECT_EQ(forty.width, 32);
  EXPECT_EQ(forty.height, 24);
  EXPECT_EQ(forty.x_per_metre, 1575u);
  EXPECT_EQ(png("c.png", {"--dpi", "100"}).samples, png("d.png").samples);
  const DecodedPng least = png("e.png", {"--scale", "0.001"});
  EXPECT_EQ(least.width, 1);
  EXPECT_EQ(least.height, 1);
}

// The mean colour of a scaled picture is that of the whole one: averaging is done on light, not on codes.
TEST_F(Picture, ScalingKeepsTheMeanOfTheLight) {
  const auto mean = [](const DecodedPng& p) {
    double sum = 0;
    for (const std::uint16_t s : p.samples) {
      const double v = s / 65535.0;
      sum += v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    }
    return sum / static_cast<double>(p.samples.size());
  };
  const double whole = mean(png("a.png", {"--depth", "16"}));
  EXPECT_GT(whole, 0.05);
  EXPECT_NEAR(mean(png("b.png", {"--depth", "16", "--scale", "0.25"})), whole, 0.001);
  EXPECT_NEAR(mean(png("c.png", {"--depth", "16", "--scale", "0.05"})), whole, 0.001);
}

TEST_F(Picture, SixteenBitsAgreeWithEight) {
  const DecodedPng eight = png("a.png"), sixteen = png("b.png", {"--depth", "16"});
  ASSERT_EQ(sixteen.depth, 16);
  ASSERT_EQ(sixteen.samples.size(), eight.samples.size());
  bool finer = false;
  for (std::size_t i = 0; i < eight.samples.size(); ++i) {
    EXPECT_NEAR(sixteen.samples[i] / 257.0, eight.samples[i], 0.52);
    finer = finer || sixteen.samples[i] % 257 != 0;
  }
  EXPECT_TRUE(finer);
}

TEST_F(Picture, TiffHoldsTheSamePixels) {
  for (const std::string depth : {"8", "16"}) {
    const DecodedPng p = png("a.png", {"--depth", depth});
    predict("b.TIFF", {"--depth", depth});
    const DecodedTiff t = decode_tiff(folder_ / "b.TIFF");
    EXPECT_EQ(t.trouble, "");
    EXPECT_EQ(t.samples, p.samples);
    EXPECT_EQ(t.profile, p.profile);
    EXPECT_EQ(t.photometric, PHOTOMETRIC_RGB);
    EXPECT_NEAR(t.x_res, 100, 1e-3);
  }
}

TEST_F(Picture, CarriesAProfileAndSaysWhatItIs) {
  const DecodedPng p = png("print.png");
  ASSERT_GT(p.profile.size(), 128u);
  EXPECT_EQ(std::string(p.profile.begin() + 36, p.profile.begin() + 40), "acsp");
  std::map<std::string, std::string> text(p.text.begin(), p.text.end());
  EXPECT_EQ(text["Title"], "test");
  EXPECT_EQ(text["Software"], "Kirtle");
  EXPECT_THAT(text["Description"], AllOf(HasSubstr("Black, cotton"), HasSubstr("D50")));
}

TEST_F(Picture, SameBytesOnAnyNumberOfThreads) {
  rich_scene();
  for (const std::vector<std::string>& kind : {std::vector<std::string>{"print.png"},
                                               {"print.tif", "--depth", "16"},
                                               {"print.png", "--scale", "0.37"}}) {
    std::vector<std::uint8_t> first;
    for (const std::string threads : {"1", "2", "5"}) {
      std::vector<std::string> more(kind.begin() + 1, kind.end());
      more.insert(more.end(), {"--threads", threads});
      predict(kind.front(), more);
      const std::vector<std::uint8_t> bytes = bytes_of(folder_ / kind.front());
      if (first.empty()) first = bytes;
      EXPECT_EQ(bytes == first, true) << threads << " threads";
    }
    RunSettings settings;
    settings.environment["KIRTLE_THREADS"] = "3";
    predict(kind.front(), {kind.begin() + 1, kind.end()}, settings);
    EXPECT_EQ(bytes_of(folder_ / kind.front()) == first, true) << "KIRTLE_THREADS=3";
  }
}

// Nothing of the run itself (time, folder, name) may reach the file.
TEST_F(Picture, SameBytesFromAnotherFolderAndName) {
  predict("print.png");
  RunSettings here;
  here.folder = folder_.path();
  EXPECT_EQ(run_kirtle({"predict", "scene.toml", "-o", "other.png", "--quiet"}, here).status, 0);
  EXPECT_EQ(bytes_of(folder_ / "print.png"), bytes_of(folder_ / "other.png"));
}

TEST_F(Picture, ProgressOnATerminalAlone) {
  RunSettings terminal;
  terminal.terminal = true;
  const ProgramRun seen = predict("a.png", {}, terminal);
  EXPECT_THAT(seen.err, AllOf(HasSubstr("predicting"), HasSubstr("100 %")));
  EXPECT_EQ(seen.err.back(), '\n');
  const ProgramRun piped = predict("b.png");
  EXPECT_EQ(piped.err, "");
  EXPECT_EQ(bytes_of(folder_ / "a.png"), bytes_of(folder_ / "b.png"));
  const ProgramRun quiet = predict("c.png", {"--quiet"}, terminal);
  EXPECT_EQ(quiet.err, "");
  EXPECT_EQ(quiet.out, "");
}

TEST_F(Picture, SaysWhatItMade) {
  const ProgramRun run = predict("print.png");
  EXPECT_THAT(
      run.out,
      AllOf(HasSubstr("print.png: 80 x 60 pixels, 20.3 mm (0.80 in) x 15.2 mm (0.60 in), 100 per inch, sRGB"),
            HasSubstr("test on Black, cotton, light D50"), HasSubstr("computed"), HasSubstr("peak memory")));
  EXPECT_THAT(run.out, Not(HasSubstr("not predicted")));
}

TEST_F(Picture, SaysWhatSrgbCannotHold) {
  write("scene.toml",
        scene_text("white-cotton", {{"base", "turquoise", "strokes = 2"}, {"red", "turquoise"}}));
  EXPECT_THAT(predict("print.png").out,
              AllOf(HasSubstr("outside the gamut of sRGB"), HasSubstr("by up to dE00")));
}

TEST_F(Picture, ShirtAndLightChangeIt) {
  const auto mean_green = [](const DecodedPng& p) {
    double sum = 0;
    for (std::size_t i = 1; i < p.samples.size(); i += 3) sum += p.samples[i];
    return sum / static_cast<double>(p.samples.size() / 3);
  };
  const DecodedPng black = png("a.png"), white = png("b.png", {"--shirt", "white-cotton"});
  EXPECT_GT(mean_green(white), mean_green(black) + 20);
  const DecodedPng lamp = png("c.png", {"--light", "A"});
  EXPECT_NE(lamp.samples, black.samples);
  std::map<std::string, std::string> text(lamp.text.begin(), lamp.text.end());
  EXPECT_THAT(text["Description"], HasSubstr("light A"));
}

}  // namespace
}  // namespace kirtle::test
