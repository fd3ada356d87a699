// What each design changes, and what is left untried with its reason.
#include "range/ink_choice.h"
#include "range/range_fixture.h"

namespace kirtle::test {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

class Designs : public Ranges {};

TEST_F(Designs, AsItIsChangesNothing) {
  const Made m(based_scene());
  const RangeDesign& d = m.designs.designs.front();
  EXPECT_EQ(d.variant, RangeVariant::as_is);
  EXPECT_EQ(d.new_screens, 0);
  EXPECT_EQ(d.screens, 2);
  EXPECT_EQ(d.flashes, 1);
  EXPECT_TRUE(d.changed.empty());
}

TEST_F(Designs, WithoutBaseDropsJustTheBase) {
  const Made m(based_scene());
  const RangeDesign& d = m.design(RangeVariant::without_base);
  EXPECT_EQ(d.screens, m.designs.designs.front().screens - 1);
  EXPECT_EQ(d.new_screens, 0);
  EXPECT_EQ(d.flashes, 0);
  ASSERT_EQ(d.scene.passes.size(), 1u);
  EXPECT_EQ(d.scene.passes.front().ink.id, "red");
  ASSERT_EQ(d.images.size(), 1u);
  EXPECT_EQ(d.images.front(), m.designs.designs.front().images[1]) << "the plate itself, not a copy";
  EXPECT_THAT(m.designs.not_tried, Contains(HasSubstr("with-base: the scene has a base")));
  EXPECT_THAT(m.designs.not_tried, Contains(HasSubstr("shirt-as-shade: a base would lie bare")));
}

TEST_F(Designs, BaseInksAreSwappedForOthersOfTheirKindAlone) {
  const Made m(based_scene());
  int swaps = 0;
  for (const RangeDesign& d : m.designs.designs) {
    if (d.variant != RangeVariant::inks_swapped) continue;
    ++swaps;
    EXPECT_EQ(d.new_screens, 0);
    EXPECT_EQ(d.screens, 2);
    EXPECT_EQ(d.scene.passes[1].ink.id, "red");
    const Ink& base = d.scene.passes[0].ink;
    EXPECT_NE(base.id, "base-white");
    EXPECT_EQ(base.family, InkFamily::plastisol);
    EXPECT_TRUE(is_base_ink(base)) << base.id;
  }
  EXPECT_GE(swaps, 1);
  EXPECT_LE(swaps, 3);
}

TEST_F(Designs, ABaseIsAddedUnderInksThatWantOneChokedAndWithHoles) {
  const Made m(bare_scene());
  const RangeDesign& d = m.design(RangeVariant::with_base);
  EXPECT_EQ(d.screens, 3);
  EXPECT_EQ(d.new_screens, 1);
  EXPECT_EQ(d.flashes, 1);
  ASSERT_EQ(d.images.size(), 3u);
  const PlateImage& base = *d.images.front();
  const auto film = [&](double x_mm, double y_mm) {
    const double px = 150 / kMmPerInch;
    return base.film(static_cast<int>(x_mm * px), static_cast<int>(y_mm * px));
  };
  // red wants .75 of a base; printed, so less on film, which spreads.
  const double under_red = film(12, 5);
  EXPECT_GT(under_red, 0.3);
  EXPECT_LE(under_red, 0.76);
  EXPECT_EQ(film(7.5, 10), 0) << "a hole under solid black";
  EXPECT_EQ(film(1, 1), 0) << "nothing where nothing prints";
  // Choked: less area than red's own square of 14 mm less the hole, which keeps a rim.
  double mm2 = 0;
  for (int y = 0; y < base.height; ++y)
    for (int x = 0; x < base.width; ++x) mm2 += base.film(x, y) > 0.5 * under_red ? 1 : 0;
  mm2 *= std::pow(kMmPerInch / 150, 2);
  const double choke = 2 * 0.15;  // the scene's press is an automatic or by hand: between the two chokes
  EXPECT_LT(mm2, 14 * 14 - 2 * 7.3);
  EXPECT_GT(mm2, (14 - 2 * choke - 0.2) * (14 - 2 * choke - 0.2) - 3 * 8);
  const ScenePass& pass = d.scene.passes.front();
  EXPECT_TRUE(pass.flash_after);
  EXPECT_EQ(pass.strokes, 2);
  EXPECT_EQ(d.scene.plates[static_cast<std::size_t>(pass.plate)].name, "base (added)");
}

TEST_F(Designs, ADischargeDesignGoesOntoABaseInPlastisolAlone) {
  const Made m(discharge_scene());
  int based = 0;
  for (const RangeDesign& d : m.designs.designs) {
    if (d.variant != RangeVariant::with_base) continue;
    ++based;
    for (const ScenePass& pass : d.scene.passes) {
      EXPECT_EQ(pass.ink.family, InkFamily::plastisol) << pass.ink.id;
      EXPECT_EQ(pass.ink.agent_g_cm3, 0) << pass.ink.id;
    }
  }
  EXPECT_EQ(based, 2) << "a plain base and one that holds dye back";
}

TEST_F(Designs, TheShirtAsShadeDropsTheDarkAndMakesTheLightAnew) {
  const Made m(discharge_scene());
  const RangeDesign& d = m.design(RangeVariant::shirt_shade);
  EXPECT_EQ(d.screens, 1);
  EXPECT_EQ(d.new_screens, 1);
  ASSERT_EQ(d.scene.passes.size(), 1u);
  EXPECT_EQ(d.scene.passes.front().ink.id, "discharge-cream");
  ASSERT_EQ(d.images.size(), 1u);
  const double px = 150 / kMmPerInch;
  EXPECT_LT(d.images.front()->film(static_cast<int>(7.5 * px), static_cast<int>(10 * px)), 0.02)
      << "nothing where the dark was solid";
  EXPECT_GT(d.images.front()->film(static_cast<int>(4 * px), static_cast<int>(4 * px)), 0.98);
}

TEST_F(Designs, SwappedInksAreNearAndOfOneFamily) {
  const Made m(discharge_scene());
  for (const RangeDesign& d : m.designs.designs) {
    if (d.variant != RangeVariant::inks_swapped) continue;
    EXPECT_EQ(d.new_screens, 0) << d.id;
    ASSERT_EQ(d.scene.passes.size(), 2u);
    if (d.id == "inks:all=plastisol") {
      for (const ScenePass& pass : d.scene.passes) EXPECT_EQ(pass.ink.family, InkFamily::plastisol);
    }
    if (d.id == "inks:all=water-base") {
      for (const ScenePass& pass : d.scene.passes) EXPECT_EQ(pass.ink.family, InkFamily::water_base);
      EXPECT_EQ(d.scene.passes[1].ink.id, "wb-dark-brown") << "it has no agent and stays";
    }
  }
}

TEST_F(Designs, StandInsLeaveOutColourlessAndUnpredictedInks) {
  Library library(std::vector<std::filesystem::path>{default_data_folder()});
  Diagnostics faults;
  const std::vector<Ink> inks = library.all_inks(faults);
  for (const Ink* ink : stand_ins(inks)) {
    EXPECT_EQ(ink->effect, InkEffect::none) << ink->id;
    EXPECT_NE(ink->id, "extender-clear");
    EXPECT_NE(ink->id, "discharge-clear");
  }
}

TEST_F(Designs, OneInkThatWantsNoBaseLeavesItUntried) {
  plate("black", box(3, 3, 17, 17), 150, 20);
  const Made m(scene("white-cotton", pass("black", "black")));
  EXPECT_EQ(m.of(RangeVariant::with_base), m.designs.designs.size());
  EXPECT_THAT(m.designs.not_tried, Contains(HasSubstr("no ink of it wants a base")));
  EXPECT_THAT(m.designs.not_tried, Contains(HasSubstr("shirt-as-shade")));
}

}  // namespace
}  // namespace kirtle::test
