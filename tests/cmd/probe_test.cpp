// What probe says: JSON and text, the effect of shirt and light, and that a point and its picture agree.
#include "cmd/command_test.h"

#include <cmath>

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

class Probe : public CommandTest {
 protected:
  void SetUp() override { scene_ = small_scene(); }
  nlohmann::json probe(std::vector<std::string> more) const {
    more.insert(more.begin(), {"probe", scene_, "--json"});
    return json_of(more);
  }
  double lightness(const std::vector<std::string>& more) const { return probe(more).at("Lab").at(0); }
  std::string scene_;
};

TEST_F(Probe, JsonHasAllThatItPromises) {
  const nlohmann::json j = probe({"--printed", "base=100,red=40"});
  EXPECT_EQ(j.at("kirtle_probe"), 1);
  EXPECT_EQ(j.at("shirt"), "black-cotton");
  EXPECT_EQ(j.at("light"), "D50");
  EXPECT_EQ(j.at("observer"), 2);
  ASSERT_EQ(j.at("wavelength_nm").size(), 36u);
  EXPECT_EQ(j.at("wavelength_nm").front(), 380);
  EXPECT_EQ(j.at("wavelength_nm").back(), 730);
  ASSERT_EQ(j.at("reflectance").size(), 36u);
  for (const double r : j.at("reflectance")) {
    EXPECT_GE(r, 0);
    EXPECT_LE(r, 1);
  }
  for (const char* key : {"XYZ", "Lab", "sRGB_linear"}) EXPECT_EQ(j.at(key).size(), 3u) << key;
  EXPECT_THAT(j.at("hex").get<std::string>(), ::testing::MatchesRegex("#[0-9a-f]{6}"));
  ASSERT_EQ(j.at("plates").size(), 2u);
  EXPECT_EQ(j.at("plates").at(1).at("plate"), "red");
  EXPECT_EQ(j.at("plates").at(1).at("printed_percent"), 40);
  EXPECT_GT(j.at("wet_load_cm3_per_m2"), 0);
  EXPECT_GT(j.at("ink_build_um"), 0);
  EXPECT_EQ(j.at("agent_g_per_m2"), 0);
  EXPECT_EQ(j.at("not_predicted"), false);
  EXPECT_EQ(j.at("stack_from_top").at(0).at("what"), "Red");
  std::string all;
  for (const std::string line : j.at("provenance")) all += line + "\n";
  EXPECT_THAT(all, AllOf(HasSubstr("shirt black-cotton: invented"), HasSubstr("ink red: invented"),
                         HasSubstr("mesh 61-64"), HasSubstr("assumed: ")));
}

TEST_F(Probe, TextShowsWhatJsonDoes) {
  const ProgramRun run = run_kirtle({"probe", scene_, "--film", "base=100,red=50"});
  EXPECT_EQ(run.status, 0);
  EXPECT_EQ(run.err, "");
  const nlohmann::json j = probe({"--film", "base=100,red=50"});
  EXPECT_THAT(run.out,
              AllOf(HasSubstr(j.at("hex").get<std::string>()), HasSubstr("Lab"), HasSubstr("XYZ"),
                    HasSubstr("reflectance, 380 to 730 nm by 10 nm"), HasSubstr("stack from the top down"),
                    HasSubstr("how well this is known"), Not(HasSubstr("discharge agent"))));
}

// Common practice, no source: 50 % on film gains about 27 points at 55 lines per inch.
TEST_F(Probe, FilmGainsAndPrintedDoesNot) {
  EXPECT_NEAR(probe({"--film", "red=50"}).at("plates").at(1).at("printed_percent"), 77, 5);
  EXPECT_EQ(probe({"--film", "red=50"}).at("plates").at(1).at("film_percent"), 50);
  const nlohmann::json printed = probe({"--printed", "red=50"}).at("plates").at(1);
  EXPECT_EQ(printed.at("printed_percent"), 50);
  EXPECT_FALSE(printed.contains("film_percent"));
}

TEST_F(Probe, PlatesLeftOutPrintNothing) {
  EXPECT_EQ(probe({"--film", "base=100"}).at("Lab"), probe({"--film", "base=100,red=0"}).at("Lab"));
  EXPECT_EQ(probe({"--film", "base=0"}).at("ink_build_um"), 0);
}

TEST_F(Probe, AnotherShirtChangesTheBareClothAsItsNameSays) {
  const double black = lightness({"--film", "base=0"});
  const double white = lightness({"--film", "base=0", "--shirt", "white-cotton"});
  const double grey = lightness({"--film", "base=0", "--shirt", "sport-grey-heather"});
  EXPECT_LT(black, 25);
  EXPECT_GT(white, 88);
  EXPECT_GT(grey, black);
  EXPECT_LT(grey, white);
  EXPECT_GT(probe({"--film", "base=0", "--shirt", "red-cotton"}).at("Lab").at(1), 30);
  EXPECT_LT(probe({"--film", "base=0", "--shirt", "kelly-green-cotton"}).at("Lab").at(1), -20);
  // Under an opaque solid the shirt hardly matters; under red on bare cloth it does.
  EXPECT_LT(std::abs(lightness({"--film", "base=100"}) -
                     lightness({"--film", "base=100", "--shirt", "white-cotton"})),
            20);
  EXPECT_GT(lightness({"--film", "red=100", "--shirt", "white-cotton"}),
            lightness({"--film", "red=100"}) + 5);
}

// Under a lamp with more red in it a red surface is lighter than white's share, a blue one darker.
TEST_F(Probe, LightChangesColoursAsTheLampsSpectrumSays) {
  const auto l = [&](const char* shirt, const char* light) {
    return lightness({"--film", "base=0", "--shirt", shirt, "--light", light});
  };
  EXPECT_GT(l("red-cotton", "A"), l("red-cotton", "D50") + 1);
  EXPECT_GT(l("red-cotton", "D50"), l("red-cotton", "D65"));
  EXPECT_LT(l("royal-cotton", "A"), l("royal-cotton", "D50") - 1);
  EXPECT_LT(l("royal-cotton", "D50"), l("royal-cotton", "D65"));
  EXPECT_EQ(probe({"--film", "base=0", "--light", "A"}).at("light"), "A");
  EXPECT_EQ(probe({"--film", "base=0", "--light", "led-b3"}).at("light"), "LED-B3");
  // Reflectance does not depend on the light.
  EXPECT_EQ(probe({"--film", "base=70", "--light", "A"}).at("reflectance"),
            probe({"--film", "base=70", "--light", "F11"}).at("reflectance"));
}

TEST_F(Probe, SurfaceLightMayBeLeftOut) {
  const std::vector<std::string> solid{"--film", "base=100,red=100"};
  const double with = lightness(solid);
  write("scene.toml",
        changed(scene_text("black-cotton", {{"base", "base-white", "flash = true"}, {"red", "red"}}),
                "[[plate]]", "[view]\nsurface = false\n[[plate]]"));
  EXPECT_LT(lightness(solid), with - 1);
}

// A place inside a tint is that tint: row 40 of red is 40/60 on film, code 170 of 255.
TEST_F(Probe, APlaceReadsAsTheFilmThatLiesThere) {
  const nlohmann::json at = probe({"--at", "5.2,10.287"});
  EXPECT_NEAR(at.at("plates").at(0).at("film_percent"), 100, 1e-9);
  EXPECT_NEAR(at.at("plates").at(1).at("film_percent"), 100 * 170 / 255.0, 1e-9);
  const nlohmann::json film = probe({"--film", "base=100,red=66.6666667"});
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(at.at("Lab").at(i), film.at("Lab").at(i), 0.01);
    EXPECT_NEAR(at.at("XYZ").at(i), film.at("XYZ").at(i), 0.01);
  }
  EXPECT_NEAR(at.at("ink_build_um"), film.at("ink_build_um"), 0.01);
}

TEST_F(Probe, UnitsOfAPointMayBeMixed) {
  const nlohmann::json mm = probe({"--at", "12.7,10.16"});
  EXPECT_EQ(probe({"--at", "0.5in,10.16mm"}).at("Lab"), mm.at("Lab"));
  EXPECT_EQ(probe({"--at", "36pt, 1.016cm"}).at("Lab"), mm.at("Lab"));
}

// A scene may come after the options, also after one that takes a list.
TEST_F(Probe, OptionsMayComeFirst) {
  EXPECT_EQ(json_of({"probe", "--json", "--film", "base=100,red=50", scene_}).at("Lab"),
            probe({"--film", "base=100", "--film", "red=50"}).at("Lab"));
  EXPECT_EQ(
      run_kirtle({"probe", "--film", "base=1", "--data", KIRTLE_TEST_DATA "/demo_materials", scene_}).status,
      0);
}

TEST_F(Probe, DischargeCarriesItsCaution) {
  plate("base.png", 80, 60, 100, [](int, int) { return 1.0; });
  write("scene.toml", scene_text("black-cotton", {{"base", "discharge-clear"}}));
  const ProgramRun run = run_kirtle({"probe", scene_, "--film", "base=100"});
  EXPECT_THAT(run.out, AllOf(HasSubstr("formaldehyde"), HasSubstr("safety data sheet"),
                             HasSubstr("wash before wear")));
}

TEST_F(Probe, InksOutsideTheModelSayThatTheyAreNotPredicted) {
  write("scene.toml", scene_text("black-cotton", {{"base", "silver-metallic"}, {"red", "red"}}));
  EXPECT_EQ(probe({"--printed", "base=100"}).at("not_predicted"), true);
  EXPECT_EQ(probe({"--printed", "red=100"}).at("not_predicted"), false);
  EXPECT_THAT(run_kirtle({"probe", scene_, "--printed", "base=100"}).out, HasSubstr("NOT PREDICTED"));
  const ProgramRun picture = run_kirtle({"predict", scene_, "-o", path("print.png")});
  EXPECT_THAT(picture.out, HasSubstr("not predicted: Silver"));
}

}  // namespace
}  // namespace kirtle::test
