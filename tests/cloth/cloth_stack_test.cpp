#include "cloth/cloth_stack.h"

#include "base/not_a_number.h"
#include "cloth/demo_materials.h"
#include "layer/kubelka_munk.h"
#include "layer/random_values.h"
#include "layer/surface.h"
#include "light/weights.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <stdexcept>

namespace kirtle {
namespace {

using test::kNaN;
const std::array<SoakedAgent, 1> kAgent{{{6, {120}}}};

Lab lab_of(const Spectrum& r) {
  return lab_from_reflectance(r, viewing_weights("D50", Observer::cie1931_2deg));
}

void expect_lab(const Spectrum& r, const Lab& expected, double tolerance) {
  const Lab got = lab_of(r);
  EXPECT_NEAR(got.l, expected.l, tolerance);
  EXPECT_NEAR(got.a, expected.a, tolerance);
  EXPECT_NEAR(got.b, expected.b, tolerance);
}

ClothStack stack_of(const Cloth& cloth, int sublayers = kSublayers) {
  return {cloth, cloth.fibres[0], demo::process(), sublayers};
}

Spectrum film_over(const KSSpectra& ink, double um, const Spectrum& ground) {
  return reflectance_over(layer_spectra(ink, {um}), ground);
}

double largest_difference(const Spectrum& a, const Spectrum& b) {
  double d = 0;
  for (std::size_t i = 0; i < kBands; ++i) d = std::max(d, std::abs(a[i] - b[i]));
  return d;
}

// Single-constant dyed textile by hand: K/S .02 + .5 * 3.0, R_inf of that.
TEST(ClothStack, DyeAddsAbsorption) {
  Cloth c = demo::undyed_cloth();
  c.thickness = {1e5};
  c.fibres[0].fibre = {Spectrum::flat(0.02), Spectrum::flat(1)};
  c.fibres[0].dyes = {
      Dye{.name = "d", .k_per_um = Spectrum::flat(1.5), .reducible = 0, .rate = 1, .byproduct_k_per_um = {}}};
  EXPECT_NEAR(stack_of(c).reflectance({}, {})[0], 0.2069068328, 1e-10);
}

// Kubelka 1948 by hand: SX = 4, K/S = .01, over black and over .85.
TEST(ClothStack, WhiteTeeOverItsBacking) {
  Cloth c = demo::undyed_cloth();
  c.fibres[0].fibre = {Spectrum::flat(0.01 * 4 / 500), Spectrum::flat(4.0 / 500)};
  EXPECT_NEAR(stack_of(c).reflectance({}, {})[5], 0.7774583969, 1e-10);
  c.backing = Spectrum::flat(0.85);
  EXPECT_NEAR(stack_of(c).reflectance({}, {})[5], 0.8626076678, 1e-10);
}

// Values: see demo_materials.h. .01 on Lab where nothing is graded; .05 on the graded discharges, on the
// shipped grid.
TEST(ClothStack, DemoCloths) {
  const Spectrum black = stack_of(demo::black_cloth()).reflectance({}, {});
  expect_lab(black, {18.0648, -0.0014, 0.0039}, 0.01);
  expect_lab(stack_of(demo::undyed_cloth()).reflectance({}, {}), {91.0309, -0.2460, 0.6664}, 0.01);
  const Spectrum base = film_over(demo::white(), 60, black);
  expect_lab(base, {93.8016, -1.1095, -0.5764}, 0.01);
  const Spectrum yellow = film_over(demo::yellow(), 25, base);
  expect_lab(yellow, {81.2134, 21.7133, 113.6562}, 0.01);
  expect_lab(film_over(demo::yellow(), 25, black), {47.7269, 8.2931, 58.8513}, 0.01);
  expect_lab(through_surface(yellow, film_surface(1, {85}), true), {73.5383, 24.4424, 81.4524}, 0.01);
}

TEST(ClothStack, DemoDischarges) {
  const ClothStack black = stack_of(demo::black_cloth());
  expect_lab(black.reflectance({}, kAgent), {76.947, -0.092, 0.249}, 0.05);
  const KSSpectra pigment = demo::yellow();
  const std::array<SoakedInk, 1> ink{{{&pigment, {15}, {60}, 0}}};
  expect_lab(black.reflectance(ink, kAgent), {71.705, 7.244, 70.779}, 0.05);
}

// Fully treated through the depth: L* by the reducible share, from an independent script (L* to a whole
// number).
TEST(ClothStack, ResidualShadeHangsOnTheReducibleShare) {
  const std::array<SoakedAgent, 1> drowned{{{1e6, {1e6}}}};
  const double expected[][2] = {{0.90, 49}, {0.95, 60}, {0.98, 71}, {0.99, 78}, {0.995, 84}, {1, 91}};
  for (const auto& row : expected)
    EXPECT_NEAR(lab_of(stack_of(demo::black_cloth(row[0])).reflectance({}, drowned)).l, row[1], 0.5)
        << row[0];
}

TEST(ClothStack, FineCutConverges) {
  const KSSpectra pigment = demo::yellow();
  const std::array<SoakedInk, 1> ink{{{&pigment, {15}, {60}, 0}}};
  const auto b_star = [&](int n) {
    return lab_of(stack_of(demo::black_cloth(), n).reflectance(ink, kAgent)).b;
  };
  const double limit = b_star(1024);
  EXPECT_NEAR(limit, 70.779, 0.005);
  EXPECT_LT(std::abs(b_star(24) - limit), 0.12);
  EXPECT_LT(std::abs(b_star(kSublayers) - limit), 0.03);
  const double order = std::log2(std::abs(b_star(24) - limit) / std::abs(b_star(48) - limit));
  EXPECT_NEAR(order, 2, 0.1);
  // An even ply needs no cut at all.
  const Cloth plain = demo::black_cloth();
  EXPECT_LT(largest_difference(stack_of(plain, 1).reflectance({}, {}), stack_of(plain).reflectance({}, {})),
            1e-12);
}

TEST(ClothStack, ReducibleShareZeroMeansNoDischarge) {
  const ClothStack s = stack_of(demo::black_cloth(0));
  EXPECT_EQ(s.reflectance({}, kAgent), s.reflectance({}, {}));
}

TEST(ClothStack, PolyesterDoesNotTakeTheAgent) {
  Cloth c = demo::black_cloth();
  c.fibres[0].takes_agent = 0;
  EXPECT_EQ(stack_of(c).reflectance({}, kAgent), stack_of(c).reflectance({}, {}));
}

// Two dyes, one of which resists: the ground ends on the hue of the one that stays.
TEST(ClothStack, DyesDischargeOneByOne) {
  Cloth c = demo::undyed_cloth();
  const Spectrum yellow_k = spectrum_of([](std::size_t i) { return band_nm(i) < 500 ? 0.05 : 0.0; });
  const Spectrum blue_k = spectrum_of([](std::size_t i) { return band_nm(i) > 580 ? 0.05 : 0.0; });
  c.fibres[0].dyes = {
      {.name = "yellow", .k_per_um = yellow_k, .reducible = 1, .rate = 1, .byproduct_k_per_um = {}},
      {.name = "blue", .k_per_um = blue_k, .reducible = 0, .rate = 1, .byproduct_k_per_um = {}}};
  const Lab bare = lab_of(stack_of(c).reflectance({}, {}));
  const Lab after = lab_of(stack_of(c).reflectance({}, kAgent));
  EXPECT_LT(bare.a, -30);  // green
  EXPECT_LT(after.b, -5);  // blue
  EXPECT_GT(bare.b, 0);
  const SoakedCloth table = stack_of(c).table({}, kAgent);
  EXPECT_LT(table.sublayers.front().dye_left[0], 1e-6);
  EXPECT_EQ(table.sublayers.front().dye_left[1], 1);
}

TEST(ClothStack, ByproductTints) {
  Cloth c = demo::black_cloth();
  c.fibres[0].dyes[0].byproduct_k_per_um =
      spectrum_of([](std::size_t i) { return 0.002 * (1 - demo::sig(band_nm(i), 480, 30)); });
  EXPECT_EQ(stack_of(c).reflectance({}, {}), stack_of(demo::black_cloth()).reflectance({}, {}));
  EXPECT_GT(lab_of(stack_of(c).reflectance({}, kAgent)).b,
            lab_of(stack_of(demo::black_cloth()).reflectance({}, kAgent)).b + 5);
}

TEST(ClothStack, PoresAndFibreSurface) {
  Cloth c = demo::black_cloth();
  c.backing = Spectrum::flat(0.6);
  const double ply = stack_of(c).reflectance({}, {})[0];
  c.pores = 0.02;
  EXPECT_NEAR(stack_of(c).reflectance({}, {})[0], 0.98 * ply + 0.02 * 0.6, 1e-12);
  c.surface = 0.01;
  EXPECT_NEAR(stack_of(c).reflectance({}, {})[0], 0.01 + 0.99 * (0.98 * ply + 0.02 * 0.6), 1e-12);
  EXPECT_NEAR(stack_of(c).reflectance({}, {}, 0.5)[0], 0.005 + 0.995 * (0.98 * ply + 0.02 * 0.6), 1e-12);
  EXPECT_NEAR(stack_of(c).reflectance({}, {}, 0)[0], 0.98 * ply + 0.02 * 0.6, 1e-12);
}

// Clear binder takes scattering away: the cloth goes darker, as wet cloth does.
TEST(ClothStack, BinderThatWetsDarkens) {
  Cloth c = demo::undyed_cloth();
  const KSSpectra clear{};
  const std::array<SoakedInk, 1> wets{{{&clear, {30}, {60}, 1}}}, dry{{{&clear, {30}, {60}, 0}}};
  EXPECT_LT(lab_of(stack_of(c).reflectance(wets, {})).l, lab_of(stack_of(c).reflectance({}, {})).l - 0.1);
  EXPECT_EQ(stack_of(c).reflectance(dry, {}), stack_of(c).reflectance({}, {}));
  c.wetting = 0;
  EXPECT_EQ(stack_of(c).reflectance(wets, {}), stack_of(c).reflectance({}, {}));
}

TEST(ClothStack, PoreVolumeKeepsEveryDropOfInk) {
  test::RandomValues random(5);
  const KSSpectra ink = demo::yellow();
  for (int trial = 0; trial < 2000; ++trial) {
    SCOPED_TRACE(trial);
    Cloth c = demo::undyed_cloth();
    c.pore_volume = random.even(0, 1);
    c.thickness = {random.even(100, 900)};
    std::vector<SoakedInk> inks;
    for (int m = 0; m < 3; ++m)
      inks.push_back({&ink, {random.log_or_zero(0.1, 400)}, {random.even(5, 300)}, random.even(0, 1)});
    const ClothStack s = stack_of(c);
    const SoakedCloth table = s.table(inks, {});
    std::array<double, 3> held{};
    for (const ClothSublayer& j : table.sublayers) {
      double v = 0;
      for (std::size_t m = 0; m < 3; ++m) {
        ASSERT_GE(j.ink_volume[m], 0);
        held[m] += j.ink_volume[m] * j.thickness.v;
        v += j.ink_volume[m];
      }
      ASSERT_LE(v, c.pore_volume + 1e-12);
    }
    const std::vector<Um> overflow = s.overflow(inks);
    for (std::size_t m = 0; m < 3; ++m) {
      EXPECT_NEAR(held[m] + table.overflow[m].v, inks[m].volume.v, 1e-9);
      EXPECT_EQ(overflow[m].v, table.overflow[m].v);
    }
    const Spectrum r = s.reflectance(inks, {});
    for (double v : r.v) ASSERT_TRUE(v >= 0 && v <= 1);
  }
  // What fits goes in whole; what does not fit is exactly the rest.
  Cloth c = demo::undyed_cloth();
  c.pore_volume = 0.5;
  const std::array<SoakedInk, 1> fits{{{&ink, {250}, {60}, 1}}}, too_much{{{&ink, {251}, {60}, 1}}};
  EXPECT_NEAR(stack_of(c).overflow(fits)[0].v, 0, 1e-9);
  EXPECT_NEAR(stack_of(c).overflow(too_much)[0].v, 1, 1e-9);
}

TEST(ClothStack, PropertiesOfRandomCloths) {
  test::RandomValues random(6);
  for (int trial = 0; trial < 2000; ++trial) {
    SCOPED_TRACE(trial);
    Cloth c = demo::black_cloth(random.even(0, 1));
    c.fibres[0].dyes[0].k_per_um = Spectrum::flat(random.log_or_zero(1e-5, 0.3));
    c.fibres[0].takes_agent = random.even(0, 1);
    c.backing = Spectrum::flat(random.even(0, 1));
    c.pores = random.even(0, 0.1);
    c.surface = random.even(0, 0.03);
    const KSSpectra ink = demo::yellow();
    const std::vector<SoakedInk> inks{
        {&ink, {random.log_or_zero(0.1, 60)}, {random.even(20, 200)}, random.even(0, 1)}};
    const std::vector<SoakedAgent> agents{{random.log_or_zero(0.01, 20), {random.even(40, 300)}}};
    const Spectrum r = stack_of(c).reflectance(inks, agents);
    for (double v : r.v) ASSERT_TRUE(v >= 0 && v <= 1);
    // More dye never lightens.
    Cloth darker = c;
    darker.fibres[0].dyes[0].k_per_um *= 1.3;
    const Spectrum d = stack_of(darker).reflectance(inks, agents);
    for (std::size_t i = 0; i < kBands; ++i) ASSERT_LE(d[i], r[i] + 1e-12);
    // More agent never darkens (no by-product here).
    std::vector<SoakedAgent> more = agents;
    more[0].dose_g_m2 *= 1.5;
    const Spectrum m = stack_of(c).reflectance(inks, more);
    for (std::size_t i = 0; i < kBands; ++i) ASSERT_GE(m[i], r[i] - 1e-12);
    // A white film above the ground in every band never darkens it.
    const Spectrum w = film_over(KSSpectra{{}, Spectrum::flat(1)}, random.log_or_zero(0.1, 100), r);
    for (std::size_t i = 0; i < kBands; ++i) ASSERT_GE(w[i], r[i] - 1e-12);
  }
}

TEST(ClothStack, AgentInTwoPartsIsTheSum) {
  const ClothStack s = stack_of(demo::black_cloth());
  const std::array<SoakedAgent, 2> parts{{{2, {120}}, {4, {120}}}};
  EXPECT_LT(largest_difference(s.reflectance({}, parts), s.reflectance({}, kAgent)), 1e-12);
}

TEST(ClothStack, TableAgreesWithTheClosedForms) {
  const ClothStack s = stack_of(demo::black_cloth());
  const SoakedCloth t = s.table({}, kAgent);
  ASSERT_EQ(t.sublayers.size(), static_cast<std::size_t>(kSublayers));
  double agent = 0, depth = 0;
  for (const ClothSublayer& j : t.sublayers) {
    EXPECT_NEAR(j.top.v, depth, 1e-9);
    depth += j.thickness.v;
    agent += j.agent_g_cm3 * j.thickness.v;
    // Mean of the exponential over the sublayer, by a fine midpoint rule.
    double mean = 0;
    for (int i = 0; i < 1000; ++i) {
      const double z = j.top.v + j.thickness.v * (i + 0.5) / 1000;
      const double a = 6 * std::exp(-z / 120) / (120 * (1 - std::exp(-500.0 / 120)));
      mean += dye_left(0.99, a * exposure_per_agent(demo::process())) / 1000;
    }
    EXPECT_NEAR(j.dye_left[0], mean, 1e-5);
  }
  EXPECT_NEAR(depth, 500, 1e-9);
  EXPECT_NEAR(agent, 6, 1e-9);
}

TEST(ClothStack, EffectiveGround) {
  const KSSpectra even = stack_of(demo::black_cloth()).effective_ground({}, {});
  for (std::size_t i = 0; i < kBands; ++i) {
    EXPECT_NEAR(even.k[i], demo::fibre().k[i] + 0.15, 1e-12);
    EXPECT_NEAR(even.s[i], 0.008, 1e-12);
  }
  // Discharged: light turns where the dye is gone, so K lies near that of the face, far from the depth's.
  const ClothStack s = stack_of(demo::black_cloth());
  const double face = demo::fibre().k[20] + 0.15 * s.table({}, kAgent).sublayers.front().dye_left[0];
  const double k = s.effective_ground({}, kAgent).k[20];
  EXPECT_GE(k, face);
  EXPECT_LT(k, 0.15 / 10);
  // Nothing scatters: the plain mean.
  Cloth clear = demo::undyed_cloth();
  clear.fibres[0].fibre = {Spectrum::flat(0.01), Spectrum::flat(0)};
  EXPECT_NEAR(stack_of(clear).effective_ground({}, {}).k[0], 0.01, 1e-12);
}

TEST(ClothStack, RefusesBadArguments) {
  const auto refused = [](auto change) {
    Cloth c = demo::black_cloth();
    change(c);
    EXPECT_THROW(stack_of(c), std::domain_error);
  };
  for (double bad : {-1e-12, kNaN}) {
    refused([&](Cloth& c) { c.fibres[0].fibre.k[3] = bad; });
    refused([&](Cloth& c) { c.fibres[0].fibre.s[3] = bad; });
    refused([&](Cloth& c) { c.fibres[0].dyes[0].k_per_um[3] = bad; });
    refused([&](Cloth& c) { c.fibres[0].dyes[0].byproduct_k_per_um[3] = bad; });
    refused([&](Cloth& c) { c.fibres[0].dyes[0].reducible = bad; });
    refused([&](Cloth& c) { c.fibres[0].dyes[0].rate = bad; });
    refused([&](Cloth& c) { c.fibres[0].takes_agent = bad; });
    refused([&](Cloth& c) { c.thickness = {bad}; });
    refused([&](Cloth& c) { c.backing[3] = bad; });
    refused([&](Cloth& c) { c.pores = bad; });
    refused([&](Cloth& c) { c.surface = bad; });
    refused([&](Cloth& c) { c.wetting = bad; });
    refused([&](Cloth& c) { c.pore_volume = bad; });
  }
  refused([&](Cloth& c) { c.backing[3] = 1 + 1e-12; });
  refused([&](Cloth& c) { c.fibres[0].dyes[0].rate = 0; });
  const ClothStack s = stack_of(demo::black_cloth());
  const KSSpectra ink = demo::yellow();
  for (double bad : {-1e-12, kNaN}) {
    const std::array<SoakedInk, 1> volume{{{&ink, {bad}, {60}, 1}}}, depth{{{&ink, {1}, {bad}, 1}}},
        wets{{{&ink, {1}, {60}, bad}}};
    const std::array<SoakedAgent, 1> dose{{{bad, {120}}}}, agent_depth{{{1, {bad}}}};
    EXPECT_THROW(s.reflectance(volume, {}), std::domain_error);
    EXPECT_THROW(s.reflectance(depth, {}), std::domain_error);
    EXPECT_THROW(s.reflectance(wets, {}), std::domain_error);
    EXPECT_THROW(s.reflectance({}, dose), std::domain_error);
    EXPECT_THROW(s.reflectance({}, agent_depth), std::domain_error);
    EXPECT_THROW(s.reflectance({}, {}, bad), std::domain_error);
  }
}

}  // namespace
}  // namespace kirtle
