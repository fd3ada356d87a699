// [press] of a scene: what it reads, what it refuses, what it asks of the press.
#include "job/press_plan.h"
#include "job/scene_fixture.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::kPass;
using test::kPlate;
using test::kTop;
using test::Scenes;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

const std::string kTwo = kTop + kPlate + kPass + kPass;

TEST_F(Scenes, PressSettingsAreRead) {
  const Scene s =
      read(kTop +
           "[press]\npreset = \"worn-automatic\"\nheads = 14\nflashes = 3\npallets = 16\n"
           "revolutions = 2\nholds = \"1/64 in\"\nseed = 7\n"
           "bad_pallet = { number = 16, offset = [\"0.3 mm\", -0.1] }\n" +
           kPlate + kPass + "flash = true\nflash_shrink_percent = 0.2\noffset = [0.1, 0]\n" + kPass);
  EXPECT_TRUE(s.press.named);
  EXPECT_EQ(s.press.preset.id, "worn-automatic");
  EXPECT_EQ(s.press.preset.heads, 14);
  EXPECT_EQ(s.press.preset.flashes, 3);
  EXPECT_EQ(s.press.preset.pallets, 16);
  EXPECT_EQ(s.press.revolutions, 2);
  EXPECT_NEAR(s.press.holds->v, 25.4 / 64, 1e-12);
  EXPECT_EQ(s.press.seed, 7u);
  ASSERT_TRUE(s.press.bad_pallet.has_value());
  EXPECT_EQ(s.press.bad_pallet->from_pass, 1) << "all but the first";
  EXPECT_EQ(s.passes[0].flash_shrink, 0.002);

  const RegisterModel m = register_model(s);
  EXPECT_NEAR(m.pair_sigma.v, 25.4 / 64 / 2.5, 1e-12);
  EXPECT_EQ(m.setup_sigma.v, 0);
  EXPECT_EQ(m.seed, 7u);
  EXPECT_EQ(m.pallets, 16);
  ASSERT_EQ(m.passes.size(), 2u);
  EXPECT_EQ(m.passes[0].setup.dx.v, 0.1);
  EXPECT_EQ(m.passes[0].flash_shrink, 0.002);
  EXPECT_EQ(m.passes[1].screen, m.passes[0].screen) << "one plate, mesh and ink";
  ASSERT_EQ(m.pallet_biases.size(), 1u);
  EXPECT_EQ(m.pallet_biases[0].dy.v, -0.1);
  EXPECT_NO_THROW(RegisterRun{m});
}

TEST_F(Scenes, PressDefaults) {
  const Scene s = read(kTwo);
  EXPECT_FALSE(s.press.named);
  EXPECT_EQ(s.press.revolutions, 1);
  EXPECT_FALSE(s.press.holds.has_value());
  EXPECT_FALSE(s.press.bad_pallet.has_value());
  const RegisterModel m = register_model(s);
  EXPECT_EQ(m.pair_sigma.v, s.press.preset.pair_sigma.v);
  EXPECT_EQ(m.setup_sigma.v, 0) << "set-up is as the passes give it";
  EXPECT_EQ(m.pallets, s.press.preset.pallets);
  const RegisterModel drawn = register_model(read(kTop + "[press]\ndraw_setup = true\n" + kPlate + kPass));
  EXPECT_EQ(drawn.setup_sigma.v, s.press.preset.setup_sigma.v);
}

TEST_F(Scenes, PressFaults) {
  const auto of = [&](const std::string& keys) {
    return faults(kTop + "[press]\n" + keys + kPlate + kPass + kPass);
  };
  EXPECT_THAT(of("heads = 0\nrevolutions = 3\nholds = \"13 mm\"\nseed = -1\n"),
              ElementsAre("5:9 press.heads is 0; it must be a whole number, 1..30",
                          "6:15 press.revolutions is 3; it must be a whole number, 1..2",
                          "7:9 press.holds is \"13 mm\" (13 mm); it must be 0..12.5 mm",
                          "8:8 press.seed is -1; it must be a whole number, 0..2000000000"));
  EXPECT_THAT(
      of("holds = 0.2\ndraw_setup = true\n"),
      ElementsAre("6:14 press.draw_setup is true beside holds, which stands for all that moves, set-up "
                  "included | keep one of the two"));
  EXPECT_THAT(
      of("pallets = 8\nbad_pallet = { number = 9, offset = [0.3] }\n"),
      ElementsAre("6:25 press.bad_pallet.number is 9; it must be a whole number, 1..8",
                  "6:37 press.bad_pallet.offset is a list of 1; it must be a list of 2 lengths, right and "
                  "down"));
  EXPECT_THAT(
      of("bad_pallet = { number = 1, offset = [0.3, 0], from_pass = 3 }\n"),
      ElementsAre("5:59 press.bad_pallet.from_pass is 3, and the scene prints 2 passes | number passes from "
                  "1, in print order"));
  EXPECT_THAT(faults(kTop + "[press]\nbad_pallet = { number = 1, offset = [0.3, 0] }\n" + kPlate + kPass),
              ElementsAre(HasSubstr("press.bad_pallet.from_pass is 2, and the scene prints 1 pass")));
  EXPECT_THAT(faults(kTwo + "flash_shrink_percent = 0.2\n"),
              ElementsAre(HasSubstr("pass[2].flash_shrink_percent is given, but the pass is not flashed")));
}

std::string passes(int n) {
  std::string text = kPlate;
  for (int i = 0; i < n; ++i) text += kPass + (i == 0 ? "flash = true\ncool_down = true\n" : "");
  return text;
}

TEST_F(Scenes, ANinthStationOnEightHeadsIsRefused) {
  const std::string eight = kTop + "[press]\nheads = 8\n";
  EXPECT_THAT(faults(eight + passes(6)), IsEmpty());
  EXPECT_THAT(
      faults(eight + passes(7)),
      ElementsAre(HasSubstr("the job needs 9 stations (7 ink passes, 1 flash, 1 cool-down) and 1 flash unit; "
                            "press \"average-automatic\" has 8 heads")));
  EXPECT_THAT(faults(kTop + "[press]\nheads = 8\nrevolutions = 2\n" + passes(7)), IsEmpty());
}

TEST_F(Scenes, APressThatWasOnlyAssumedWarns) {
  const Scene s = read(kTop + passes(11));
  ASSERT_EQ(s.notes.size(), 1u);
  EXPECT_EQ(s.notes[0].severity, Severity::warning);
  EXPECT_THAT(s.notes[0].message, HasSubstr("the job needs 13 stations"));
  EXPECT_THAT(s.notes[0].remedy, HasSubstr("say in [press] which press prints it; "));
}

}  // namespace
}  // namespace kirtle
