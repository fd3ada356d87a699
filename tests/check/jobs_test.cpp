// Whole jobs: an ordinary one gives nothing, faults come in order of weight, demo scenes say what they hold.
#include "check/job_fixture.h"

#include <set>

namespace kirtle::test {
namespace {

using ::testing::IsEmpty;

class CheckJobs : public Jobs {};

TEST_F(CheckJobs, OneWhiteOnBlackIsFine) {
  plate("white",
        sum({box(5, 5, 35, 15), less(box(5, 20, 35, 35), box(10, 24, 30, 31)), box(10, 17, 30, 17.6)}));
  EXPECT_THAT(kinds(check("black-cotton", pass("white", "base-white", "strokes = 2", "43-80"))), IsEmpty());
}

TEST_F(CheckJobs, WhiteTwiceWithAFlashIsFine) {
  plate("white", sum({box(5, 5, 35, 15), box(10, 20, 30, 35)}));
  const std::string hit = "[[pass]]\nplate = \"white\"\nink = \"base-white\"\nmesh = \"61-64\"\n";
  EXPECT_THAT(
      kinds(check("black-cotton", "[[plate]]\nname = \"white\"\nfile = \"white.png\"\nink_is = \"dark\"\n" +
                                      hit + "flash = true\n" + hit)),
      IsEmpty());
}

TEST_F(CheckJobs, RedOnAChokedBaseIsFine) {
  plate("base", sum({box(5.15, 5.15, 34.85, 14.85), box(5.15, 20.15, 34.85, 34.85)}));
  plate("red", sum({box(5, 5, 35, 15), box(5, 20, 35, 35)}));
  EXPECT_THAT(kinds(check("black-cotton", pass("base", "base-white", "flash = true") + pass("red", "red"))),
              IsEmpty());
}

TEST_F(CheckJobs, TwoSpotsOnAWhiteShirtAreFine) {
  plate("red", box(5, 5, 35, 20));
  plate("navy", sum({box(5, 19.7, 35, 35), box(12, 8, 18, 14)}));  // overlaps by .3 mm
  EXPECT_THAT(kinds(check("white-cotton", pass("red", "red") + pass("navy", "navy"))), IsEmpty());
}

TEST_F(CheckJobs, WhatSendsPlatesBackStandsFirst) {
  plate("a", sum({box(5, 5, 35, 20), box(5, 30, 35, 30.3)}));
  plate("b", box(0, 0, 0, 0));
  const CheckReport report = check("white-cotton", pass("a", "red") + pass("b", "navy"));
  ASSERT_EQ(report.findings.size(), 2u);
  EXPECT_EQ(report.findings[0].kind, "empty-plate");
  EXPECT_EQ(report.findings[1].kind, "thin-lines");
  EXPECT_TRUE(report.sent_back());
}

TEST_F(CheckJobs, FindingsAreTheSameOnAnyNumberOfThreads) {
  plate("base", tint(box(5, 5, 35, 35), 0.95));
  plate("red", sum({box(5, 5, 35, 20), box(5, 30, 35, 30.2), box(5, 31, 35, 31.3)}));
  const std::string passes = pass("base", "base-white", "flash = true") + pass("red", "red");
  CheckSettings one, many;
  one.threads = 1;
  many.threads = 5;
  EXPECT_EQ(kinds(check("black-cotton", passes, one)), kinds(check("black-cotton", passes, many)));
}

/// Kinds that a demo scene gives.
std::set<std::string> demo(const std::string& name) {
  const CheckReport report =
      check_scene(read_scene(std::string(KIRTLE_SOURCE_DIR) + "/scenes/" + name + "/scene.toml"), {});
  std::set<std::string> out;
  for (const Finding& f : report.findings) out.insert(f.kind);
  for (const char* never : {"empty-plate", "polarity", "stations-short", "too-large", "resolution",
                            "curve-twice", "no-discharge", "dye-migration", "youth-discharge"})
    EXPECT_EQ(out.count(never), 0u) << name << ' ' << never;
  return out;
}

// What is seen on the plates: hair engraved finer than a 61-64 mesh holds; coral whose base is choked to
// .2 mm; three water-base inks solid on each other.
TEST_F(CheckJobs, DemoScenesSayWhatTheyHold) {
  const std::set<std::string> moth = demo("moth"), reef = demo("reef"), botanical = demo("botanical");
  EXPECT_EQ(moth.count("thin-lines"), 1u);
  EXPECT_EQ(moth.count("wet-load"), 0u);  // 66 cm3/m2 where both are solid
  EXPECT_EQ(moth.count("no-base"), 0u);
  EXPECT_EQ(reef.count("base-eats-type"), 1u);
  EXPECT_EQ(reef.count("wet-load"), 0u);  // plastisol
  EXPECT_EQ(botanical.count("wet-overlap"), 1u);
  EXPECT_EQ(botanical.count("piled-solids"), 0u);  // they mix on purpose
}

}  // namespace
}  // namespace kirtle::test
