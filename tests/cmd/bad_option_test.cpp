// What is wrong on the command line: each case ends with status 2, says what was found and what to do, and
// writes nothing.
#include "cmd/command_test.h"

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

class BadOption : public CommandTest {
 protected:
  void SetUp() override {
    small_scene();
    before_ = folder_.entries();
  }
  void TearDown() override { EXPECT_EQ(folder_.entries(), before_) << "something was left behind"; }

  RunSettings here() const {
    RunSettings s;
    s.folder = folder_.path();
    return s;
  }
  std::string predict(std::vector<std::string> more) const {
    more.insert(more.begin(), {"predict", "scene.toml", "-o", "print.png"});
    return complaint(more, here());
  }
  std::string probe(std::vector<std::string> more) const {
    more.insert(more.begin(), {"probe", "scene.toml"});
    return complaint(more, here());
  }

 private:
  std::size_t before_ = 0;
};

TEST_F(BadOption, Scale) {
  for (const std::string value : {"0", "-1", "1.01", "nan", "inf", "half", ""}) {
    EXPECT_THAT(predict({"--scale", value}), AllOf(HasSubstr("--scale"), HasSubstr("0.001 to 1"),
                                                   HasSubstr("fix: see kirtle predict --help")))
        << value;
  }
}

TEST_F(BadOption, Dpi) {
  for (const std::string value : {"0", "-300", "nan", "inf", "10001", "3oo"}) {
    EXPECT_THAT(predict({"--dpi", value}), AllOf(HasSubstr("--dpi"), HasSubstr("1 to 10000"))) << value;
  }
  EXPECT_THAT(predict({"--dpi", "101"}),
              AllOf(HasSubstr("a picture of 101 pixels per inch was asked for, but the plates have 100"),
                    HasSubstr("fix: ask for at most 100")));
  EXPECT_THAT(predict({"--dpi", "50", "--scale", "0.5"}), HasSubstr("--scale excludes --dpi"));
}

TEST_F(BadOption, DepthIntentThreads) {
  EXPECT_THAT(predict({"--depth", "12"}), HasSubstr("--depth: 12 not in {8,16}"));
  EXPECT_THAT(predict({"--intent", "pretty"}), AllOf(HasSubstr("--intent"), HasSubstr("perceptual")));
  EXPECT_THAT(predict({"--threads", "0"}), HasSubstr("--threads"));
  EXPECT_THAT(predict({"--threads", "1000000"}), HasSubstr("--threads"));
}

TEST_F(BadOption, Light) {
  for (const std::string value : {"moon", "", "D5O", "F13"}) {
    EXPECT_THAT(predict({"--light", value}), AllOf(HasSubstr("the light asked for is \"" + value + "\""),
                                                   HasSubstr("D50, D65, A, F1"), HasSubstr("LED-B3")));
  }
}

TEST_F(BadOption, Shirt) {
  EXPECT_THAT(predict({"--shirt", "blak-coton"}), AllOf(HasSubstr("there is no shirt \"blak-coton\""),
                                                        HasSubstr("did you mean \"black-cotton\"?")));
  EXPECT_THAT(predict({"--shirt", ""}),
              AllOf(HasSubstr("there is no shirt \"\""), HasSubstr("white-cotton")));
  EXPECT_THAT(predict({"--shirt", "../shirts/black-cotton"}), HasSubstr("there is no shirt"));
}

TEST_F(BadOption, Profile) {
  EXPECT_THAT(predict({"--profile", "none.icc"}),
              AllOf(HasSubstr("none.icc"), HasSubstr("no such ICC profile")));
  EXPECT_THAT(predict({"--profile", ""}), HasSubstr("no such ICC profile"));
  EXPECT_THAT(predict({"--profile", "scene.toml"}),
              AllOf(HasSubstr("scene.toml"), HasSubstr("not an ICC profile")));
  EXPECT_THAT(predict({"--profile", "."}), HasSubstr("error"));
}

TEST_F(BadOption, DataFolder) {
  EXPECT_THAT(predict({"--data", "no-such-folder"}), HasSubstr("no-such-folder"));
  EXPECT_THAT(complaint({"inks", "--data", "no-such-folder"}, here()), HasSubstr("no-such-folder"));
}

TEST_F(BadOption, At) {
  for (const std::string value : {"", "5", "5;6"}) {
    EXPECT_THAT(probe({"--at", value}),
                AllOf(HasSubstr("--at \"" + value + "\" is not a point"), HasSubstr("40,62.5 or 1.5in,2in")));
  }
  for (const std::string value : {"x", "nan", "inf", "", "5 miles", "1e", "0x5"}) {
    EXPECT_THAT(probe({"--at", "5," + value}),
                AllOf(HasSubstr("\"" + value + "\" is not a length"), HasSubstr("um, mm, cm, in or pt")));
  }
  EXPECT_THAT(probe({"--at", "1,2,3"}), HasSubstr("\"2,3\" is not a length"));
}

// The print is 80 x 60 pixels at 100 per inch: 20.32 x 15.24 mm.
TEST_F(BadOption, PointOutsideThePrint) {
  for (const std::string value : {"20.33,1", "1,15.25", "-0.01,1", "1,-0.01", "1in,1", "1e300,1"}) {
    EXPECT_THAT(probe({"--at", value}),
                AllOf(HasSubstr("lies outside the print"),
                      HasSubstr("the print is 20.3 x 15.2 mm; 0,0 is its top left corner")))
        << value;
  }
}

TEST_F(BadOption, FilmAndPrinted) {
  for (const std::string option : {"--film", "--printed"}) {
    EXPECT_THAT(probe({option, "bace=50"}),
                AllOf(HasSubstr(option + " \"bace=50\": no plate \"bace\" prints in this scene"),
                      HasSubstr("a plate of base, red; perhaps you mean base")));
    EXPECT_THAT(probe({option, "base"}), AllOf(HasSubstr("there is no per cent"), HasSubstr("base=50")));
    EXPECT_THAT(probe({option, "=50"}), HasSubstr("no plate \"\""));
    for (const std::string value : {"", "nan", "inf", "-1", "100.1", "half", "5%", "0x10"}) {
      EXPECT_THAT(probe({option, "base=" + value}), AllOf(HasSubstr("\"" + value + "\" is not a per cent"),
                                                          HasSubstr("a number from 0 to 100")));
    }
    EXPECT_THAT(probe({option, "base=5,red=5,base=6"}), HasSubstr("names plate \"base\" twice"));
  }
}

TEST_F(BadOption, AllFaultsOfAnOptionAtOnce) {
  const std::string said = probe({"--film", "bace=50,base=nan,red"});
  EXPECT_EQ(count_of(said, "error: "), 3) << said;
}

TEST_F(BadOption, ProbeNeedsOnePoint) {
  EXPECT_THAT(probe({}), AllOf(HasSubstr("probe needs a point"), HasSubstr("--at"), HasSubstr("--film")));
  EXPECT_THAT(probe({"--at", "1,1", "--film", "base=1"}), HasSubstr("--at excludes --film"));
  EXPECT_THAT(probe({"--printed", "base=1", "--film", "base=1"}), HasSubstr("excludes"));
}

TEST_F(BadOption, CommandsAndMissingArguments) {
  EXPECT_THAT(complaint({"predit"}),
              AllOf(HasSubstr("there is no command \"predit\""), HasSubstr("\"predict\"?")));
  EXPECT_THAT(complaint({"bake"}), HasSubstr("use one of predict, probe, run, "));
  EXPECT_THAT(complaint({}), AllOf(HasSubstr("subcommand is required"), HasSubstr("kirtle --help")));
  EXPECT_THAT(complaint({"predict"}), HasSubstr("SCENE is required"));
  EXPECT_THAT(complaint({"predict", "scene.toml"}, here()), HasSubstr("--output is required"));
  EXPECT_THAT(predict({"--lihgt", "A"}), HasSubstr("--lihgt"));
}

// Control characters and very long text from the command line must not reach the terminal as they are.
TEST_F(BadOption, SaysUntrustedTextSafely) {
  const std::string said = predict({"--shirt", "x\x1b[2J"});
  EXPECT_THAT(said, AllOf(HasSubstr("\\x1b"), Not(HasSubstr("\x1b"))));
  EXPECT_LT(probe({"--film", std::string(100000, 'a') + "=5"}).size(), 2000u);
}

}  // namespace
}  // namespace kirtle::test
