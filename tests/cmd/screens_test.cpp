// kirtle screens: the table, the findings, JSON, bad input.
#include "cmd/command_test.h"

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

class Screens : public CommandTest {};

TEST_F(Screens, TellEachPassInPrintOrderAndWhatToDo) {
  const std::string file = small_scene();
  const ProgramRun run = run_kirtle({"screens", file});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_LT(run.out.find(" 1  base"), run.out.find(" 2  red"));
  EXPECT_THAT(run.out,
              AllOf(HasSubstr("61 threads/cm (155/in)"), HasSubstr("55 lines/in"), HasSubstr("22.5 degrees"),
                    HasSubstr("2.8 threads to a line"), HasSubstr("% on film prints 50 %"),
                    HasSubstr("wet deposit 27 um"), HasSubstr("fix: use mesh 77/cm (196/in)"),
                    HasSubstr("common practice, no source"), HasSubstr("(estimated)")));
  EXPECT_THAT(run.out, Not(HasSubstr("nan")));
}

TEST_F(Screens, JsonHasEveryNumber) {
  const nlohmann::json j = json_of({"screens", small_scene(), "--json"});
  EXPECT_EQ(j.at("kirtle_screens"), 1);
  ASSERT_EQ(j.at("passes").size(), 2u);
  const nlohmann::json& red = j.at("passes").at(1);
  EXPECT_EQ(red.at("plate"), "red");
  EXPECT_NEAR(red.at("threads_per_line").get<double>(), 61 * 2.54 / 55, 1e-9);
  EXPECT_EQ(red.at("steps_percent").size(), 7u);
  EXPECT_NEAR(red.at("steps_percent").at(3).at(1).get<double>(),
              red.at("film_50_prints_percent").get<double>(), 1e-9);
  ASSERT_FALSE(j.at("findings").empty());
  for (const nlohmann::json& f : j.at("findings")) {
    for (const char* key : {"concern", "pass", "plate", "what", "number", "limit", "remedy", "provenance"})
      EXPECT_TRUE(f.contains(key)) << key;
    EXPECT_NE(f.at("provenance"), "");
  }
  EXPECT_EQ(j.at("knit").at("status"), "estimated");
}

TEST_F(Screens, SolidsHaveNoDotsToLoseAndStrokesAreTold) {
  for (const char* name : {"base.png", "red.png"})
    plate(name, 80, 60, 100, [](int x, int) { return x < 40; });
  const std::string file = write(
      "solid.toml",
      scene_text("black-cotton", {{"base", "base-white", "strokes = 2\nflash = true"}, {"red", "red"}}));
  const ProgramRun run = run_kirtle({"screens", file});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_THAT(run.out,
              AllOf(HasSubstr("nothing to warn of"), Not(HasSubstr("drop out")),
                    HasSubstr("wet deposit 38 um with 2 strokes"), HasSubstr("wet deposit 27 um\n")));
  EXPECT_TRUE(json_of({"screens", file, "--json"}).at("findings").empty());
  // A plate that is not exported yet: nothing is known of its tints.
  write("red.png", "");
  const ProgramRun before = run_kirtle({"screens", file});
  EXPECT_EQ(before.status, 0) << before.err;
  EXPECT_THAT(before.out, HasSubstr("the plates could not be read"));
}

TEST_F(Screens, DotsOfNoiseHaveNoLines) {
  plate("a.png", 40, 40, 100, [](int x, int) { return x / 40.0; });
  const std::string file = write(
      "noise.toml", scene_text("black-cotton", {{"a", "red", "dot = \"noise\"\ndot_size_um = \"0.25 mm\""}}));
  const nlohmann::json j = json_of({"screens", file, "--json"});
  EXPECT_EQ(j.at("passes").at(0).at("dot"), "noise");
  EXPECT_EQ(j.at("passes").at(0).at("dot_size_um"), 250);
  EXPECT_FALSE(j.at("passes").at(0).contains("angle_deg"));
  const ProgramRun run = run_kirtle({"screens", file});
  EXPECT_THAT(run.out, AllOf(HasSubstr("noise, dots of 250 um"), HasSubstr("nothing to warn of")));
  // And it prints: at arm's length and under the loupe.
  EXPECT_EQ(run_kirtle({"predict", file, "-o", path("far.png")}).status, 0);
  EXPECT_EQ(run_kirtle({"predict", file, "-o", path("near.png"), "--loupe", "2,2,5,5"}).status, 0);
}

TEST_F(Screens, BadInputIsRefused) {
  EXPECT_THAT(complaint({"screens", path("none.toml")}), HasSubstr("none.toml"));
  EXPECT_THAT(complaint({"screens"}), HasSubstr("SCENE"));
}

}  // namespace
}  // namespace kirtle::test
