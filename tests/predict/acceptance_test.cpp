// What a printer checks on the first day, with the demonstration records: common practice, no source, unless
// another is named. The records are invented; these checks are what makes them plausible.
#include "predict/predict_test.h"

namespace kirtle::test {
namespace {

using Acceptance = PredictTest;

TEST_F(Acceptance, WhiteOnBlack) {
  const double one = printed(scene("black-cotton", {"w base-white; flash = true"}), {1}).lab.l;
  EXPECT_NEAR(one, 80, 4);
  const double two =
      printed(scene("black-cotton", {"w base-white; flash = true", "w base-white; flash = true"}), {1}).lab.l;
  EXPECT_NEAR(two, 88, 3);
  const double finer =
      printed(scene("black-cotton", {"w base-white; mesh = \"61-64\"; flash = true"}), {1}).lab.l;
  EXPECT_NEAR(finer, 75, 5);
  EXPECT_LT(finer, one);
  EXPECT_LT(one, two);
  // One stroke of white on black never reaches L* 90; two wet strokes lie between one and two flashed.
  EXPECT_LT(one, 90);
  const double wet = printed(scene("black-cotton", {"w base-white; strokes = 2"}), {1}).lab.l;
  EXPECT_GT(wet, one);
  EXPECT_LT(wet, two);
}

TEST_F(Acceptance, TintsGainByLineCount) {
  const auto prints = [&](const std::string& lpi) {
    return 100 * film(scene("black-cotton", {"w base-white; lpi = " + lpi}), {0.5}).plates[0].printed;
  };
  const double at_55 = prints("55");
  EXPECT_NEAR(at_55, 77, 5);
  EXPECT_NEAR(at_55 - prints("45"), 5, 2);
  EXPECT_NEAR(prints("65") - at_55, 5, 2);
}

TEST_F(Acceptance, FilmThatPrintsHalf) {
  const PrintModel model(scene("black-cotton", {"w base-white"}));
  EXPECT_NEAR(100 * model.plates[0].tone.film_for(0.5), 29, 4);
}

/// Share of the bare shirt where two inks that let nothing through are tints of 50 % on film: their
/// reflectance over that of the undyed cloth, area means alone (n = 1).
class Fade : public PredictTest {
 protected:
  void SetUp() override {
    PredictTest::SetUp();
    folder_.write("mine/inks/soot.toml",
                  "schema = 1\nid = \"soot\"\nname = \"Soot\"\nfamily = \"plastisol\"\nsoak = 0\ngloss = 0\n"
                  "[provenance]\nstatus = \"invented\"\nsource = \"lets nothing through\"\n"
                  "[optics]\nwavelength_nm = [380, 730]\nK_per_um = [1, 1]\nS_per_um = [0, 0]\n");
  }
  double bare(const std::string& spread, const std::string& angle, bool solid_under = false) const {
    const std::string keys = "; wet_deposit_um = 30; flash = true; " + spread;
    std::vector<std::string> passes{"light soot" + keys, "dark soot" + keys + "; angle = " + angle};
    if (solid_under) passes.insert(passes.begin(), "under soot" + keys);
    const Scene s = scene("demo-undyed", passes, "data = [\"mine\"]\n[model]\nyule_nielsen_n = 1\n");
    std::vector<double> film_shares(passes.size(), 0.5), nothing(passes.size(), 0.0);
    if (solid_under) film_shares[0] = 1;
    return 100 * film(s, film_shares).xyz.y / film(s, nothing).xyz.y;
  }
};

// Demichel 1924: two independent tints of one half leave a quarter bare.
TEST_F(Fade, IndependentAnglesLeaveAQuarter) { EXPECT_NEAR(bare("ink_spread_um = 0", "67.5"), 25, 1); }

TEST_F(Fade, SpreadLeavesATwentieth) {
  EXPECT_NEAR(bare("ink_spread_um = 45", "67.5"), 5, 1.5);
  EXPECT_NEAR(bare("", "67.5"), 5, 1.5);  // the default
}

// In register on one screen, dots fall on dots: half stays bare.
TEST_F(Fade, OneAngleInRegisterLeavesHalf) { EXPECT_NEAR(bare("ink_spread_um = 0", "22.5"), 50, 1); }

TEST_F(Fade, SolidUnderLeavesNothing) { EXPECT_NEAR(bare("", "67.5", true), 0, 0.05); }

class Discharge : public PredictTest {
 protected:
  Lab bare(const std::string& shirt) const { return printed(scene(shirt, {"c discharge-clear"}), {0}).lab; }
  Lab discharged(const std::string& shirt) const {
    return printed(scene(shirt, {"c discharge-clear"}), {1}).lab;
  }
};

TEST_F(Discharge, GoodBlackCottonTurnsEcruNotWhite) {
  const Lab lab = discharged("black-cotton");
  EXPECT_GE(lab.l, 75);
  EXPECT_LE(lab.l, 85);
  EXPECT_GE(lab.b, 5);
  EXPECT_LE(lab.b, 14);
  EXPECT_LT(bare("black-cotton").l, 25);
}

TEST_F(Discharge, PurpleTurnsLavender) {
  const Lab before = bare("purple-cotton"), after = discharged("purple-cotton");
  EXPECT_LT(hue_apart(before, after), 25);
  EXPECT_GT(hue_degrees(after), 270);
  EXPECT_LT(hue_degrees(after), 330);
  EXPECT_GT(after.l, 60);
  EXPECT_LT(after.l, 82);
  EXPECT_GT(chroma(after), 8);
  EXPECT_LT(chroma(after), chroma(before));
}

TEST_F(Discharge, KellyGreenTurnsMint) {
  const Lab before = bare("kelly-green-cotton"), after = discharged("kelly-green-cotton");
  EXPECT_LT(hue_apart(before, after), 20);
  EXPECT_GE(chroma(after), 8);
  EXPECT_LE(chroma(after), 25);
  EXPECT_GT(after.l, 75);
}

TEST_F(Discharge, PolyesterStaysAsItIs) {
  for (const std::string shirt : {"black-polyester", "red-polyester"})
    EXPECT_LT(delta_e_2000(bare(shirt), discharged(shirt)), 1) << shirt;
}

// A blend is its fibres side by side: half-way, and exactly the mean of the two in every band.
TEST_F(Discharge, BlendsTurnHalfWayAndHeathered) {
  const auto at = [&](const std::string& shirt) {
    return printed(scene(shirt, {"c discharge-clear"}), {1}).reflectance;
  };
  const Spectrum cotton = at("black-cotton"), polyester = at("black-polyester"), blend = at("black-blend");
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(blend[i], (cotton[i] + polyester[i]) / 2, 1e-9) << i;
  const double l = discharged("black-blend").l;
  EXPECT_GT(l, bare("black-blend").l + 20);
  EXPECT_LT(l, discharged("black-cotton").l - 10);
  const Scene s = scene("black-blend", {"c discharge-clear"});
  int fibres = 0;
  for (const StackLine& line : printed(s, {1}).stack)
    fibres += line.what.starts_with("cloth: ") && line.share == 0.5;
  EXPECT_EQ(fibres, 2);
}

// Dye that resists is not lightened, whatever the grade says elsewhere; under-dosed or cold, black stays
// darker.
TEST_F(Discharge, FollowsGradeDoseAndDryer) {
  EXPECT_LT(discharged("black-cotton-sulphur").l, 45);
  const auto l = [&](const std::string& keys, const std::string& more) {
    return printed(scene("black-cotton", {"c discharge-clear; " + keys}, more), {1}).lab.l;
  };
  const double good = l("flash = false", "");
  EXPECT_LT(l("wet_deposit_um = 8", ""), good - 5);
  EXPECT_LT(l("flash = false", "[dryer]\nsteps = [{ temperature = \"110 C\", seconds = 30 }]"), good - 20);
  EXPECT_LT(l("flash = false", "[discharge]\npot_hours = 24"), good - 5);
}

// The paste's own agent bleaches what lies under a later ink that carries none.
TEST_F(Discharge, AgentBelowAnotherInkStillBleaches) {
  const Scene s = scene("black-cotton", {"c discharge-clear", "y wb-yellow"});
  EXPECT_GT(printed(s, {1, 1}).lab.b, printed(s, {0, 1}).lab.b + 20);
  EXPECT_GT(printed(s, {1, 1}).agent_g_m2, 3);
  EXPECT_EQ(printed(s, {0, 1}).agent_g_m2, 0);
}

}  // namespace
}  // namespace kirtle::test
