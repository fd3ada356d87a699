#include "print/overprint_table.h"

#include "light/delta_e_2000.h"
#include "print/halftone_cases.h"
#include "print/mixing.h"
#include "print/print_checks.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <stdexcept>
#include <thread>

namespace kirtle {
namespace {

using test::de00;
using test::expect_close;
using test::kD50;
using test::RandomValues;
using test::three_inks;

XYZ direct(const Stack& stack, const std::vector<double>& dose) {
  return xyz_from_reflectance(mean_reflectance(stack.at(dose)), kD50);
}

/// Colours of a pair form with given weights over the overprints of all plates on or off, pair by pair.
Spectrum by_pairs(const Stack& stack, const std::vector<PlateDots>& dots, const std::vector<double>& w) {
  const PairForm form(dots);
  const int plates = stack.plates();
  std::vector<Overprint> o;
  for (std::size_t i = 0; i < w.size(); ++i) {
    std::vector<double> dose;
    for (int plate = 0; plate < plates; ++plate) dose.push_back(static_cast<double>(i >> plate & 1));
    o.push_back(stack.at(dose));
  }
  Spectrum sum;
  for (std::size_t p = 0; p < w.size(); ++p) {
    for (std::size_t q = 0; q < w.size(); ++q) {
      std::vector<int> differing;
      for (int plate = 0; plate < plates; ++plate) {
        if ((p ^ q) >> plate & 1) differing.push_back(plate);
      }
      sum += w[p] * w[q] * form.pair(o[p], o[q], differing);
    }
  }
  return sum;
}

/// A pigmented discharge or water base: soaks whole, mixes as a field.
StackPass soaking(int plate, const KSSpectra& optics, double dry_um, double agent_g_m2) {
  StackPass pass = demo::film_pass(plate, optics, dry_um, false);
  pass.ink.family = agent_g_m2 > 0 ? InkFamily::discharge : InkFamily::water_base;
  pass.ink.soak = 1;
  pass.ink.agent_g_cm3 = agent_g_m2 / dry_um;
  return pass;
}

TEST(OverprintTable, SolidsAndBareClothAreTheStacksOwn) {
  const Stack stack = three_inks();
  const OverprintTable table(
      stack, {demo::round_dots(55), demo::round_dots(55, 52.5), demo::round_dots(55, 82.5)}, {kD50, {}});
  for (int i = 0; i < 8; ++i) {
    const std::vector<double> dose{i & 1 ? 1.0 : 0.0, i & 2 ? 1.0 : 0.0, i & 4 ? 1.0 : 0.0};
    EXPECT_LT(de00(table.mix(dose), direct(stack, dose)), 1e-9);
    expect_close(table.reflectance(dose), mean_reflectance(stack.at(dose)), 1e-12);
  }
  EXPECT_EQ(table.mix(std::vector{-0.2, 1.3, 0.0}), table.mix(std::vector{0.0, 1.0, 0.0}));
  EXPECT_THROW(
      OverprintTable(stack, {demo::round_dots(55), demo::round_dots(55), demo::round_dots(55)}, {kD50, 0.99}),
      std::domain_error);
}

TEST(OverprintTable, MixIsTheColourOfItsSlowTwin) {
  RandomValues random(1);
  for (int run = 0; run < 6; ++run) {
    std::vector<PlateDots> dots{demo::round_dots(55), demo::round_dots(55, run % 2 ? 22.5 : 52.5),
                                demo::round_dots(45, 7.5), demo::round_dots(55, 22.5, true)};
    const Stack stack(demo::random_cloth(random), demo::random_passes(random, 4), 4, demo::process(), {});
    TableSettings settings{kD50, {}};
    if (run % 3 == 2) settings.yule_nielsen_n = 1.8;
    const OverprintTable table(stack, dots, settings);
    for (int i = 0; i < 40; ++i) {
      const std::vector<double> a = demo::random_doses(random, 4);
      const XYZ fast = table.mix(a), slow = xyz_from_reflectance(table.reflectance(a), kD50);
      EXPECT_NEAR(fast.x, slow.x, 1e-9 * slow.x);
      EXPECT_NEAR(fast.y, slow.y, 1e-9 * slow.y);
      EXPECT_NEAR(fast.z, slow.z, 1e-9 * slow.z);
    }
  }
}

TEST(OverprintTable, AnglesApartMixByDemichelAndAlikeByNestedDots) {
  const Stack stack = three_inks();
  RandomValues random(2);
  const std::vector<PlateDots> apart{demo::round_dots(55), demo::round_dots(55, 52.5),
                                     demo::round_dots(55, 82.5)};
  const std::vector<PlateDots> alike(3, demo::round_dots(55));
  const std::vector<PlateDots> two{demo::round_dots(55), demo::round_dots(55, 52.5), demo::round_dots(55)};
  const OverprintTable table_apart(stack, apart, {kD50, {}}), table_alike(stack, alike, {kD50, {}}),
      table_two(stack, two, {kD50, {}});
  for (int run = 0; run < 12; ++run) {
    const std::vector<double> a = demo::random_doses(random, 3);
    expect_close(table_apart.reflectance(a), by_pairs(stack, apart, demichel(a)), 1e-12);
    expect_close(table_alike.reflectance(a), by_pairs(stack, alike, nested(a)), 1e-12);
    // Plates 0 and 2 alike, 1 apart: nested for the two, times the third.
    const std::vector<double> pair = nested(std::vector{a[0], a[2]});
    std::vector<double> w(8);
    for (int i = 0; i < 8; ++i) w[i] = pair[(i & 1) + (i >> 2) * 2] * (i & 2 ? a[1] : 1 - a[1]);
    expect_close(table_two.reflectance(a), by_pairs(stack, two, w), 1e-12);
  }
  const std::vector<double> equal{0.5, 0.5, 0.5};  // equal dots: no cloth-and-part overprint at all
  expect_close(table_alike.reflectance(equal), by_pairs(stack, alike, nested(equal)), 1e-12);
}

// Truth: an independent script, Yule, Nielsen 1951 with n = 2 over Kubelka-Munk piles; 4 decimals, 0.01 for
// other arithmetic.
TEST(OverprintTable, YuleNielsenMatchesAnIndependentScript) {
  const Stack stack(demo::black_cloth(),
                    {demo::film_pass(0, demo::white(), 60), demo::film_pass(1, demo::red(), 25)}, 2,
                    demo::process(), {});
  const OverprintTable table(stack, {demo::round_dots(55), demo::round_dots(55, 52.5)}, {kD50, 2.0});
  const Lab lab = lab_from_xyz(table.mix(std::vector{1.0, 0.5}), kD50.white);
  EXPECT_NEAR(lab.l, 64.2125, 0.01);
  EXPECT_NEAR(lab.a, 22.5126, 0.01);
  EXPECT_NEAR(lab.b, 7.0032, 0.01);
}

TEST(OverprintTable, WhereOnlyOnePrintsTheOrderOfPlatesDoesNotMatter) {
  const StackPass y = demo::film_pass(0, demo::yellow(), 20), r = demo::film_pass(1, demo::red(), 15);
  StackPass r0 = r, y1 = y;
  r0.plate = 0;
  y1.plate = 1;
  const std::vector<PlateDots> dots{demo::round_dots(55), demo::round_dots(55, 52.5)};
  const OverprintTable yr(Stack(demo::undyed_cloth(), {y, r}, 2, demo::process(), {}), dots, {kD50, {}});
  const OverprintTable ry(Stack(demo::undyed_cloth(), {r0, y1}, 2, demo::process(), {}), dots, {kD50, {}});
  for (int i = 0; i <= 20; ++i) {
    EXPECT_LT(de00(yr.mix(std::vector{i / 20.0, 0.0}), ry.mix(std::vector{0.0, i / 20.0})), 1e-9);
    EXPECT_LT(de00(yr.mix(std::vector{0.0, i / 20.0}), ry.mix(std::vector{i / 20.0, 0.0})), 1e-9);
  }
}

TEST(OverprintTable, FieldsHaveLevelsAndDotsTwo) {
  const Stack stack(demo::black_cloth(),
                    {soaking(0, demo::yellow(), 15, 6), demo::film_pass(1, demo::red(), 15)}, 2,
                    demo::process(), {});
  const OverprintTable table(stack, {demo::round_dots(55, 22.5, true), demo::round_dots(55)}, {kD50, {}});
  EXPECT_EQ(table.levels(1), (std::vector{0.0, 1.0}));
  const std::vector<double>& levels = table.levels(0);
  EXPECT_GT(levels.size(), 3u);
  EXPECT_EQ(levels.front(), 0);
  EXPECT_EQ(levels.back(), 1);
  EXPECT_TRUE(std::is_sorted(levels.begin(), levels.end()));
}

// Truth: the pile worked out at the dose itself. A dose that wicks flat is no halftone, so mixing between the
// table's levels must come out as that pile.
TEST(OverprintTable, SoakedDosesMixAsTheirOwnPile) {
  const std::vector<std::vector<StackPass>> prints{
      {soaking(0, {}, 15, 6)},
      {soaking(0, demo::yellow(), 15, 6)},
      {soaking(0, demo::red(), 12, 0)},
      {soaking(0, demo::yellow(), 15, 6), soaking(1, demo::red(), 12, 0)},
      {soaking(0, demo::white(), 15, 6), soaking(1, demo::red(), 12, 4)},
      {soaking(0, {}, 15, 6), soaking(1, demo::yellow(), 12, 0), soaking(2, demo::red(), 12, 0)},
      {soaking(0, demo::yellow(), 15, 6), soaking(1, demo::red(), 12, 5), soaking(2, demo::white(), 12, 3)},
  };
  RandomValues random(3);
  double worst = 0;
  for (std::size_t p = 0; p < prints.size(); ++p) {
    const int plates = static_cast<int>(prints[p].size());
    double worst_here = 0;
    for (const Cloth& cloth : {demo::black_cloth(), demo::undyed_cloth(), demo::black_cloth(0.9)}) {
      const Stack stack(cloth, prints[p], plates, demo::process(), {});
      const OverprintTable table(stack, std::vector<PlateDots>(plates, demo::round_dots(55, 22.5, true)),
                                 {kD50, {}});
      for (int run = 0; run < 150; ++run) {
        const std::vector<double> dose = demo::random_doses(random, plates);
        const double e = de00(table.mix(dose), direct(stack, dose));
        EXPECT_LT(e, 0.3) << "print " << p << " dose " << testing::PrintToString(dose);
        worst_here = std::max(worst_here, e);
      }
    }
    RecordProperty("worst_de00_print_" + std::to_string(p), std::to_string(worst_here));
    worst = std::max(worst, worst_here);
  }
  RecordProperty("worst_de00", std::to_string(worst));
}

TEST(OverprintTable, HundredsOfOverprintsMixCloseToThePairs) {
  // Nine plates at nine angles make 512 overprints, too many for pairs. The ninth lays nothing, so the truth
  // is the table of the other eight.
  std::vector<StackPass> passes;
  std::vector<PlateDots> dots;
  const std::vector<demo::NamedInk> inks = demo::five_inks();
  for (int i = 0; i < 9; ++i) {
    passes.push_back(demo::film_pass(i, inks[i % 5].optics, i == 8 ? 0 : 8));
    dots.push_back(demo::round_dots(55, 5.0 + 9 * i));
  }
  const std::vector<PlateDots> eight_dots(dots.begin(), dots.end() - 1);
  const std::vector<StackPass> eight_passes(passes.begin(), passes.end() - 1);
  Cloth heather = demo::undyed_cloth();
  heather.fibres.push_back(heather.fibres.front());
  heather.fibres[0].share = heather.fibres[1].share = 0.5;
  heather.fibres[1].fibre.k = Spectrum::flat(0.05);
  for (const Cloth& cloth : {demo::undyed_cloth(), heather}) {
    const OverprintTable nine(Stack(cloth, passes, 9, demo::process(), {}), dots, {kD50, {}});
    const OverprintTable eight(Stack(cloth, eight_passes, 8, demo::process(), {}), eight_dots, {kD50, {}});
    RandomValues random(4);
    double worst = 0;
    for (int run = 0; run < 12; ++run) {
      std::vector<double> a;
      for (int i = 0; i < 9; ++i) a.push_back(random.even(0.02, run < 6 ? 0.98 : 0.2));
      const XYZ fallback = nine.mix(a);
      a.pop_back();
      worst = std::max(worst, de00(fallback, eight.mix(a)));
    }
    RecordProperty("worst_de00_" + std::to_string(cloth.fibres.size()) + "_fibres", std::to_string(worst));
    EXPECT_LT(worst, 0.5);  // out of sight: half of what is seen side by side
  }
}

TEST(OverprintTable, OneLatticeIsOneScreenWhateverItsAngleIsCalled) {
  const auto overlap = [](DotShape shape, double angle) {
    std::vector<PlateDots> dots{demo::round_dots(55, 22.5), demo::round_dots(55, angle)};
    for (PlateDots& d : dots) d.halftone.shape = shape;
    const std::vector<StackPass> passes{demo::film_pass(0, demo::five_inks()[0].optics, 20),
                                        demo::film_pass(1, demo::five_inks()[1].optics, 20)};
    const OverprintTable table(Stack(demo::undyed_cloth(), passes, 2, demo::process(), {}), dots, {kD50, {}});
    return table.mix(std::vector{0.5, 0.5}).y;
  };
  EXPECT_DOUBLE_EQ(overlap(DotShape::round, 112.5), overlap(DotShape::round, 22.5));
  EXPECT_DOUBLE_EQ(overlap(DotShape::round, -67.5), overlap(DotShape::round, 22.5));
  EXPECT_DOUBLE_EQ(overlap(DotShape::line, -157.5), overlap(DotShape::line, 22.5));
  EXPECT_NE(overlap(DotShape::line, 112.5), overlap(DotShape::line, 22.5));
  EXPECT_NE(overlap(DotShape::round, 52.5), overlap(DotShape::round, 22.5));
}

TEST(OverprintTable, ThreadsSeeOneTable) {
  const Stack stack = three_inks();
  const std::vector<PlateDots> dots{demo::round_dots(55), demo::round_dots(55, 52.5),
                                    demo::round_dots(55, 82.5)};
  const OverprintTable shared(stack, dots, {kD50, {}}), alone(stack, dots, {kD50, {}});
  std::vector<std::vector<XYZ>> got(4);
  {
    std::vector<std::jthread> threads;
    for (std::vector<XYZ>& out : got) {
      threads.emplace_back([&] {
        RandomValues random(5);
        for (int i = 0; i < 500; ++i) out.push_back(shared.mix(demo::random_doses(random, 3)));
      });
    }
  }
  RandomValues random(5);
  for (int i = 0; i < 500; ++i) {
    const XYZ want = alone.mix(demo::random_doses(random, 3));
    for (const std::vector<XYZ>& out : got) EXPECT_EQ(out[i], want);
  }
}

// A photograph in soaked inks would fill any memory: past its bound a table keeps nothing more, and what it
// gives is the same to the last bit.
TEST(OverprintTable, AFullOneGivesTheSameColours) {
  const Stack stack(demo::black_cloth(),
                    {soaking(0, demo::white(), 30, 6), soaking(1, demo::yellow(), 20, 0),
                     demo::film_pass(2, demo::red(), 15)},
                    3, demo::process(), {});
  std::vector<PlateDots> dots{demo::round_dots(55), demo::round_dots(55, 52.5), demo::round_dots(55, 82.5)};
  dots[0].field = dots[1].field = true;
  const OverprintTable roomy(stack, dots, {kD50, {}});
  const OverprintTable empty(stack, dots, {kD50, {}, 0, 0});
  const OverprintTable small(stack, dots, {kD50, {}, 20'000, 100'000});
  RandomValues random(11);
  for (int i = 0; i < 200; ++i) {
    const std::vector<double> at{random.even(0, 1), random.even(0, 1), random.even(0, 1)};
    const XYZ want = roomy.mix(at);
    EXPECT_EQ(empty.mix(at), want);
    EXPECT_EQ(small.mix(at), want);
    EXPECT_EQ(empty.reflectance(at), roomy.reflectance(at));
  }
  EXPECT_LE(small.kept_bytes(), 120'000u);
  EXPECT_EQ(empty.kept_bytes(), 0u);
  EXPECT_GT(roomy.kept_bytes(), 120'000u);
}

}  // namespace
}  // namespace kirtle
