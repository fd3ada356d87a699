// What inks, base, shirt and press say: each finding triggered, and just not. Limits: common practice, no
// source, unless said.
#include "check/job_fixture.h"
#include "screen/deposit.h"

namespace kirtle::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

class CheckInks : public Jobs {
 protected:
  const Film square_ = box(5, 5, 35, 35);
};

TEST_F(CheckInks, TwoSolidsPiledUpAreOverTheWetLoad) {
  // Solid dark on solid light, both 43-80: twice transfer times open area times thickness of the fabric, 78.
  plate("cream", square_);
  plate("brown", box(10, 10, 30, 30));
  const std::string passes =
      pass("cream", "discharge-cream", {}, "43-80") + pass("brown", "wb-dark-brown", {}, "43-80");
  ASSERT_FOUND(f, check("forest-green-cotton", passes), "wet-load");
  EXPECT_NEAR(f->number, 78, 1.5);
  EXPECT_EQ(f->limit, 70);
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_THAT(f->plates, ElementsAre("cream", "brown"));
  EXPECT_THAT(f->provenance, HasSubstr("placeholder"));
  EXPECT_THAT(f->remedy, HasSubstr("knock the light out"));
  EXPECT_NEAR(f->at->x.v, 20, 11);
  EXPECT_NOT_FOUND(f_report, "piled-solids");  // the same pile, told once

  // The shop's own limit.
  CheckSettings shop;
  shop.wet_limit_cm3_m2 = 80;
  EXPECT_NOT_FOUND(check("forest-green-cotton", passes, shop), "wet-load");
  EXPECT_NOT_FOUND(check("forest-green-cotton", "[compare]\nwet_limit_cm3_m2 = 80\n" + passes), "wet-load");

  // Knocked out but for a rim of .3 mm.
  plate("cream", less(square_, box(10.3, 10.3, 29.7, 29.7)));
  EXPECT_NOT_FOUND(check("forest-green-cotton", passes), "wet-load");
}

TEST_F(CheckInks, SolidUnderASolidThatHidesIt) {
  plate("yellow", square_);
  plate("black", box(10, 10, 30, 30));
  const std::string passes = pass("yellow", "golden-yellow") + pass("black", "black");
  ASSERT_FOUND(f, check("white-cotton", passes), "piled-solids");
  EXPECT_THAT(f->plates, ElementsAre("yellow", "black"));
  EXPECT_NEAR(f->number, 400, 40);
  plate("yellow", less(square_, box(10.3, 10.3, 29.7, 29.7)));
  EXPECT_NOT_FOUND(check("white-cotton", passes), "piled-solids");
}

TEST_F(CheckInks, SolidsThatMixAreNotPiledUp) {
  plate("yellow", square_);
  plate("blue", box(10, 10, 30, 30));
  EXPECT_NOT_FOUND(check("white-cotton", pass("yellow", "wb-yellow") + pass("blue", "wb-blue")),
                   "piled-solids");
}

TEST_F(CheckInks, WetOverlapOver200PerCent) {
  for (const char* name : {"a", "b", "c"}) plate(name, square_);
  const auto passes = [](const std::string& flash) {
    return pass("a", "wb-yellow", {}, "120-34") + pass("b", "wb-red", flash, "120-34") +
           pass("c", "wb-blue", {}, "120-34");
  };
  ASSERT_FOUND(f, check("white-cotton", passes("")), "wet-overlap");
  EXPECT_NEAR(f->number, 300, 1);
  EXPECT_EQ(f->limit, 200);
  EXPECT_THAT(f->passes, ElementsAre(1, 2, 3));
  EXPECT_NOT_FOUND(check("white-cotton", passes("flash = true")), "wet-overlap");
  plate("c", box(0, 0, 4, 4));  // 200 % and no more
  EXPECT_NOT_FOUND(check("white-cotton", passes("")), "wet-overlap");
}

TEST_F(CheckInks, InkBuildOfPlastisol) {
  plate("white", square_);
  plate("red", square_);
  const auto passes = [](int um) {
    const std::string wet = "wet_deposit_um = " + std::to_string(um) + "\n";
    return pass("white", "base-white", wet + "flash = true") + pass("red", "red", wet);
  };
  ASSERT_FOUND(f, check("black-cotton", passes(130)), "ink-build");
  EXPECT_GT(f->number, 200);
  EXPECT_LT(f->number, 260);
  EXPECT_EQ(f->limit, 200);
  EXPECT_NOT_FOUND(check("black-cotton", passes(95)), "ink-build");
}

/// Strokes .5 mm wide, or narrower by a choke on either side, beside a solid.
Film strokes(double choke) {
  std::vector<Film> parts{box(5 + choke, 25 + choke, 35 - choke, 35 - choke)};
  for (int i = 0; i < 5; ++i)
    parts.push_back(box(5 + choke, 5 + 3 * i + choke, 35 - choke, 5.5 + 3 * i - choke));
  return sum(parts);
}

TEST_F(CheckInks, BaseEatsType) {
  const std::string passes = pass("base", "base-white", "flash = true") + pass("red", "red");
  plate("red", strokes(0));
  plate("base", strokes(0.15));
  ASSERT_FOUND(f, check("black-cotton", passes), "base-eats-type");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);  // all of the strokes
  EXPECT_NEAR(f->number, 0.2, 0.042);                  // half a pixel
  EXPECT_THAT(f->plates, ElementsAre("base", "red"));
  // Choked but for the strokes under .7 mm.
  std::vector<Film> kept{box(5.15, 25.15, 34.85, 34.85)};
  for (int i = 0; i < 5; ++i) kept.push_back(box(5, 5 + 3 * i, 35, 5.5 + 3 * i));
  plate("base", sum(kept));
  EXPECT_NOT_FOUND(check("black-cotton", passes), "base-eats-type");
}

TEST_F(CheckInks, BaseWiderThanItsTops) {
  const std::string passes = pass("base", "base-white", "flash = true\nink_spread_um = 45") +
                             pass("red", "red", "ink_spread_um = 45");
  plate("red", square_);
  const auto base = [&](double choke) {
    plate("base", box(5 + choke, 5 + choke, 35 - choke, 35 - choke));
    return check("black-cotton", passes);
  };
  ASSERT_FOUND(wide, base(-0.12), "base-shows");
  EXPECT_EQ(wide->severity, FindingSeverity::sent_back);
  EXPECT_NEAR(wide->number, -0.12, 0.02);
  ASSERT_FOUND(flush, base(0), "base-shows");
  EXPECT_EQ(flush->severity, FindingSeverity::caution);
  EXPECT_NOT_FOUND(base(0.15), "base-shows");
}

TEST_F(CheckInks, BaseLeftBareOnPurposeIsNoRim) {
  // White art: the base itself, with a red square somewhere on it.
  plate("base", square_);
  plate("red", box(10, 10, 20, 20));
  EXPECT_NOT_FOUND(check("black-cotton", pass("base", "base-white", "flash = true") + pass("red", "red")),
                   "base-shows");
}

TEST_F(CheckInks, LetteringFromTheBasePlateIsNoRim) {
  // Half a pixel of 300 per inch more or less: edges between pixels were taken for edges of tops out of
  // reach.
  const auto letters = [](double from) {
    std::vector<Film> parts;
    for (int i = 0; i < 6; ++i)
      for (int k = 0; k < 3; ++k)
        parts.push_back(box(5 + 5.03 * i, from + 4.02 * k, 8.4 + 5.03 * i, from + 2.5 + 4.02 * k));
    return sum(parts);
  };
  const std::string passes = pass("base", "base-white", "flash = true\nink_spread_um = 45") +
                             pass("red", "red", "ink_spread_um = 45");
  plate("base", sum({box(5.15, 5.15, 34.85, 17.85), letters(22)}));
  plate("red", box(5, 5, 35, 18));
  const CheckReport report = check("black-cotton", passes);
  EXPECT_NOT_FOUND(report, "base-shows");
  const Finding* bare = find(report, "bare-base");
  ASSERT_NE(bare, nullptr) << ::testing::PrintToString(kinds(report));
  EXPECT_EQ(bare->severity, FindingSeverity::advice);
  // Pixels less than half covered are left out: at most half a pixel all round.
  EXPECT_NEAR(bare->number, 18 * 3.4 * 2.5, 18 * 2 * (3.4 + 2.5) * 0.5 * kMmPerInch / 300);
  EXPECT_GT(bare->at->y.v, 20);
  EXPECT_THAT(bare->what, HasSubstr("is that meant?"));
  // A base that sticks out by a rim is told as that alone.
  plate("base", box(4.7, 4.7, 35.3, 18.3));
  const CheckReport rim = check("black-cotton", passes);
  EXPECT_NE(find(rim, "base-shows"), nullptr);
  EXPECT_NOT_FOUND(rim, "bare-base");
  // Under a tint, the base is not bare.
  plate("base", box(5.15, 5.15, 34.85, 34.85));
  plate("red", sum({box(5, 5, 35, 18), tint(box(5, 18, 35, 35), 0.3)}));
  EXPECT_NOT_FOUND(check("black-cotton", passes), "bare-base");
}

// Red loses less than 20 of lightness on black, and yet it is another colour there.
TEST_F(CheckInks, RedStraightOnBlackIsTold) {
  plate("red", square_);
  plate("base", box(5.15, 5.15, 34.85, 34.85));
  for (const char* ink : {"red", "scarlet"}) {
    ASSERT_FOUND(f, check("black-cotton", pass("red", ink, {}, "90-48")), "no-base");
    EXPECT_EQ(f->severity, FindingSeverity::caution);
    EXPECT_EQ(f->unit, "dE00");
    EXPECT_GT(f->number, 10);
    EXPECT_EQ(f->limit, 10);
    EXPECT_THAT(f->what, HasSubstr("with no base"));
    EXPECT_NOT_FOUND(check("white-cotton", pass("red", ink, {}, "90-48")), "no-base");
    EXPECT_NOT_FOUND(
        check("black-cotton", pass("base", "base-white", "flash = true") + pass("red", ink, {}, "90-48")),
        "no-base");
  }
  // Inks that do without a base.
  for (const char* ink : {"black", "navy"})
    EXPECT_NOT_FOUND(check("black-cotton", pass("red", ink, {}, "90-48")), "no-base");
}

TEST_F(CheckInks, TranslucentInkOnDarkClothWantsABase) {
  plate("yellow", square_);
  plate("base", box(5.15, 5.15, 34.85, 34.85));
  ASSERT_FOUND(f, check("black-cotton", pass("yellow", "lemon-yellow")), "no-base");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_GT(f->number, 20);
  EXPECT_NOT_FOUND(check("white-cotton", pass("yellow", "lemon-yellow")), "no-base");
  EXPECT_NOT_FOUND(
      check("black-cotton", pass("base", "base-white", "flash = true") + pass("yellow", "lemon-yellow")),
      "no-base");
  EXPECT_NOT_FOUND(check("black-cotton", pass("yellow", "base-white", {}, "43-80")), "no-base");
  // A base pulled back to a tint is there on purpose.
  plate("base", tint(box(5.15, 5.15, 34.85, 34.85), 0.3));
  EXPECT_NOT_FOUND(
      check("black-cotton", pass("base", "base-white", "flash = true") + pass("yellow", "lemon-yellow")),
      "no-base");
}

TEST_F(CheckInks, ShirtsThatDoNotDischarge) {
  plate("clear", square_);
  const auto on = [&](const std::string& shirt, const std::string& mesh = "43-80") {
    return check(shirt, pass("clear", "discharge-clear", {}, mesh));
  };
  for (const char* shirt : {"kelly-green-cotton", "purple-cotton", "black-polyester", "navy-blend"}) {
    ASSERT_FOUND(f, on(shirt), "no-discharge");
    EXPECT_EQ(f->severity, FindingSeverity::sent_back) << shirt;
  }
  EXPECT_NOT_FOUND(on("black-cotton"), "no-discharge");         // graded 5
  EXPECT_NOT_FOUND(on("forest-green-cotton"), "no-discharge");  // graded 5
  EXPECT_NOT_FOUND(on("white-cotton"), "no-discharge");         // nothing to take out
  // A mesh that lays down too little agent.
  ASSERT_FOUND(weak, on("black-cotton", "120-34"), "no-discharge");
  EXPECT_LT(weak->number, 70);
  EXPECT_THAT(weak->remedy, HasSubstr("coarser mesh"));
  EXPECT_NOT_FOUND(on("black-cotton", "61-64"), "no-discharge");
  // The order's other shirts are looked at, too.
  CheckSettings order;
  order.more_shirts.push_back(scene("purple-cotton", pass("clear", "discharge-clear")).shirt);
  EXPECT_NE(find(check("black-cotton", pass("clear", "discharge-clear", {}, "43-80"), order), "no-discharge"),
            nullptr);
}

TEST_F(CheckInks, YouthSizesWithDischargeStopTheJob) {
  plate("clear", square_);
  const std::string discharge = pass("clear", "discharge-clear", {}, "43-80");
  CheckSettings youth;
  youth.youth_sizes = true;
  ASSERT_FOUND(f, check("black-cotton", discharge, youth), "youth-discharge");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_THAT(f->remedy, HasSubstr("safety data sheet"));
  EXPECT_NOT_FOUND(check("black-cotton", pass("clear", "base-white", {}, "43-80"), youth), "youth-discharge");
  EXPECT_NOT_FOUND(check("black-cotton", discharge), "youth-discharge");
  youth.youth_agreed = "customer and supplier, 2026-11-20";
  EXPECT_NOT_FOUND(check("black-cotton", discharge, youth), "youth-discharge");
}

TEST_F(CheckInks, DyeOfPolyesterWanders) {
  plate("white", square_);
  const std::string white = pass("white", "base-white", {}, "43-80");
  for (const char* shirt : {"black-polyester", "red-polyester", "navy-blend"}) {
    ASSERT_FOUND(f, check(shirt, white), "dye-migration");
    EXPECT_THAT(f->remedy, HasSubstr("low-cure")) << shirt;
  }
  EXPECT_NOT_FOUND(check("black-polyester", pass("white", "low-bleed-white", {}, "43-80")), "dye-migration");
  EXPECT_NOT_FOUND(check("black-cotton", white), "dye-migration");
  EXPECT_NOT_FOUND(check("ash-heather", white), "dye-migration");  // 3 % polyester, and pale
  EXPECT_NOT_FOUND(check("black-polyester", pass("white", "black", {}, "43-80")), "dye-migration");
}

TEST_F(CheckInks, SixInksWithBaseFlashAndCoolDownTakeEightStations) {
  std::string passes;
  const std::vector<std::string> inks{"base-white", "lemon-yellow", "red",
                                      "royal-blue", "turquoise",    "black"};
  for (std::size_t i = 0; i < inks.size(); ++i) {
    const std::string name(1, static_cast<char>('a' + i));
    const double x = 3 + 6 * static_cast<double>(i);
    plate(name, i == 0 ? box(3, 3, 37, 37) : box(x, 5, x + 4, 35), 200);
    passes += pass(name, inks[i], i == 0 ? "flash = true\ncool_down = true" : "");
  }
  Scene job = scene("black-cotton", passes);
  job.press.named = true;
  job.press.preset.heads = 8;
  EXPECT_NOT_FOUND(check_scene(job, {}), "stations-short");
  job.press.preset.heads = 6;
  ASSERT_FOUND(f, check_scene(job, {}), "stations-short");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_EQ(f->number, 8);
  EXPECT_EQ(f->limit, 6);
  job.press.named = false;  // an assumed press is no order
  ASSERT_FOUND(soft, check_scene(job, {}), "stations-short");
  EXPECT_EQ(soft->severity, FindingSeverity::caution);
}

TEST_F(CheckInks, ImageLargerThanThePressTakes) {
  plate("red", square_);  // 30 mm wide
  Scene job = scene("white-cotton", pass("red", "red"));
  job.press.named = true;
  job.press.preset.image_width = job.press.preset.image_height = {29.5};
  ASSERT_FOUND(f, check_scene(job, {}), "too-large");
  EXPECT_EQ(f->severity, FindingSeverity::sent_back);
  EXPECT_NEAR(f->number, 30, 0.1);
  job.press.preset.image_width = job.press.preset.image_height = {30.5};
  EXPECT_NOT_FOUND(check_scene(job, {}), "too-large");
}

TEST_F(CheckInks, OrderIsAdviceAlone) {
  plate("navy", square_);
  plate("yellow", box(10, 10, 36, 30));
  const std::string navy = pass("navy", "navy"), yellow = pass("yellow", "golden-yellow");
  ASSERT_FOUND(f, check("white-cotton", navy + yellow), "order");
  EXPECT_EQ(f->severity, FindingSeverity::advice);
  EXPECT_NOT_FOUND(check("white-cotton", yellow + navy), "order");
  // Much wet ink before little of like lightness.
  plate("red", box(10, 10, 20, 20));
  plate("green", square_);
  const std::string red = pass("red", "red"), green = pass("green", "kelly-green");
  EXPECT_NE(find(check("white-cotton", green + red), "order"), nullptr);
  EXPECT_NOT_FOUND(check("white-cotton", red + green), "order");
  // A base that is not flashed.
  plate("base", box(4, 4, 36, 36));
  const auto on_base = [&](const std::string& flash) {
    return check("black-cotton", pass("base", "base-white", flash) + yellow);
  };
  ASSERT_FOUND(wet, on_base(""), "order");
  EXPECT_THAT(wet->what, HasSubstr("flash base"));
  EXPECT_NOT_FOUND(on_base("flash = true"), "order");
}

}  // namespace
}  // namespace kirtle::test
