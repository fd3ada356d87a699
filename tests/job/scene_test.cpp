// Scenes: what a full one gives, the short form, overrides, all faults at once.
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

TEST_F(Scenes, EveryKeyArrives) {
  const Scene s = read(R"(schema = 1
title = "Moth"
note = "invented"
shirt = "forest-green-cotton"
other_shirts = ["black-cotton", "navy-cotton"]
ppi = 300
[view]
light = "D65"
observer = 10
surface = false
[dryer]
steps = [{ temperature = "150 C", seconds = 30 }, { temperature = "320 F", seconds = "1.5 min" }]
[discharge]
pot_hours = 2
pot_life_hours = 6
kr_per_s = 10
kd_per_s = 0.03
ea_r_kj_mol = 61
ea_d_kj_mol = 91
t_ref = "150 C"
[press]
preset = "manual-micros"
wet_trapping = 0.7
wet_pickup = 0.05
[model]
yule_nielsen_n = 2
[[plate]]
name = "cream"
file = "a.png"
ink_is = "dark"
customer_ink = "the light one"
[[plate]]
name = "brown"
file = "b.png"
ink_is = "light"
[[pass]]
plate = "brown"
ink = "wb-dark-brown"
mesh = "156/in"
lpi = 45
angle = 22.5
dot = "elliptical"
strokes = 2
flash = true
cool_down = true
transfer = 0.6
ink_spread_um = "0.03 mm"
steps = [[5, 9], [50, 70], [95, 99]]
curve_on_film = "output"
offset = ["0.1 mm", "1/64 in"]
turn_deg = 0.05
stretch_percent = [0.1, -0.2]
[[pass]]
plate = "cream"
ink = "discharge-cream"
mesh = { count = "109/in", thread_um = 80, fabric_um = "0.13 mm" }
wet_deposit_um = 40
)");
  EXPECT_EQ(s.title, "Moth");
  EXPECT_EQ(s.note, "invented");
  EXPECT_EQ(s.shirt.id, "forest-green-cotton");
  ASSERT_EQ(s.other_shirts.size(), 2u);
  EXPECT_EQ(s.other_shirts[1].id, "navy-cotton");
  EXPECT_EQ(s.ppi, 300);
  EXPECT_EQ(s.light, "D65");
  EXPECT_EQ(s.observer, Observer::cie1964_10deg);
  EXPECT_FALSE(s.surface_light);
  ASSERT_EQ(s.discharge.dryer.size(), 2u);
  EXPECT_NEAR(s.discharge.dryer[1].celsius, 160, 1e-9);
  EXPECT_NEAR(s.discharge.dryer[1].seconds, 90, 1e-9);
  EXPECT_EQ(s.discharge.pot_hours, 2);
  EXPECT_EQ(s.discharge.pot_life_hours, 6);
  EXPECT_EQ(s.discharge.kr_per_s, 10);
  EXPECT_EQ(s.discharge.kd_per_s, 0.03);
  EXPECT_EQ(s.discharge.ea_r_kj_mol, 61);
  EXPECT_EQ(s.discharge.ea_d_kj_mol, 91);
  EXPECT_EQ(s.discharge.t_ref_celsius, 150);
  EXPECT_EQ(s.press.preset.id, "manual-micros");
  EXPECT_EQ(s.press.preset.pair_sigma.v, 0.13);
  EXPECT_EQ(s.press.wet_trapping, 0.7);
  EXPECT_EQ(s.press.wet_pickup, 0.05);
  EXPECT_EQ(s.yule_nielsen_n, 2);
  ASSERT_EQ(s.plates.size(), 2u);
  EXPECT_EQ(s.plates[0].name, "cream");
  EXPECT_EQ(s.plates[0].customer_ink, "the light one");
  EXPECT_EQ(s.plates[0].file, folder_.path() / "a.png");
  EXPECT_EQ(s.plates[1].polarity, Polarity::light_is_ink);
  ASSERT_EQ(s.passes.size(), 2u);
  const ScenePass& p = s.passes[0];
  EXPECT_EQ(p.plate, 1) << "print order is the order of the passes";
  EXPECT_EQ(p.ink.id, "wb-dark-brown");
  EXPECT_EQ(p.mesh.id, "61-64");
  EXPECT_EQ(p.halftone.lpi, 45);
  EXPECT_EQ(p.halftone.shape, DotShape::elliptical);
  EXPECT_EQ(p.strokes, 2);
  EXPECT_TRUE(p.flash_after);
  EXPECT_TRUE(p.cool_down);
  EXPECT_EQ(p.transfer, 0.6);
  EXPECT_NEAR(p.ink_spread->v, 30, 1e-9);
  EXPECT_THAT(p.steps->asked, ElementsAre(0, 0.05, 0.5, 0.95, 1));
  EXPECT_THAT(p.steps->printed, ElementsAre(0, 0.09, 0.7, 0.99, 1));
  EXPECT_EQ(p.curve, CurveAt::output);
  EXPECT_NEAR(p.offset.dx.v, 0.1, 1e-12);
  EXPECT_NEAR(p.offset.dy.v, 25.4 / 64, 1e-12);
  EXPECT_EQ(p.offset.turn_deg, 0.05);
  EXPECT_NEAR(p.offset.stretch_x, 0.001, 1e-15);
  EXPECT_NEAR(p.offset.stretch_y, -0.002, 1e-15);
  EXPECT_EQ(s.passes[1].plate, 0);
  EXPECT_NEAR(s.passes[1].mesh.threads_per_cm, 109 / 2.54, 1e-9);
  EXPECT_NEAR(s.passes[1].mesh.fabric_thickness.v, 130, 1e-9);
  EXPECT_EQ(s.passes[1].wet_deposit->v, 40);
  EXPECT_THAT(s.notes, IsEmpty());
  EXPECT_THAT(s.assumed, Contains("pass[2].lpi"));
  EXPECT_THAT(s.assumed, Not(Contains("pass[1].lpi")));
}

TEST_F(Scenes, ShortFormAndDefaults) {
  const Scene s = read(
      kTop + kPlate + "ink = \"base-white\"\nmesh = \"43-80\"\nflash = true\n" +
      "[[plate]]\nname = \"two\"\nfile = \"b.png\"\nink_is = \"dark\"\nink = \"red\"\nmesh = \"90-48\"\n");
  ASSERT_EQ(s.passes.size(), 2u);
  EXPECT_EQ(s.passes[0].plate, 0);
  EXPECT_EQ(s.passes[1].plate, 1);
  EXPECT_TRUE(s.passes[0].flash_after);
  EXPECT_EQ(s.passes[1].ink.id, "red");
  // Defaults: 22.5 degrees for every plate is the norm on garments (common practice, no source).
  EXPECT_EQ(s.passes[1].halftone.angle_deg, 22.5);
  EXPECT_EQ(s.passes[1].halftone.lpi, 55);
  EXPECT_EQ(s.passes[1].halftone.shape, DotShape::round);
  EXPECT_EQ(s.passes[1].transfer, 0.7);
  EXPECT_EQ(s.passes[1].strokes, 1);
  EXPECT_FALSE(s.passes[1].ink_spread.has_value());
  EXPECT_EQ(s.light, "D50");
  EXPECT_EQ(s.observer, Observer::cie1931_2deg);
  EXPECT_EQ(s.press.preset.id, "average-automatic");
  EXPECT_THAT(s.assumed,
              ElementsAre("dryer", "plate[1].lpi", "plate[1].angle", "plate[1].dot", "plate[1].transfer",
                          "plate[2].lpi", "plate[2].angle", "plate[2].dot", "plate[2].transfer", "press"));
}

TEST_F(Scenes, OptionsWin) {
  SceneOptions options;
  options.light = "F11";
  options.shirt = "white-cotton";
  const Scene s = read(kTop + "[view]\nlight = \"A\"\n" + kPlate + kPass, options);
  EXPECT_EQ(s.light, "F11");
  EXPECT_EQ(s.shirt.id, "white-cotton");
  options.light = "F13";
  options.shirt = "wite-cotton";
  EXPECT_THAT(
      faults(kTop + kPlate + kPass, options),
      ElementsAre("0:0 there is no shirt \"wite-cotton\" | did you mean \"white-cotton\"?",
                  "0:0 the light asked for is \"F13\", which is no known light | name one of D50, D65, "
                  "A, F1, F2, F3, F4, F5, F6, F7, F8, F9, F10, F11, F12, LED-B3"));
  // A word of an id, too far from all of them to be a slip of the pen.
  options.light = "F11";
  options.shirt = "navy";
  EXPECT_THAT(
      faults(kTop + kPlate + kPass, options),
      ElementsAre("0:0 there is no shirt \"navy\" | did you mean \"navy-blend\" or \"navy-cotton\"?"));
}

TEST_F(Scenes, OwnFoldersComeFirst) {
  folder_.write("mine/presses/average-automatic.toml",
                "schema = 1\nid = \"average-automatic\"\nname = \"ours\"\npair_sigma_mm = 0.11\nheads = "
                "8\n[provenance]\nstatus = "
                "\"measured\"\nsource = \"test\"\n");
  EXPECT_EQ(read("data = [\"mine\"]\n" + kTop + kPlate + kPass).press.preset.pair_sigma.v, 0.11);
  EXPECT_EQ(read(kTop + kPlate + kPass).press.preset.pair_sigma.v, 0.08);
  SceneOptions options;
  options.data_folders = {folder_.path() / "mine"};
  EXPECT_EQ(read(kTop + kPlate + kPass, options).press.preset.pair_sigma.v, 0.11);
  EXPECT_THAT(faults("data = [\"their\"]\n" + kTop + kPlate + kPass),
              ElementsAre("1:9 there is no folder /their | data names folders that hold inks/, shirts/, "
                          "meshes/ or presses/, seen "
                          "from the scene's own folder"));
}

TEST_F(Scenes, EveryFaultOfEveryFileAtOnce) {
  folder_.write("mine/inks/bad.toml",
                "schema = 1\nid = \"bad\"\nname = \"bad\"\nfamily = \"plastisol\"\nsoak = "
                "-1\n[provenance]\nstatus = \"invented\"\nsource "
                "= \"x\"\n[optics]\nwavelength_nm = [400, 700]\nK_per_um = [1, nan]\nS_per_um = [1, 1]\n");
  EXPECT_THAT(
      faults(R"(data = ["mine"]
schema = 1
titel = "t"
shirt = "blck-cotton"
[view]
observer = 3
[[plate]]
name = "one"
file = "gone.png"
ink_is = "drak"
[[pass]]
plate = "two"
ink = "bad"
mesh = "43-81"
lpi = inf
strokes = 5
offset = ["1 ft", 0]
)"),
      ElementsAre(
          "1:1 \"title\" is missing; it must be text in quotes | add the key",
          "3:1 unknown key \"titel\" | did you mean \"title\"?",
          HasSubstr("4:9 there is no shirt \"blck-cotton\" | did you mean \"black-cotton\"?"),
          "6:12 view.observer is 3; it must be 2 or 10 (degrees)",
          "9:8 there is no plate /gone.png | check the path; it is seen from the scene's own folder",
          "10:10 plate[1].ink_is is \"drak\"; it must be one of \"dark\", \"light\" | did you mean \"dark\"?",
          "12:9 pass[1].plate is \"two\"; no plate has that name | plates of this scene: one",
          "14:8 there is no mesh \"43-81\" | did you mean \"43-80\"?",
          "15:7 pass[1].lpi is inf; it must be a number, 5..200",
          "16:11 pass[1].strokes is 5; it must be a whole number, 1..4",
          "17:11 pass[1].offset[0] is \"1 ft\"; it must be a number in mm, or text with a unit (um, mm, cm, "
          "in or "
          "pt), such as \"0.3 mm\"",
          "5:8 soak is -1; it must be a number, 0..1",
          "11:16 optics.K_per_um[1] (700 nm) is nan; it must be a number, >= 0 | neither K nor S can be "
          "negative: "
          "likely the readings over black and over white do not belong together"));
}

TEST_F(Scenes, ErrorTextNamesFileLineColumnAndRemedy) {
  const std::filesystem::path file =
      folder_.write("scene.toml", kTop + kPlate + "ink = \"base-whit\"\nmesh = \"43-80\"\n");
  try {
    read_scene(file);
    FAIL();
  } catch (const InputError& e) {
    EXPECT_EQ(
        std::string(e.what()),
        file.string() + ":8:7: error: there is no ink \"base-whit\"\n  fix: did you mean \"base-white\"?");
  }
}

TEST_F(Scenes, RepeatedShirtIsAFault) {
  EXPECT_THAT(
      faults(kTop + "other_shirts = [\"navy-cotton\", \"navy-cotton\"]\n" + kPlate + kPass),
      ElementsAre(
          "4:32 other_shirts[1] is \"navy-cotton\", which stands in the list already | name it once"));
}

TEST_F(Scenes, AdviceIsNoError) {
  const Scene s = read("schema = 1\ntitle = \"t\"\nshirt = \"purple-cotton\"\n" + kPlate +
                       "[[plate]]\nname = \"idle\"\nfile = \"b.png\"\nink_is = \"dark\"\n"
                       "[[pass]]\nplate = \"one\"\nink = \"discharge-clear\"\nmesh = \"43-80\"\n");
  ASSERT_EQ(s.notes.size(), 2u);
  EXPECT_EQ(s.notes[0].message,
            "shirt \"purple-cotton\" is graded 2 of 5 for discharge, and an ink of the scene discharges");
  EXPECT_EQ(s.notes[0].remedy, "test-print this dye lot before the run");
  EXPECT_EQ(s.notes[1].message, "plate \"idle\" is printed by no pass");
  EXPECT_EQ(s.notes[0].severity, Severity::warning);
}

TEST_F(Scenes, MissingSceneFile) {
  try {
    read_scene(folder_.path() / "none.toml");
    FAIL();
  } catch (const InputError& e) {
    EXPECT_EQ(std::string(e.what()), (folder_.path() / "none.toml").string() +
                                         ": error: there is no such file\n  fix: check the path");
  }
}

}  // namespace
}  // namespace kirtle
