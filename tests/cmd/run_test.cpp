// An order of shirts through the program: shares against the closed form, the same run however it is made,
// its files.
#include "cmd/command_test.h"

#include <cmath>
#include <sstream>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;

std::string bytes_of(const std::string& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

class Run : public CommandTest {
 protected:
  /// A dark disc of 5 mm radius in a light ground whose hole is `overlap_mm` smaller; no ink spread if not
  /// said.
  std::string disc_scene(double overlap_mm, const std::string& spread_um = "0") const {
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
    const std::string spread = "ink_spread_um = " + spread_um;
    return write("scene.toml",
                 scene_text("red-cotton", {{"light", "base-white", spread}, {"dark", "black", spread}}));
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
  for (const char* file :
       {"run.json", "shirts.csv", "tolerance.svg", "map.png", "typical.png", "worst.png"}) {
    EXPECT_TRUE(fs::exists(fs::path(path("out")) / file)) << file;
  }
  const int worst = j.at("worst_shirt").at("number");
  const int typical = j.at("typical_shirt").at("number");
  EXPECT_NE(worst, typical);
  const nlohmann::json& seen = j.at("eye").at("shirts");
  ASSERT_EQ(seen.size(), 2u);
  EXPECT_GT(seen.at(1).at("largest_dE00"), seen.at(0).at("largest_dE00"));
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

TEST_F(Run, PressesHoldWhatAPrinterKnowsOfTraps) {
  // Closed form exp(-t^2 / (2 sigma^2)); sigmas and traps are common practice, no source.
  const auto share = [&](double trap_mm, const std::string& press, const std::string& spread_um = "0") {
    return json_of({"run", disc_scene(trap_mm, spread_um), "--shirts", "5000", "--press", press, "--eye",
                    "none", "--json"})
        .at("any_gap")
        .at("share")
        .get<double>();
  };
  EXPECT_LT(share(0.18, "kept-up-automatic"), 0.01);
  const double one_point = std::exp(-0.35 * 0.35 / (2 * 0.13 * 0.13));
  EXPECT_NEAR(one_point, 0.027, 0.0005);
  // 3.3 standard deviations of the sample, and 3 um of trap.
  EXPECT_NEAR(share(0.35, "manual-micros"), one_point,
              3.3 * std::sqrt(one_point * (1 - one_point) / 5000) + one_point * 0.35 * 0.003 / (0.13 * 0.13));
  for (const char* press : {"kept-up-automatic", "manual-micros"}) {
    const double butt = share(0, press), spread = share(0, press, "45");
    EXPECT_GT(butt, 0.999) << press;
    const double sigma = std::string(press) == "manual-micros" ? 0.13 : 0.05;
    const double p = std::exp(-0.09 * 0.09 / (2 * sigma * sigma));
    EXPECT_NEAR(spread, p, 3.3 * std::sqrt(p * (1 - p) / 5000) + p * 0.09 * 0.003 / (sigma * sigma)) << press;
  }
}

TEST_F(Run, EveryShirtByEyeIsTheSameOnOneThreadAndOnTwo) {
  const std::string scene = disc_scene(0.05);
  const auto files = [&](const std::string& threads) {
    const std::string folder = path("eye" + threads);
    const ProgramRun r =
        run_kirtle({"run", scene, "--shirts", "40", "--eye", "all", "--threads", threads, "-o", folder});
    EXPECT_EQ(r.status, 0) << r.err;
    EXPECT_THAT(r.out, HasSubstr("of 40 shirts differ by over dE00 2"));
    std::string all;
    for (const char* file : {"run.json", "shirts.csv", "map.png", "worst.png"})
      all += bytes_of(folder + "/" + file);
    return all;
  };
  const std::string one = files("1"), two = files("2");
  EXPECT_TRUE(one == two);
  const nlohmann::json j = nlohmann::json::parse(bytes_of(path("eye1/run.json")));
  ASSERT_EQ(j.at("eye").at("shirts").size(), 40u);
  EXPECT_EQ(j.at("eye").at("differs").at("of"), 40);
  // The worst shirt alone has the same figures as within the run.
  const int worst = j.at("worst_shirt").at("number");
  const nlohmann::json few = json_of({"run", scene, "--shirts", "40", "--json"});
  const nlohmann::json& alone = few.at("eye").at("shirts").at(1);
  EXPECT_EQ(alone.at("number"), worst);
  EXPECT_NEAR(
      alone.at("largest_dE00").get<double>(),
      j.at("eye").at("shirts").at(static_cast<std::size_t>(worst - 1)).at("largest_dE00").get<double>(),
      1e-5);
  EXPECT_FALSE(
      json_of({"run", scene, "--shirts", "40", "--json", "--eye", "none"}).at("eye").at("shirts").size());
}

TEST_F(Run, ABadPalletShowsOnItsShareOfShirts) {
  // Nothing opens on the others; every eighth shirt is a millimetre off.
  std::string text = bytes_of(disc_scene(0.3));
  text = changed(
      text, "[[plate]]",
      "[press]\nholds = \"0.05 mm\"\npallets = 8\nbad_pallet = { number = 3, offset = [\"1 mm\", \"0 mm\"] "
      "}\n[[plate]]");
  const nlohmann::json j = json_of({"run", write("scene.toml", text), "--shirts", "160", "--json"});
  EXPECT_EQ(j.at("any_gap").at("shirts"), 20);
  EXPECT_EQ(j.at("shows_visibly").at("shirts"), 20);
  EXPECT_EQ(j.at("worst_shirt").at("number").get<int>() % 8, 3);
}

TEST_F(Run, AnotherPressIsNamedByItsId) {
  const std::string scene = disc_scene(0.1);
  const nlohmann::json j = json_of({"run", scene, "--press", "worn-manual", "--json", "--eye", "none"});
  EXPECT_EQ(j.at("press"), "worn-manual");
  EXPECT_NEAR(j.at("pair_sigma_mm").get<double>(), 0.25, 1e-12);
  EXPECT_NEAR(
      json_of({"run", scene, "--press", "worn-manual", "--holds", "0.5 mm", "--json", "--eye", "none"})
          .at("pair_sigma_mm")
          .get<double>(),
      0.2, 1e-12);
  EXPECT_THAT(complaint({"run", scene, "--press", "worn"}), HasSubstr("use one of average-automatic, "));
  EXPECT_THAT(complaint({"predict", scene, "-o", path("p.png"), "--press", "worn"}),
              HasSubstr("no such press"));
  EXPECT_FALSE(fs::exists(path("p.png")));
  const auto shirt = [&](const std::string& press) {
    const ProgramRun r =
        run_kirtle({"predict", scene, "-o", path("p.png"), "--shirt-number", "5", "--press", press});
    EXPECT_EQ(r.status, 0) << r.err;
    return bytes_of(path("p.png"));
  };
  EXPECT_NE(shirt("worn-manual"), shirt("kept-up-automatic"));
}

TEST_F(Run, InterruptedItKeepsTheShirtsDoneAndSaysSo) {
  const std::string scene = disc_scene(0.05);
  RunSettings settings;
  settings.interrupt_after = "shirts by eye";  // the line on a terminal
  settings.terminal = true;
  const ProgramRun r =
      run_kirtle({"run", scene, "--shirts", "20000", "--eye", "all", "-o", path("out")}, settings);
  EXPECT_EQ(r.status, 130) << r.err;
  EXPECT_THAT(r.err, HasSubstr("stopped"));
  EXPECT_THAT(r.out, HasSubstr("STOPPED"));
  const nlohmann::json j = nlohmann::json::parse(bytes_of(path("out/run.json")));
  EXPECT_EQ(j.at("cancelled"), true);
  EXPECT_EQ(j.at("shirts_asked"), 20000);
  const std::size_t seen = j.at("eye").at("shirts").size();
  EXPECT_GT(seen, 0u);
  EXPECT_LT(seen, 20000u);
  EXPECT_EQ(j.at("eye").at("differs").at("of"), seen);
  // A line for every shirt whose gaps are known, and figures of the eye for those it came to.
  const std::string csv = bytes_of(path("out/shirts.csv"));
  EXPECT_EQ(count_of(csv, "\n"), j.at("shirts_done").get<int>() + 1);
  EXPECT_EQ(count_of(csv, ",,,,\n"), j.at("shirts_done").get<int>() - static_cast<int>(seen));
  // Nothing half-written, and no picture.
  std::vector<std::string> names;
  for (const fs::directory_entry& entry : fs::directory_iterator(path("out")))
    names.push_back(entry.path().filename().string());
  EXPECT_THAT(names, ::testing::UnorderedElementsAre("run.json", "shirts.csv", "tolerance.svg"));
  EXPECT_THAT(run_kirtle({"run", "--help"}).out, HasSubstr("exit status is 130"));
}

TEST_F(Run, CountsUpOnATerminalAlone) {
  const std::string scene = disc_scene(0.05);
  RunSettings terminal;
  terminal.terminal = true;
  EXPECT_THAT(run_kirtle({"run", scene}, terminal).err, HasSubstr("\rshirts "));
  EXPECT_EQ(run_kirtle({"run", scene, "--quiet"}, terminal).err, "");
  EXPECT_THAT(run_kirtle({"run", scene}).err, ::testing::Not(HasSubstr("\r")));
}

TEST_F(Run, BadOptionsAreNamed) {
  const std::string scene = disc_scene(0.1);
  EXPECT_THAT(complaint({"run", scene, "--holds", "soon"}),
              HasSubstr("--holds \"soon\" is not a length from 0 to 12.5 mm"));
  for (const char* holds : {"0 mm", "12.5 mm"})
    EXPECT_EQ(run_kirtle({"run", scene, "--shirts", "2", "--holds", holds}).status, 0) << holds;
  for (const char* holds : {"-1 mm", "13 mm", "1e9 mm", "1e300 in", "nan mm"})
    EXPECT_THAT(complaint({"run", scene, "--holds", holds}), HasSubstr("is not a length from 0 to 12.5 mm"));
  for (const char* distance : {"-1 mm", "0 mm", "1 mm", "1e12 mm", "25000 mm"})
    EXPECT_THAT(complaint({"run", scene, "--distance", distance}),
                AllOf(HasSubstr("--distance"), HasSubstr("from 50 to 20000 mm")));
  EXPECT_THAT(complaint({"run", scene, "--shirts", "0"}), HasSubstr("--shirts"));
  write("file", "not a folder");
  EXPECT_THAT(complaint({"run", scene, "-o", path("file")}), HasSubstr("cannot make this folder"));
}

}  // namespace
}  // namespace kirtle::test
