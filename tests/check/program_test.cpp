// kirtle check as its users have it: words, JSON, exit status.
#include "cmd/command_test.h"

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

class CheckProgram : public CommandTest {
 protected:
  std::string job(double from, double to) {
    plate("white.png", 160, 160, 200,
          [=](int x, int y) { return x >= from && x < to && y >= 20 && y < 120; });
    return write("job.toml", scene_text("black-cotton", {{"white", "base-white"}}));
  }
};

TEST_F(CheckProgram, SaysSoWhenNothingIsFound) {
  const ProgramRun run = run_kirtle({"check", job(20, 120)});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_THAT(run.out, HasSubstr("nothing found"));
  EXPECT_EQ(run.err, "");
}

TEST_F(CheckProgram, ExitsWith3WhenPlatesWouldBeSentBack) {
  const std::string file = job(5, 5);
  const ProgramRun run = run_kirtle({"check", file});
  EXPECT_EQ(run.status, 3);
  EXPECT_THAT(run.out, AllOf(HasSubstr("Would be sent back"), HasSubstr("white: no ink on the plate"),
                             HasSubstr("fix: "), HasSubstr("common practice, no source")));
  const ProgramRun machine = run_kirtle({"check", file, "--json"});
  EXPECT_EQ(machine.status, 3);
  const nlohmann::json j = nlohmann::json::parse(machine.out);
  EXPECT_EQ(j.at("kirtle_check"), 1);
  EXPECT_EQ(j.at("sent_back"), true);
  const nlohmann::json& f = j.at("findings").at(0);
  for (const char* key : {"kind", "severity", "plates", "passes", "at_mm", "what", "number", "limit", "unit",
                          "remedy", "provenance"})
    EXPECT_TRUE(f.contains(key)) << key;
  EXPECT_EQ(f.at("kind"), "empty-plate");
  EXPECT_EQ(f.at("severity"), "sent back");
}

TEST_F(CheckProgram, ReadsYouthSizesFromTheOrder) {
  job(20, 120);
  const std::string scene = write("clear.toml", scene_text("black-cotton", {{"white", "discharge-white"}}));
  const auto order = [&](const std::string& size) {
    return write("order.toml",
                 "schema = 1\ncustomer = \"x\"\norder = \"1\"\n"
                 "[[print]]\nlocation = \"front\"\nscene = \"clear.toml\"\n"
                 "[[shirts]]\nshirt = \"black-cotton\"\nquantities = { " +
                     size + " = 12 }\n");
  };
  EXPECT_THAT(run_kirtle({"check", scene, "--order", order("YM")}).out, HasSubstr("stop and ask"));
  EXPECT_THAT(run_kirtle({"check", scene, "--order", order("M")}).out,
              ::testing::Not(HasSubstr("stop and ask")));
}

TEST_F(CheckProgram, BadInputIsRefused) {
  EXPECT_THAT(complaint({"check", path("none.toml")}), HasSubstr("none.toml"));
  EXPECT_THAT(complaint({"check", job(20, 120), "--wet-limit", "nan"}), HasSubstr("nan"));
}

}  // namespace
}  // namespace kirtle::test
