// Faults of plates, passes, dryer and press, word for word.
#include "job/scene_fixture.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::kPass;
using test::kPlate;
using test::kTop;
using test::Scenes;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

TEST_F(Scenes, CountOfPlates) {
  EXPECT_THAT(
      faults(kTop),
      ElementsAre("1:1 the scene has no plate; 1 to 12 are allowed | add a [[plate]] table for each plate"));
  EXPECT_THAT(faults("plate = []\n" + kTop),
              ElementsAre(HasSubstr("the scene has no plate; 1 to 12 are allowed")));
  const auto scene_of = [&](int n) {
    std::string text = kTop;
    for (int i = 0; i < n; ++i) {
      text += "[[plate]]\nname = \"p" + std::to_string(i) +
              "\"\nfile = \"a.png\"\nink_is = \"dark\"\nink = \"red\"\nmesh = \"43-80\"\n";
    }
    return text;
  };
  EXPECT_EQ(read(scene_of(1)).plates.size(), 1u);
  EXPECT_EQ(read(scene_of(12)).passes.size(), 12u);
  EXPECT_THAT(faults(scene_of(13)), ElementsAre("4:1 there are 13 of [[plate]]; at most 12 are allowed"));
}

TEST_F(Scenes, CountOfPasses) {
  EXPECT_THAT(faults("pass = []\n" + kTop + kPlate),
              ElementsAre("1:8 the scene has no pass | add a [[pass]] table"));
  EXPECT_THAT(faults(kTop + kPlate), ElementsAre(HasSubstr("\"plate[1].ink\" is missing"),
                                                 HasSubstr("\"plate[1].mesh\" is missing")));
  std::string many = kTop + kPlate;
  for (int i = 0; i < 25; ++i) many += kPass;
  EXPECT_THAT(faults(many), ElementsAre(HasSubstr("there are 25 of [[pass]]; at most 24 are allowed")));
}

TEST_F(Scenes, PlateFaults) {
  EXPECT_THAT(faults(kTop + "[[plate]]\nname = \"a=b\"\nfile = \"\"\n" + kPlate + kPlate + kPass),
              ElementsAre("4:1 \"plate[1].ink_is\" is missing; it must be one of \"dark\", \"light\" | "
                          "\"dark\" if black on the "
                          "plate prints, as on a film positive; \"light\" if white prints",
                          "5:8 plate[1].name is \"a=b\"; it must be 1 to 60 characters without \"=\" or "
                          "\",\", with no space at "
                          "either end",
                          "6:8 plate[1].file is \"\"; it must be the path of a plate's picture",
                          "12:8 plate[3].name is \"one\", which another plate has already"));
  std::filesystem::create_directory(folder_.path() / "c.png");
  EXPECT_THAT(
      faults(
          kTop +
          "[[plate]]\nname = \"c\"\nfile = \"c.png\"\nink_is = \"dark\"\nink = \"red\"\nmesh = \"43-80\"\n"),
      ElementsAre("6:8 /c.png is not an ordinary file | name a grey PNG or TIFF"));
  EXPECT_THAT(faults(kTop + kPlate + "ink = \"red\"\n" + kPass),
              ElementsAre("8:7 plate[1].ink is given, but the scene has [[pass]] tables | move ink, mesh and "
                          "the like into the "
                          "plate's [[pass]], or take every [[pass]] out"));
}

TEST_F(Scenes, MeshByCount) {
  const std::string short_form = kTop + kPlate + "ink = \"red\"\nmesh = ";
  EXPECT_EQ(read(short_form + "\"110/in\"\n").passes[0].mesh.id, "43-80");
  EXPECT_EQ(read(short_form + "\"61/cm\"\n").passes[0].mesh.id, "61-64");
  EXPECT_THAT(
      faults(short_form + "\"305/in\"\n"),
      ElementsAre(
          "9:8 plate[1].mesh is \"305/in\", and 2 known meshes have that count | name one of 120-34, 120-40 "
          "(threads per cm - thread in um)"));
  EXPECT_THAT(faults(short_form + "\"20/in\"\n"),
              ElementsAre(HasSubstr(
                  "9:8 plate[1].mesh is \"20/in\", and 0 known meshes have that count | the nearest is ")));
  for (const std::string count : {"0/cm", "-61/cm", "-0/in"})
    EXPECT_THAT(faults(short_form + '"' + count + "\"\n"),
                ElementsAre("9:8 plate[1].mesh is \"" + count +
                            "\"; a count must be above 0 | write threads to the cm or to the inch, such as "
                            "\"61/cm\" or \"156/in\""));
  EXPECT_THAT(faults(short_form + "\"1e-300/cm\"\n"), ElementsAre(HasSubstr("the nearest is 43-80")));
  EXPECT_THAT(
      faults(short_form + "43\n"),
      ElementsAre("9:8 plate[1].mesh is 43; it must be an id such as \"61-64\", a count such as "
                  "\"156/in\", or a table | write \"43/in\", which is \"17/cm\"; or \"43/cm\", if it is "
                  "to the cm"));
  EXPECT_THAT(
      faults(short_form + "\"156\"\n"),
      ElementsAre("9:8 plate[1].mesh is \"156\"; a count must say whether it is to the inch or to the cm "
                  "| write \"156/in\", which is \"61/cm\"; or \"156/cm\", if it is to the cm"));
  EXPECT_THAT(faults(short_form + "{ count = \"61/cm\", thread_um = 200, fabric_um = 300 }\n"),
              ElementsAre(HasSubstr(
                  "plate[1].mesh.thread_um is 200; at this count a thread must be thinner than 163.934 um")));
}

TEST_F(Scenes, PassFaults) {
  const auto of = [&](const std::string& keys) { return faults(kTop + kPlate + kPass + keys); };
  EXPECT_THAT(of("steps = [[5, 9], [4, 20]]\n"),
              ElementsAre("12:18 pass[1].steps[1] is [4, 20]; asked must rise from row to row "
                          "and prints must not fall"));
  EXPECT_THAT(of("steps = [[0, 5]]\n"),
              ElementsAre("12:10 pass[1].steps[0] is [0, 5]; 0 must print 0 and 100 must print 100"));
  EXPECT_THAT(
      of("steps = [[50, 101]]\n"),
      ElementsAre(
          "12:10 pass[1].steps[0] is a list of 2; it must be one pair [asked %, prints %], each 0..100"));
  EXPECT_THAT(of("steps = []\n"),
              ElementsAre("12:9 pass[1].steps is a list of 0; it must be a list of 1 to 101 pairs [asked %, "
                          "prints %], each 0..100"));
  EXPECT_THAT(of("cool_down = true\n"),
              ElementsAre("12:13 pass[1].cool_down is true, but the pass is not flashed | add flash = "
                          "true, or take cool_down out"));
  EXPECT_THAT(of("transfer = 0.2\n"),
              ElementsAre("12:12 pass[1].transfer is 0.2; it must be a number, 0.3..1"));
  EXPECT_THAT(of("wet_deposit_um = 30\ntransfer = 0.7\n"),
              ElementsAre("13:12 pass[1].transfer is given beside wet_deposit_um, which makes it void | keep "
                          "one of the two"));
  EXPECT_THAT(
      of("offset = [0.1]\n"),
      ElementsAre("12:10 pass[1].offset is a list of 1; it must be a list of 2 lengths, right and down"));
  EXPECT_THAT(of("dot = \"rond\"\n"),
              ElementsAre("12:7 pass[1].dot is \"rond\"; it must be one of \"round\", \"elliptical\", "
                          "\"inverting\", \"line\", \"square\", \"noise\" | did you mean \"round\"?"));
  EXPECT_THAT(of("ink_spread_um = -101\n"),
              ElementsAre("12:17 pass[1].ink_spread_um is -101; it must be -100..500 um"));
  EXPECT_THAT(of("ink_spread_um = -100\n"), IsEmpty());
}

TEST_F(Scenes, DotsOfNoiseHaveASizeAndNoLines) {
  const std::string top = kTop + kPlate + kPass;
  const Scene scene = read(top + "dot = \"noise\"\ndot_size_um = \"0.12 mm\"\n");
  EXPECT_EQ(scene.passes[0].halftone.shape, DotShape::noise);
  EXPECT_NEAR(scene.passes[0].halftone.dot.v, 120, 1e-9);
  EXPECT_THAT(scene.assumed, Not(Contains("pass[1].lpi")));
  const auto of = [&](const std::string& keys) { return faults(top + keys); };
  EXPECT_THAT(of("dot = \"noise\"\n"), ElementsAre(HasSubstr("\"pass[1].dot_size_um\" is missing")));
  EXPECT_THAT(of("dot = \"noise\"\ndot_size_um = 19\n"),
              ElementsAre("13:15 pass[1].dot_size_um is 19; it must be 20..1000 um"));
  EXPECT_THAT(
      of("dot = \"noise\"\ndot_size_um = 150\nlpi = 55\nangle = 22.5\n"),
      ElementsAre("14:7 pass[1].lpi is given, but dots of noise stand in no rows | take it out, or take "
                  "another dot; the dots' size is dot_size_um",
                  "15:9 pass[1].angle is given, but dots of noise stand in no rows | take it out, or take "
                  "another dot; the dots' size is dot_size_um"));
  EXPECT_THAT(
      of("dot_size_um = 150\n"),
      ElementsAre("12:15 pass[1].dot_size_um is given, but only dots of noise have one size | say dot = "
                  "\"noise\", or take dot_size_um out: lpi and the tone make the size of other dots"));
}

TEST_F(Scenes, DryerAndModelFaults) {
  const auto of = [&](const std::string& keys) { return faults(kTop + keys + kPlate + kPass); };
  EXPECT_THAT(
      of("[dryer]\nsteps = [{ temperature = 160, seconds = 90 }]\n"),
      ElementsAre(
          "5:26 dryer.steps[1].temperature is 160; it must be text with a unit (C or F), such as \"160 C\""));
  EXPECT_THAT(of("[dryer]\nsteps = [{ temperature = \"600 F\", seconds = 0 }]\n"),
              ElementsAre("5:26 dryer.steps[1].temperature is \"600 F\" (315.556 C); it must be 20..250 C",
                          "5:45 dryer.steps[1].seconds is 0; it must be > 0 and at most 3600 s"));
  EXPECT_THAT(
      of("[dryer]\n"),
      ElementsAre("4:1 the dryer has no steps | add steps = [{ temperature = \"160 C\", seconds = 90 }]"));
  EXPECT_THAT(of("[model]\nyule_nielsen_n = 0.9\n"),
              ElementsAre("5:18 model.yule_nielsen_n is 0.9; it must be a number, 1..10"));
  EXPECT_THAT(of("[press]\npreset = \"average\"\nwet_trapping = 1.1\n"),
              ElementsAre(HasSubstr("5:10 there is no press \"average\" | "),
                          "6:16 press.wet_trapping is 1.1; it must be a number, 0..1"));
  EXPECT_THAT(of("[discharge]\npot_hours = -1\n"),
              ElementsAre("5:13 discharge.pot_hours is -1; it must be a number, 0..200"));
}

}  // namespace
}  // namespace kirtle
