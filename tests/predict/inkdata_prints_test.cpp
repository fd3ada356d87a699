// Every record that comes with Kirtle prints something sane.
#include "job/library.h"
#include "predict/predict_test.h"
#include "predict/swatch.h"

namespace kirtle::test {
namespace {

class InkdataPrints : public PredictTest {
 protected:
  void SetUp() override {
    PredictTest::SetUp();
    Diagnostics faults;
    Library library = load_library({}, faults);
    inks_ = library.all_inks(faults);
    shirts_ = library.all_shirts(faults);
    ASSERT_TRUE(faults.all().empty());
    ASSERT_GE(inks_.size(), 23u);
    ASSERT_GE(shirts_.size(), 16u);
  }

  static void expect_sane(const PointReading& r) {
    for (std::size_t i = 0; i < kBands; ++i) {
      EXPECT_GE(r.reflectance[i], 0) << i;  // NaN fails too
      EXPECT_LE(r.reflectance[i], 1) << i;
    }
    EXPECT_GE(r.lab.l, 0);
    EXPECT_LE(r.lab.l, 100);
    EXPECT_TRUE(std::isfinite(r.lab.a) && std::isfinite(r.lab.b));
    EXPECT_GE(r.ink_build_um, 0);
    EXPECT_GE(r.soaked_um, 0);
    // What is laid down dry is on top or in the cloth, and never more than was laid down wet.
    EXPECT_LE(r.ink_build_um + r.soaked_um, r.wet_load_cm3_m2 + 1e-9);
  }

  std::vector<Ink> inks_;
  std::vector<Cloth> shirts_;
};

TEST_F(InkdataPrints, EveryInkAtEveryToneOnWhiteAndBlack) {
  for (const Ink& ink : inks_) {
    SCOPED_TRACE(ink.id);
    for (const char* shirt : {"white-cotton", "black-cotton"}) {
      const Scene s = scene(shirt, {"p " + ink.id + "; mesh = \"61-64\""});
      const PrintModel model(s);
      for (const double share : {0.0, 0.03, 0.5, 1.0}) expect_sane(read_printed(s, model, {share}));
      for (const double share : {0.0, 0.03, 0.5, 1.0}) expect_sane(read_film(s, model, {share}));
    }
  }
}

TEST_F(InkdataPrints, EveryShirtBareDischargedAndPrinted) {
  for (const Cloth& shirt : shirts_) {
    SCOPED_TRACE(shirt.id);
    const Scene s = scene(shirt.id, {"c discharge-clear", "w base-white; flash = true", "r red"});
    const PrintModel model(s);
    const PointReading bare = read_printed(s, model, {0, 0, 0}), clear = read_printed(s, model, {1, 0, 0});
    for (const PointReading& r :
         {bare, clear, read_printed(s, model, {1, 1, 1}), read_printed(s, model, {0.5, 0.5, 0.5})})
      expect_sane(r);
    // Discharge only takes dye away; what its binder wets may cost a little.
    EXPECT_GT(clear.lab.l, bare.lab.l - 1);
    if (shirt.discharge_grade >= 4) {
      EXPECT_GT(clear.lab.l, 70);
    }
    if (shirt.discharge_grade == 1) {
      EXPECT_LT(clear.lab.l, bare.lab.l + 20);
    }
  }
}

// The contrast ratio of a film on a card and that of the print on white and black cloth go together. Cloth is
// no card and 20 um are no 25, so a band of .15 and, beyond it, the order.
TEST_F(InkdataPrints, PlastisolsHideAsTheirRecordsSay) {
  struct Row {
    std::string id;
    double card, cloth;
  };
  std::vector<Row> rows;
  for (const Ink& ink : inks_) {
    if (ink.family != InkFamily::plastisol || ink.effect != InkEffect::none) continue;
    const auto y = [&](const char* shirt) {
      return printed(scene(shirt, {"p " + ink.id + "; mesh = \"61-64\""}), {1}).xyz.y;
    };
    rows.push_back({ink.id, ink_swatch(ink).contrast_ratio, y("black-cotton") / y("white-cotton")});
  }
  ASSERT_GE(rows.size(), 12u);
  for (const Row& a : rows) {
    EXPECT_NEAR(a.cloth, a.card, 0.15) << a.id;
    for (const Row& b : rows)
      if (a.card > b.card + 0.15) {
        EXPECT_GT(a.cloth, b.cloth) << a.id << ' ' << b.id;
      }
  }
  const auto [least, most] = std::minmax_element(rows.begin(), rows.end(),
                                                 [](const Row& a, const Row& b) { return a.card < b.card; });
  EXPECT_LT(least->card, 0.1);
  EXPECT_GT(most->card, 0.95);
}

// Water base does not hide: dark cloth swallows it. Discharge inks make their own light ground there.
TEST_F(InkdataPrints, SoakedInksNeedALightOrDischargedGround) {
  for (const Ink& ink : inks_) {
    if (ink.family == InkFamily::plastisol) continue;
    SCOPED_TRACE(ink.id);
    const auto l = [&](const char* shirt, double share) {
      return printed(scene(shirt, {"p " + ink.id}), {share}).lab.l;
    };
    if (ink.family == InkFamily::discharge) {
      EXPECT_GT(l("black-cotton", 1), l("black-cotton", 0) + 20);
      EXPECT_LT(l("black-polyester", 1), l("black-cotton", 1));
    } else if (ink_swatch(ink).contrast_ratio < 0.5) {
      EXPECT_LT(l("black-cotton", 1), 25);
      EXPECT_GT(l("white-cotton", 1), 45);
    }
  }
}

TEST_F(InkdataPrints, InksOutsideTheModelAreFlaggedAndFlat) {
  int effects = 0;
  for (const Ink& ink : inks_) {
    SCOPED_TRACE(ink.id);
    const Scene white = scene("white-cotton", {"p " + ink.id}),
                black = scene("black-cotton", {"p " + ink.id});
    const PointReading on_white = printed(white, {1}), on_black = printed(black, {1});
    EXPECT_EQ(on_white.not_predicted, ink.effect != InkEffect::none);
    EXPECT_FALSE(printed(white, {0}).not_predicted);
    if (ink.effect == InkEffect::none) continue;
    ++effects;
    EXPECT_LT(delta_e_2000(on_white.lab, on_black.lab), 1) << "what lies below shows";
    const ViewingWeights weights = viewing_weights("D50", Observer::cie1931_2deg);
    EXPECT_LT(delta_e_2000(on_white.lab, lab_from_reflectance(*ink.flat_reflectance, weights)), 1);
  }
  EXPECT_GE(effects, 3);
}

}  // namespace
}  // namespace kirtle::test
