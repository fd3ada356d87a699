// What a design comes to on a shirt: closed cases, the renderer as the slow twin, and what never works.
#include "light/delta_e_2000.h"
#include "light/srgb.h"
#include "range/range_fixture.h"

namespace kirtle::test {
namespace {

class Judge : public Ranges {};

TEST_F(Judge, OnItsOwnShirtAsItIsDiffersByNothing) {
  for (const Scene& s : {discharge_scene(), based_scene(), bare_scene()}) {
    const Made m(s);
    const RangeFigures f = m.on(s.shirt.id, RangeVariant::as_is);
    EXPECT_EQ(f.difference_mean, 0);
    EXPECT_EQ(f.difference_p95, 0);
    EXPECT_EQ(f.verdict, RangeVerdict::works) << (f.why.empty() ? "" : f.why.front().what);
  }
}

// The slow twin: the renderer's pixels on both shirts, one by one. Ramps across each other, so that thousands
// of combinations occur and no contour cuts a pixel (such pixels are counted by their sides, not as their
// mean).
TEST_F(Judge, DifferenceIsThatOfThePixels) {
  plate(
      "light", [](double x, double, double) { return 0.15 + 0.7 * x / 20; }, 150, 20);
  plate(
      "dark", [](double, double y, double) { return 0.15 + 0.7 * y / 20; }, 150, 20);
  Scene home = scene("white-cotton", pass("light", "red") + pass("dark", "black", "angle = 52.5"));
  const Made m(home);
  Scene away = home;
  away.shirt = m.shirt("navy-cotton");
  const Prediction a(home, m.plates), b(away, m.plates);
  RenderWorker work_a(a.model().table), work_b(b.model().table);
  const int w = a.renderer().width(), h = a.renderer().height();
  std::vector<XYZf> row_a(static_cast<std::size_t>(w)), row_b(row_a.size());
  const XYZ white = a.model().table.weights().white;
  const auto lab = [&](const XYZf& c) {
    return lab_from_xyz({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)},
                        white);
  };
  double sum = 0, weight = 0;
  for (int y = 0; y < h; ++y) {
    a.renderer().xyz_rows(y, 1, work_a, row_a);
    b.renderer().xyz_rows(y, 1, work_b, row_b);
    for (int x = 0; x < w; ++x) {
      const double inked = 1 - (1 - a.covers()[0].cover_at(x, y)) * (1 - a.covers()[1].cover_at(x, y));
      const auto i = static_cast<std::size_t>(x);
      if (inked > 0) sum += inked * delta_e_2000(lab(row_a[i]), lab(row_b[i]));
      weight += inked;
    }
  }
  // Coverages are held in 65536ths and colours of the renderer in float.
  EXPECT_NEAR(m.on("navy-cotton", RangeVariant::as_is).difference_mean, sum / weight, 0.01);
}

TEST_F(Judge, ContrastOfAFlatSolidIsThatToTheCloth) {
  plate(
      "red", [](double, double, double) { return 1.0; }, 150, 20);
  const Scene s = scene("white-cotton", pass("red", "red"));
  const Made m(s);
  const PrintModel model(s);
  const XYZ white = model.table.weights().white;
  const double none = 0, solid = 1;
  const double de = delta_e_2000(lab_from_xyz(model.table.mix({&none, 1}), white),
                                 lab_from_xyz(model.table.mix({&solid, 1}), white));
  const RangeFigures f = m.on("white-cotton", RangeVariant::as_is);
  EXPECT_NEAR(f.contrast, de, 1e-9);
  EXPECT_EQ(f.lost_share, 0);
}

TEST_F(Judge, WhiteOnWhiteIsLost) {
  plate("white", box(3, 3, 17, 17), 150, 20);
  const Made m(scene("black-cotton", pass("white", "base-white", "strokes = 2")));
  const RangeFigures f = m.on("white-cotton", RangeVariant::as_is);
  EXPECT_EQ(f.verdict, RangeVerdict::no);
  EXPECT_TRUE(says(f, "lost-in-cloth"));
  EXPECT_GT(f.lost_share, 0.9);
  EXPECT_FALSE(says(m.on("black-cotton", RangeVariant::as_is), "lost-in-cloth"));
}

// A clear yellow for white cotton is another picture on black.
TEST_F(Judge, AnotherPrintIsNotTakenWithoutAsking) {
  bool another_colour = false, another_print = false;
  plate("yellow", box(3, 3, 17, 17), 150, 20);
  for (const Scene& s : {scene("white-cotton", pass("yellow", "lemon-yellow")), discharge_scene()}) {
    const Made m(s);
    for (const char* id : {"black-cotton", "navy-cotton", "purple-cotton", "kelly-green-cotton",
                           "white-cotton", "ash-heather", "sand-cotton", "red-cotton"}) {
      const RangeFigures f = m.on(id, RangeVariant::as_is);
      const bool far = f.difference_mean > kAnotherPrint;
      EXPECT_TRUE(!far || f.verdict == RangeVerdict::no) << id;
      EXPECT_FALSE(!far && says(f, "another-print")) << id;
      EXPECT_FALSE(far && says(f, "another-colour")) << id;
      another_print = another_print || says(f, "another-print");
      another_colour = another_colour || says(f, "another-colour");
    }
  }
  EXPECT_TRUE(another_print);
  EXPECT_TRUE(another_colour);
}

TEST_F(Judge, YellowOnBlackWantsABaseAndWorksWithOne) {
  plate("yellow", box(3, 3, 17, 17), 150, 20);
  const Made m(scene("white-cotton", pass("yellow", "lemon-yellow")));
  const RangeFigures without = m.on("black-cotton", RangeVariant::as_is),
                     with = m.on("black-cotton", RangeVariant::with_base);
  EXPECT_EQ(without.verdict, RangeVerdict::no);
  EXPECT_TRUE(says(without, "no-base"));
  EXPECT_NE(with.verdict, RangeVerdict::no) << (with.why.empty() ? "" : with.why.front().what);
  EXPECT_LT(with.difference_mean, without.difference_mean);
}

// A record may claim what it likes: a grade of 5, a dye that yields, no dye at all.
TEST_F(Judge, DischargeOnPolyesterNeverWorks) {
  for (const std::string own : {"black-cotton", "black-polyester", "white-cotton"}) {
    const Made m(discharge_scene(own));
    std::vector<Cloth> shirts = m.shirts();
    for (const char* id : {"black-polyester", "red-polyester"}) {
      Cloth claimed = m.shirt(id);
      claimed.discharge_grade = 5;
      for (ClothFibre& fibre : claimed.fibres)
        for (Dye& dye : fibre.dyes) dye.reducible = 1;
      shirts.push_back(claimed);
      for (ClothFibre& fibre : claimed.fibres) fibre.dyes.clear();
      shirts.push_back(claimed);
    }
    int seen = 0;
    for (const Cloth& shirt : shirts) {
      double polyester = 0;
      for (const ClothFibre& fibre : shirt.fibres) polyester += fibre.takes_agent < 0.5 ? fibre.share : 0;
      if (polyester < 0.2) continue;
      const std::vector<RangeFigures> all = m.judge->on(shirt);
      for (std::size_t i = 0; i < all.size(); ++i) {
        const std::vector<ScenePass>& passes = m.designs.designs[i].scene.passes;
        if (std::none_of(passes.begin(), passes.end(),
                         [](const ScenePass& p) { return p.ink.agent_g_cm3 > 0; }))
          continue;
        ++seen;
        EXPECT_NE(all[i].verdict, RangeVerdict::works) << shirt.id << ' ' << m.designs.designs[i].id;
        if (polyester >= 0.5) {
          EXPECT_EQ(all[i].verdict, RangeVerdict::no) << shirt.id << ' ' << m.designs.designs[i].id;
        }
      }
    }
    EXPECT_GT(seen, 10);
  }
}

TEST_F(Judge, TheShirtIsNoShadeOfAnInkThatIsNotLighter) {
  const Made m(discharge_scene());
  const RangeFigures f = m.on("white-cotton", RangeVariant::shirt_shade);
  EXPECT_EQ(f.verdict, RangeVerdict::no);
  EXPECT_TRUE(says(f, "shirt-too-light"));
}

// A flat place of the picture is the print's own colour, on the shirt asked for.
TEST_F(Judge, ThePictureShowsTheColours) {
  const Made m(bare_scene());
  Scene away = m.scene;
  away.shirt = m.shirt("navy-cotton");
  const PrintModel model(away);
  const SrgbEncoder encoder(model.table.weights().white);
  const RangeFigures f = m.on("navy-cotton", RangeVariant::as_is);
  ASSERT_EQ(f.width, 16);
  ASSERT_EQ(f.height, 16);
  const auto pixel = [&](int x, int y) {
    const std::size_t at = 3 * (static_cast<std::size_t>(y) * 16 + static_cast<std::size_t>(x));
    return Rgb8{f.rgb[at], f.rgb[at + 1], f.rgb[at + 2]};
  };
  // 20 mm on 16 pixels: bare at the corner, red alone to the right, black on red at 7.5, 10 mm.
  EXPECT_EQ(pixel(0, 0), encoder.encode8(model.table.mix(std::vector<double>{0, 0})));
  EXPECT_EQ(pixel(11, 8), encoder.encode8(model.table.mix(std::vector<double>{1, 0})));
  EXPECT_EQ(pixel(6, 8), encoder.encode8(model.table.mix(std::vector<double>{1, 1})));
}

TEST_F(Judge, ManyShirtsAtOnceAreAsOneByOne) {
  const Made m(discharge_scene());
  const RangeFigures first = m.on("navy-cotton", RangeVariant::as_is);
  m.judge->on(m.shirt("white-cotton"));
  const RangeFigures again = m.on("navy-cotton", RangeVariant::as_is);
  EXPECT_EQ(first.difference_mean, again.difference_mean);
  EXPECT_EQ(first.rgb, again.rgb);
}

// A look at the plates that is taken over finds what a look of its own finds.
TEST_F(Judge, FindingsAreThoseOfCheck) {
  for (const Scene& home : {based_scene(), bare_scene(), discharge_scene()}) {
    const Made m(home);
    for (const char* id : {"white-cotton", "black-polyester", "royal-cotton", "ash-heather"}) {
      Scene away = home;
      away.shirt = m.shirt(id);
      const CheckReport own = check_scene(away, {}), taken = m.known->on(away, PrintModel(away));
      EXPECT_EQ(kinds(own), kinds(taken)) << id;
    }
  }
}

}  // namespace
}  // namespace kirtle::test
