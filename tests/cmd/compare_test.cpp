// compare and reshape through the program: what is recommended, what it is counted on, and the words for a
// build.
#include "cmd/command_test.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

class Compare : public CommandTest {
 protected:
  /// A dark disc of 4 mm radius in the middle of a light one of 8 mm, and a fade of the dark beside it, in
  /// the moth's inks.
  void SetUp() override {
    constexpr int kSide = 220;
    const auto in_disc = [](int x, int y, double mm) {
      return std::clamp(mm / 25.4 * 300 - std::hypot(x - 109.7, y - 109.4) + 0.5, 0.0, 1.0);
    };
    plate("cream.png", kSide, kSide, 300, [&](int x, int y) { return in_disc(x, y, 8) - in_disc(x, y, 4); });
    plate("shading.png", kSide, kSide, 300, [&](int x, int y) {
      const double fade = y > 165 ? std::clamp((x - 60) / 100.0, 0.0, 1.0) : 0.0;
      return std::max(in_disc(x, y, 4), std::min(fade, in_disc(x, y, 8)));
    });
    scene_ = write("scene.toml", scene_text("forest-green-cotton",
                                            {{"cream", "discharge-cream"}, {"shading", "wb-dark-brown"}}));
  }
  std::string scene_;
};

TEST_F(Compare, WhatIsTakenHasNothingRefusedAndTheRunCountsThePlatesAsTheyStand) {
  const nlohmann::json j = json_of({"compare", scene_, "--shirts", "48", "--json"});
  ASSERT_EQ(j.at("builds").size(), 6U);
  bool some_refused = false;
  for (const nlohmann::json& b : j.at("builds")) {
    some_refused = some_refused || b.at("refused") != "";
    if (b.at("build") == j.at("take")) {
      EXPECT_EQ(b.at("refused"), "");
    }
    if (b.at("shade_p95_dE00") > 4) {
      EXPECT_THAT(b.at("refused").get<std::string>(), HasSubstr("shade off by"));
    }
  }
  EXPECT_TRUE(some_refused);
  const nlohmann::json run = json_of({"run", scene_, "--shirts", "48", "--eye", "none", "--json"});
  EXPECT_EQ(j.at("as_they_stand").at("shows_visibly"), run.at("shows_visibly"));
  EXPECT_GT(run.at("shows_visibly").at("shirts"), 0);
  const ProgramRun text = run_kirtle({"compare", scene_, "--shirts", "48"});
  EXPECT_THAT(text.out, HasSubstr("(as they stand)"));
}

TEST_F(Compare, WhereAllHaveSomethingRefusedNoneIsRecommended) {
  const std::vector<std::string> ask{"compare", scene_, "--builds", "shirt-as-dark", "--shirts", "12"};
  const ProgramRun text = run_kirtle(ask);
  EXPECT_EQ(text.status, 0) << text.err;
  EXPECT_THAT(text.out, StartsWith("None of these builds is to be recommended as it stands; the least bad is "
                                   "\"shirt as the dark\" (shade off by dE "));
  EXPECT_THAT(text.out, Not(HasSubstr("> shirt-as-dark")));
  std::vector<std::string> as_json = ask;
  as_json.push_back("--json");
  const nlohmann::json j = json_of(as_json);
  EXPECT_TRUE(j.at("take").is_null());
  EXPECT_EQ(j.at("least_bad"), "shirt-as-dark");
}

TEST_F(Compare, ABuildIsWrittenByTheWordThatCompareShowsAndByItsName) {
  const ProgramRun shown =
      run_kirtle({"compare", scene_, "--builds", "fade-trap,solid-tapering", "--shirts", "12"});
  for (const char* word : {"fade-trap", "solid-tapering"}) {
    EXPECT_THAT(shown.out, HasSubstr(" " + std::string(word) + " ")) << shown.out;
    const ProgramRun made = run_kirtle({"reshape", scene_, "--build", word, "-o", path(word)});
    EXPECT_EQ(made.status, 0) << made.err;
  }
  EXPECT_EQ(run_kirtle({"reshape", scene_, "--build", "fade with trap", "-o", path("by-name")}).status, 0);
  EXPECT_THAT(complaint({"reshape", scene_, "--build", "fading", "-o", path("none")}),
              HasSubstr("the builds are: fade, fade-trap,"));
}

// Plates that lie in another folder than their scene.
TEST_F(Compare, ReshapeSparesThePlatesThatArrived) {
  std::filesystem::create_directory(folder_ / "plates");
  std::filesystem::rename(folder_ / "cream.png", folder_ / "plates/1-cream.png");
  const std::string scene = write(
      "scene.toml", scene_text("forest-green-cotton", {{"cream", "discharge-cream", "", "plates/1-cream.png"},
                                                       {"shading", "wb-dark-brown"}}));
  const auto size = std::filesystem::file_size(folder_ / "plates/1-cream.png");
  EXPECT_THAT(complaint({"reshape", scene, "--build", "fade-trap", "-o", path("plates")}),
              HasSubstr("1-cream.png: error: cannot write this file: the plates are made from it"));
  EXPECT_EQ(std::filesystem::file_size(folder_ / "plates/1-cream.png"), size);
  EXPECT_FALSE(std::filesystem::exists(folder_ / "plates/scene.toml"));
}

// Whoever outputs the film learns of the curve that a plate has got; a scene without [[pass]] says it, too.
TEST_F(Compare, ACurveThatReshapePutsIntoAPlateIsTold) {
  const auto text_of = [&](const std::string& file) {
    std::ifstream in(path(file), std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  for (const std::string own : {"", "curve_on_film = \"none\"", "curve_on_film = \"output\""}) {
    const std::string scene = write(
        "scene.toml",
        scene_text("forest-green-cotton", {{"cream", "discharge-cream"}, {"shading", "wb-dark-brown", own}}));
    const ProgramRun run = run_kirtle({"reshape", scene, "--build", "solid-under", "-o", path("out")});
    ASSERT_EQ(run.status, 0) << run.err;
    const bool by_reshape = own.find("output") == std::string::npos;
    EXPECT_EQ(count_of(text_of("out/scene.toml"), "curve_on_film = \"plates\""), by_reshape ? 1 : 0) << own;
    EXPECT_EQ(count_of(text_of("out/scene.toml"), "curve_on_film"), 1) << own;
    EXPECT_EQ(count_of(text_of("out/changes.txt"), "The curve of shading is in the plate"),
              by_reshape ? 1 : 0)
        << own;
  }
}

}  // namespace
}  // namespace kirtle::test
