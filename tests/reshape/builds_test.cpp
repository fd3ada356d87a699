// Plates made from one another: rims, undersides, bases and fades where their truth is closed form.
#include "plate/reshape/builds.h"

#include "plate/reshape/contours.h"
#include "plate/reshape/tones.h"
#include "reshape/shapes.h"

#include <cstdio>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using namespace test;

/// Sum of two plates' film, pixel by pixel, at its least within a region.
double least_sum(const PlateImage& a, const PlateImage& b, const Shape& region) {
  const double mm = kMmPerInch / a.ppi;
  double least = 2;
  for (int y = 0; y < a.height; ++y) {
    for (int x = 0; x < a.width; ++x) {
      if (region((x + 0.5) * mm, (y + 0.5) * mm) < 0) least = std::min(least, a.film(x, y) + b.film(x, y));
    }
  }
  return least;
}

TEST(KnockOut, RimHasItsWidthAndNoGap) {
  double worst = 0;
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const int bits : {8, 16}) {
      for (const double rim : {0.0, 0.1, 0.3}) {
        for (const double r : {1.5, 2.2}) {
          SCOPED_TRACE("ppi " + std::to_string(ppi) + " rim " + std::to_string(rim));
          const Shape under = disc(4.02, 3.97, 3.2), over = disc(4.11, 4.05, r);
          const auto light = drawn(kSide, ppi, bits, under), dark = drawn(kSide, ppi, bits, over);
          KnockOut how;
          how.rim = {rim};
          const Reshaped got = knock_out(light, dark, how, ppi);
          const double inner = r - rim;
          const double rim_area = area_mm2(light) - std::numbers::pi * r * r;  // light outside the dark
          const double width = (area_mm2(got.plate) - rim_area - std::numbers::pi * (r * r - inner * inner)) /
                               (2 * std::numbers::pi * inner);
          EXPECT_LT(std::abs(width), kWithin);
          worst = std::max(worst, std::abs(width));
          // Together they cover what the light covered: a butt edge's two shares make a whole pixel.
          EXPECT_GT(least_sum(got.plate, dark, disc(4.02, 3.97, 3.2 - 2 * kMmPerInch / ppi)),
                    rim > 0 ? 0.995 : 0.93);
          EXPECT_EQ(got.plate.bits, bits);
          EXPECT_NEAR(got.change.removed_mm2, std::numbers::pi * inner * inner,
                      2 * std::numbers::pi * inner * kWithin);
          EXPECT_LT(got.change.added_mm2, 1e-9);
        }
      }
    }
  }
  std::printf("worst rim: %.2f um off\n", 1000 * worst);
}

TEST(KnockOut, TwiceIsOnce) {
  const auto light = drawn(kSide, 300, 16, disc(4, 4, 3)),
             dark = drawn(kSide, 300, 16, box(4, 4, 1.5, 1, 0.3));
  const auto once = knock_out(light, dark, {}, 300).plate;
  const auto twice = knock_out(once, dark, {}, 300).plate;
  EXPECT_LT(std::abs(area_mm2(once) - area_mm2(twice)) / 10, kWithin);
}

TEST(KnockOut, StartsWhereTheDarkPrintsSolid) {
  // A dark that shades from nothing to solid over 5 mm.
  const double ppi = 300, from = 0.88;
  const auto dark =
      field(kSide, ppi, 16, [](double x, double) { return std::clamp((x - 1.5) / 5, 0.0, 1.0); });
  const auto light = drawn(kSide, ppi, 16, box(4, 4, 9, 9, 0));
  for (const double rim : {0.0, 0.3}) {
    KnockOut how;
    how.solid_from = from;
    how.rim = {rim};
    const auto got = knock_out(light, dark, how, ppi).plate;
    EXPECT_NEAR(area_mm2(got) / got.height / kMmPerInch * ppi, 1.5 + 5 * from + rim, kWithin);
  }
  KnockOut taper;
  taper.kind = KnockOutKind::with_tone;
  taper.solid_from = from;
  taper.taper_from = 0.5;
  taper.rim = {0};
  const auto soft = knock_out(light, dark, taper, ppi).plate;
  // Whole up to half tone, then falling in proportion.
  EXPECT_NEAR(area_mm2(soft) / soft.height / kMmPerInch * ppi, 1.5 + 5 * (0.5 + 0.38 / 2), kWithin);
  EXPECT_EQ(soft.film(soft.width - 2, 50), 0);
}

TEST(KnockOut, RefusesAWrongLevel) {
  const auto p = drawn(1, 300, 8, disc(0.5, 0.5, 0.3));
  KnockOut how;
  how.solid_from = 1.01;
  EXPECT_THROW(knock_out(p, p, how, 300), std::domain_error);
  how.solid_from = std::nan("");
  EXPECT_THROW(knock_out(p, p, how, 300), std::domain_error);
  how = {};
  how.rim = {-0.01};
  EXPECT_THROW(knock_out(p, p, how, 300), std::domain_error);
}

TEST(Underlay, SolidUnderTintsAndSolids) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    SCOPED_TRACE(ppi);
    // A 30 % tint and a solid that butt, at a slant: one shape together.
    const Shape all = disc(4.02, 3.97, 3), left = box(1, 1, 9, 3.4, 0.35), right = outside(left);
    const auto tint = drawn(kSide, ppi, 8, common(all, left), 0.3),
               solid = drawn(kSide, ppi, 8, common(all, right));
    const PlateImage* over[] = {&tint, &solid};
    const auto got = underlay(over, {}, ppi);
    EXPECT_NEAR(area_mm2(got.plate), std::numbers::pi * 9, 2 * std::numbers::pi * 3 * kWithin);
    // No seam where they meet.
    EXPECT_GT(least_sum(got.plate, tint, disc(4.02, 3.97, 3 - 2 * kMmPerInch / ppi)), 0.97);
    EXPECT_NEAR(got.change.added_mm2, area_mm2(got.plate), 1e-9);
    Underlay grown;
    grown.spread = {0.2};
    EXPECT_NEAR(area_mm2(underlay(over, grown, ppi).plate), std::numbers::pi * 3.2 * 3.2,
                2 * std::numbers::pi * 3.2 * kWithin);
    Underlay shrunk;
    shrunk.spread = {-0.2};
    shrunk.keep = {0.7};
    EXPECT_NEAR(area_mm2(underlay(over, shrunk, ppi).plate), std::numbers::pi * 2.8 * 2.8,
                2 * std::numbers::pi * 2.8 * kWithin);
  }
}

TEST(Underlay, ReachesToWhereAFadePrints) {
  const double ppi = 300;
  const auto fade =
      field(kSide, ppi, 16, [](double x, double) { return std::clamp((x - 1.5) / 5, 0.0, 1.0); });
  const PlateImage* over[] = {&fade};
  Underlay how;
  how.prints_from = 0.05;
  const auto got = underlay(over, how, ppi).plate;
  EXPECT_NEAR(area_mm2(got) / got.height / kMmPerInch * ppi, got.width * kMmPerInch / ppi - 1.5 - 0.25,
              kWithin);
}

TEST(Underlay, SpecksAndPinholesBelowASizeClose) {
  const double ppi = 300;
  const Shape body = common(disc(4, 4, 2), outside(disc(4.2, 3.8, 0.1)));
  const auto plate = drawn(kSide, ppi, 8, either(either(body, disc(1.02, 1.03, 0.1)), disc(7, 7, 0.3)));
  const PlateImage* over[] = {&plate};
  Underlay how;
  how.close_specks = how.close_pinholes = {0.3};
  EXPECT_NEAR(area_mm2(underlay(over, how, ppi).plate), std::numbers::pi * (4 + 0.09), 0.05);
  how.close_specks = how.close_pinholes = {0.15};
  EXPECT_NEAR(area_mm2(underlay(over, how, ppi).plate), std::numbers::pi * (4 - 0.01 + 0.01 + 0.09), 0.05);
}

TEST(TonalBase, MostThatAnyTopNeeds) {
  for (const double ppi : {150.0, 300.0}) {
    for (const double choke : {0.0, 0.05, 0.15}) {
      SCOPED_TRACE("ppi " + std::to_string(ppi) + " choke " + std::to_string(choke));
      // Yellow left half of a disc (needs 1), blue the right half (.5), slanted seam in register.
      const Shape all = disc(4.02, 3.97, 3), left = box(1, 1, 9, 3.4, 0.35);
      const auto yellow = drawn(kSide, ppi, 16, common(all, left)),
                 blue = drawn(kSide, ppi, 16, common(all, outside(left)));
      TonalBase how;
      how.tops = {{&yellow, 1.0, nullptr}, {&blue, 0.5, nullptr}};
      how.choke = {choke};
      const auto base = tonal_base(how, ppi).plate;
      const Shape in = disc(4.02, 3.97, 3 - choke);
      const double wanted = area_mm2(drawn(kSide, ppi, 16, common(in, left))) +
                            0.5 * area_mm2(drawn(kSide, ppi, 16, common(in, outside(left))));
      EXPECT_NEAR(area_mm2(base), wanted, 2 * std::numbers::pi * 3 * kWithin);
      EXPECT_NEAR(base.film(base.width / 2, base.height / 5), 1, 1e-3);
      EXPECT_NEAR(base.film(base.width / 2, base.height * 4 / 5), 0.5, 1e-3);
    }
  }
}

TEST(TonalBase, UnderAThirtyPerCentTintIsATintOfFortyOrLess) {
  const ToneCurve curve(ToneSettings{});
  const auto red = drawn(kSide, 300, 8, disc(4, 4, 3), 0.3);
  TonalBase how;
  how.tops = {{&red, 0.8, &curve}};
  how.curve = &curve;
  const auto base = tonal_base(how, 300).plate;
  const double film = base.film(base.width / 2, base.height / 2);
  EXPECT_NEAR(curve.printed(film), 0.8 * curve.printed(0.3), 0.006);
  EXPECT_LE(film, 0.40);
  EXPECT_GT(film, 0.1);
  how.pull_back = 2;
  EXPECT_LT(tonal_base(how, 300).plate.film(base.width / 2, base.height / 2), film);
}

TEST(TonalBase, HolesWhereTheShirtIsTheDark) {
  const double ppi = 300;
  const auto top = drawn(kSide, ppi, 8, disc(4, 4, 3.5)), black = drawn(kSide, ppi, 8, disc(4.1, 3.9, 1.5));
  TonalBase how;
  how.tops = {{&top, 1.0, nullptr}};
  how.choke = {0};
  for (const double rim : {0.2, -0.15}) {
    how.holes = {{&black, 0.88, {rim}}};
    const double r = 1.5 - rim;
    EXPECT_NEAR(area_mm2(tonal_base(how, ppi).plate), std::numbers::pi * (3.5 * 3.5 - r * r),
                2 * std::numbers::pi * r * kWithin + 0.05);
  }
}

TEST(FadeOut, ComplementOfTheDark) {
  const double ppi = 300;
  const auto light = drawn(kSide, ppi, 8, box(4, 4, 9, 9, 0));
  const auto dark =
      field(kSide, ppi, 8, [](double x, double) { return std::clamp((x - 1.5) / 5, 0.0, 1.0); });
  const auto got = fade_out(light, dark, {0}, ppi).plate;
  for (std::size_t i = 0; i < got.pixels(); ++i) ASSERT_EQ(got.ink8[i], 255 - dark.ink8[i]);
}

TEST(FadeOut, TrapTakesTheLightUnderTheDark) {
  double worst = 0;
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const double turn : {0.0, 0.5, 0.785}) {
      SCOPED_TRACE("ppi " + std::to_string(ppi) + " turn " + std::to_string(turn));
      const double c = std::cos(turn), s = std::sin(turn), trap = 0.25;
      const auto along = [=](double x, double y) { return c * (x - 4) + s * (y - 4); };
      const auto light = drawn(kSide, ppi, 16, box(4, 4, 19, 19, 0));
      const auto dark = field(kSide, ppi, 16, [&](double x, double y) { return along(x, y) / 5 + 0.5; });
      const auto got = fade_out(light, dark, {trap}, ppi).plate;
      for (double u = -1.2; u < 1.2; u += 0.1) {
        const int x = static_cast<int>((4 + u * c) / kMmPerInch * ppi),
                  y = static_cast<int>((4 + u * s) / kMmPerInch * ppi);
        const double here = along((x + 0.5) * kMmPerInch / ppi, (y + 0.5) * kMmPerInch / ppi);
        const double place = 5 * (0.5 - got.film(x, y));  // where the untrapped light would have this film
        worst = std::max(worst, std::abs(here - trap - place));
      }
    }
    // At edges: the light's rim under the dark, as for a knock-out.
    const auto light = drawn(kSide, ppi, 8, box(4, 4, 19, 19, 0)),
               dark = drawn(kSide, ppi, 8, disc(4.03, 3.95, 2));
    EXPECT_NEAR(fade_out(light, dark, {0.25}, ppi).change.removed_mm2, std::numbers::pi * 1.75 * 1.75,
                2 * std::numbers::pi * 1.75 * kWithin);
    // From a tint to solid the step moves too.
    const auto step = field(kSide, ppi, 16, [](double x, double) { return x < 4 ? 0.4 : 1.0; });
    const auto got = fade_out(light, step, {0.25}, ppi).plate;
    double row = 0;
    for (int x = 0; x < got.width; ++x) row += got.film(x, got.height / 2);
    double plain = 0;
    const auto untrapped = fade_out(light, step, {0}, ppi).plate;
    for (int x = 0; x < got.width; ++x) plain += untrapped.film(x, got.height / 2);
    EXPECT_NEAR((row - plain) * kMmPerInch / ppi, 0.6 * 0.25, 0.6 * kWithin) << ppi;
  }
  EXPECT_LT(worst, kWithin);
  std::printf("worst trap of a fade: %.2f um off\n", 1000 * worst);
}

TEST(FadeOut, WiderTrapNeverHasLessLight) {
  const auto light = drawn(kSide, 300, 16, disc(4, 4, 3.5));
  const auto dark = field(kSide, 300, 16,
                          [](double x, double y) { return 0.5 + 0.5 * std::sin(x * 2) * std::cos(1.5 * y); });
  double last = 0;
  for (const double trap : {0.0, 0.1, 0.2, 0.4}) {
    const double now = area_mm2(fade_out(light, dark, {trap}, 300).plate);
    EXPECT_GT(now, last);
    last = now;
  }
}

TEST(Builds, BytesDoNotDependOnThreads) {
  const auto light = drawn(kSide, 300, 8, disc(4, 4, 3.5));
  const auto dark = field(kSide, 300, 8, [](double x, double y) { return 1.4 * std::sin(x) * std::cos(y); });
  EXPECT_EQ(knock_out(light, dark, {}, 300, 1).plate.ink8, knock_out(light, dark, {}, 300, 4).plate.ink8);
  EXPECT_EQ(fade_out(light, dark, {0.3}, 300, 1).plate.ink8, fade_out(light, dark, {0.3}, 300, 4).plate.ink8);
  TonalBase how;
  how.tops = {{&light, 1.0, nullptr}, {&dark, 0.5, nullptr}};
  EXPECT_EQ(tonal_base(how, 300, nullptr, 1).plate.ink8, tonal_base(how, 300, nullptr, 4).plate.ink8);
}

}  // namespace
}  // namespace kirtle
