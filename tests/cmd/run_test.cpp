// An order of shirts through the program: shares against the closed form, the same run however it is made,
// its files.
#include "cmd/command_test.h"

#include <cmath>
#include <sstream>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

std::string bytes_of(const std::string& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

class Run : public CommandTest {
 protected:
  /// A dark disc of 5 mm radius in a light ground whose hole is `overlap_mm` smaller, no ink spread.
  std::string disc_scene(double overlap_mm) const {
    constexpr int kSide = 200;
    constexpr double kPpi = 300;
    const auto disc = [&](double radius_mm) {
      return [radius_mm](int x, int y) {
        const double px = radius_mm / 25.4 * kPpi;
        return std::clamp(px - std::hypot(x - 99.7, y - 99.4) + 0.5, 0.0, 1.0);
      };
    };
    const auto hole = disc(5 - overlap_mm);
    plate("dark.png", kSide, kSide, kPpi, disc(5));
    plate("light.png", kSide, kSide, kPpi, [&](int x, int y) {
      return x < 10 || y < 10 || x >= kSide - 10 || y >= kSide - 10 ? 0.0 : 1 - hole(x, y);
    });
    return write("scene.toml", scene_text("red-cotton", {{"light", "base-white", "ink_spread_um = 0"},
                                                         {"dark", "black", "ink_spread_um = 0"}}));
  }
};

TEST_F(Run, SharesFollowTheClosedFormOfARoundOutline) {
  // Any gap round a closed smooth outline with 2-D jitter: exp(-t^2 / (2 sigma^2)); sigma = holds / 2.5.
  for (const double overlap_mm : {0.12, 0.2}) {
    const nlohmann::json j =
        json_of({"run", disc_scene(overlap_mm), "--shirts", "2000", "--holds", "0.25 mm", "--json"});
    EXPECT_EQ(j.at("kirtle_run"), 1);
    const double expected = std::exp(-overlap_mm * overlap_mm / (2 * 0.1 * 0.1));
    // 3.3 standard deviations of the sample, and 3 um of overlap.
    const double slack =
        3.3 * std::sqrt(expected * (1 - expected) / 2000) + expected * overlap_mm * 0.003 / 0.01;
    EXPECT_NEAR(j.at("any_gap").at("share").get<double>(), expected, slack) << overlap_mm;
    EXPECT_LE(j.at("shows_visibly").at("share"), j.at("any_gap").at("share"));
  }
}

TEST_F(Run, ItIsTheSameOnAnyNumberOfThreadsAndAnotherSeedIsAnotherRun) {
  const std::string scene = disc_scene(0.1);
  const auto text = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"run", scene, "--shirts", "60", "--json"});
    return json_of(more).dump();
  };
  EXPECT_EQ(text({"--threads", "1"}), text({"--threads", "3"}));
  EXPECT_NE(text({}), text({"--seed", "2"}));
}

TEST_F(Run, WritesItsFilesAndTheWorstShirtIsTheOnePredictDraws) {
  const std::string scene = disc_scene(0.05);
  const nlohmann::json j = json_of({"run", scene, "--json", "-o", path("out")});
  for (const char* file : {"run.json", "shirts.csv", "tolerance.svg", "typical.png", "worst.png"}) {
    EXPECT_TRUE(fs::exists(fs::path(path("out")) / file)) << file;
  }
  const int worst = j.at("worst_shirt").at("number");
  const int typical = j.at("typical_shirt").at("number");
  EXPECT_NE(worst, typical);
  ASSERT_EQ(j.at("seen").size(), 2u);
  EXPECT_GT(j.at("seen").at(1).at("largest_dE00"), j.at("seen").at(0).at("largest_dE00"));
  const ProgramRun one =
      run_kirtle({"predict", scene, "-o", path("k.png"), "--shirt-number", std::to_string(worst)});
  EXPECT_EQ(one.status, 0) << one.err;
  const ProgramRun two = run_kirtle({"predict", scene, "-o", path("w.png"), "--worst"});
  EXPECT_EQ(two.status, 0) << two.err;
  EXPECT_EQ(bytes_of(path("k.png")), bytes_of(path("w.png")));
  EXPECT_NE(bytes_of(path("k.png")).size(), 0u);
  const std::string csv = bytes_of(path("out/shirts.csv"));
  EXPECT_EQ(count_of(csv, "\n"), 145);
}

TEST_F(Run, SaysInShopWordsWhatHappens) {
  const ProgramRun r = run_kirtle({"run", disc_scene(0.0)});
  EXPECT_EQ(r.status, 0) << r.err;
  EXPECT_THAT(r.out, HasSubstr("Of 144 shirts"));
  EXPECT_THAT(r.out, HasSubstr("the design holds to +-"));
  EXPECT_THAT(r.out, HasSubstr("dark / light"));
}

TEST_F(Run, BadOptionsAreNamed) {
  const std::string scene = disc_scene(0.1);
  EXPECT_THAT(complaint({"run", scene, "--holds", "soon"}),
              HasSubstr("--holds \"soon\" is not a length above 0"));
  EXPECT_THAT(complaint({"run", scene, "--distance", "-1 mm"}), HasSubstr("--distance"));
  EXPECT_THAT(complaint({"run", scene, "--shirts", "0"}), HasSubstr("--shirts"));
  write("file", "not a folder");
  EXPECT_THAT(complaint({"run", scene, "-o", path("file")}), HasSubstr("cannot make this folder"));
}

}  // namespace
}  // namespace kirtle::test
