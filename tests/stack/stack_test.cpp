#include "stack/stack.h"

#include "layer/kubelka_munk.h"
#include "light/weights.h"
#include "stack/stack_materials.h"

#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>

namespace kirtle {
namespace {

const ViewingWeights kD50 = viewing_weights("D50", Observer::cie1931_2deg);

Lab lab(const Cloth& cloth, const std::vector<StackPass>& passes) {
  const Stack stack(cloth, passes, static_cast<int>(passes.size()), demo::process(), {});
  return lab_from_reflectance(mean_reflectance(stack.at(std::vector<double>(passes.size(), 1.0))), kD50);
}

void expect_lab(const Lab& got, const Lab& want, double tolerance) {
  EXPECT_NEAR(got.l, want.l, tolerance);
  EXPECT_NEAR(got.a, want.a, tolerance);
  EXPECT_NEAR(got.b, want.b, tolerance);
}

// Truth: an independent script (numpy, Kubelka-Munk in its hyperbolic form); printed to 4 decimals. 0.01 is
// what a program in other arithmetic must keep.
TEST(Stack, MatchesAnIndependentScript) {
  const Cloth black = demo::black_cloth();
  const StackPass white = demo::film_pass(0, demo::white(), 60),
                  yellow = demo::film_pass(1, demo::yellow(), 25);
  StackPass alone = yellow;
  alone.plate = 0;
  StackPass glossy = yellow;
  glossy.ink.gloss = 1;
  expect_lab(lab(black, {}), {18.0648, -0.0014, 0.0039}, 0.01);
  expect_lab(lab(demo::undyed_cloth(), {}), {91.0309, -0.2460, 0.6664}, 0.01);
  expect_lab(lab(black, {white}), {93.8016, -1.1095, -0.5764}, 0.01);
  expect_lab(lab(black, {white, yellow}), {81.2134, 21.7133, 113.6562}, 0.01);
  expect_lab(lab(black, {alone}), {47.7269, 8.2931, 58.8513}, 0.01);
  expect_lab(lab(black, {white, glossy}), {73.5383, 24.4424, 81.4524}, 0.01);
}

// Truth: the same script at 1024 sublayers; 0.05 allows for the shipped number of sublayers.
TEST(Stack, DischargeMatchesAnIndependentScript) {
  const Cloth black = demo::black_cloth();
  expect_lab(lab(black, {demo::agent_pass(0, 6)}), {76.947, -0.092, 0.249}, 0.05);
  StackPass pigmented = demo::film_pass(0, demo::yellow(), 15);
  pigmented.ink.soak = 1;
  pigmented.ink.soak_depth = {60};
  pigmented.ink.wets = 0;
  pigmented.ink.agent_g_cm3 = 6.0 / 15;
  expect_lab(lab(black, {pigmented}), {71.705, 7.244, 70.779}, 0.05);
}

TEST(Stack, HeatherIsTheAreaMixOfItsFibres) {
  Cloth heather = demo::black_cloth();
  ClothFibre plain = demo::undyed_cloth().fibres[0];
  heather.fibres[0].share = 0.3;
  plain.share = 0.7;
  heather.fibres.push_back(plain);
  const std::vector<StackPass> passes{demo::film_pass(0, demo::white(), 10),
                                      demo::film_pass(1, demo::yellow(), 15)};
  const auto at = [&](const Cloth& cloth) {
    return mean_reflectance(Stack(cloth, passes, 2, demo::process(), {}).at(std::vector{1.0, 0.5}));
  };
  const Spectrum mixed = 0.3 * at(demo::black_cloth()) + 0.7 * at(demo::undyed_cloth());
  const Spectrum got = at(heather);
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(got[i], mixed[i], 1e-12);
}

TEST(Stack, ThinFilmsLetFibresShow) {
  Cloth cloth = demo::black_cloth();
  cloth.show_through = 0.3;
  const Lab open = lab(cloth, {demo::film_pass(0, demo::white(), 10)});
  const Lab closed = lab(demo::black_cloth(), {demo::film_pass(0, demo::white(), 10)});
  EXPECT_LT(open.l, closed.l - 1);
  EXPECT_NEAR(lab(cloth, {demo::film_pass(0, demo::white(), 150)}).l,
              lab(demo::black_cloth(), {demo::film_pass(0, demo::white(), 150)}).l, 0.01);
}

TEST(Stack, AnEffectInkIsDrawnFlatAndMarked) {
  StackPass pass = demo::film_pass(0, demo::white(), 5);
  pass.ink.effect = InkEffect::metallic;
  pass.ink.flat_reflectance = Spectrum::flat(0.42);
  for (Cloth cloth : {demo::black_cloth(), demo::undyed_cloth()}) {
    cloth.show_through = 0.6;
    const Stack stack(cloth, {pass}, 1, demo::process(), {});
    const Overprint o = stack.at(std::vector{1.0});
    EXPECT_TRUE(o.has_flat);
    EXPECT_FALSE(stack.at(std::vector{0.0}).has_flat);
    for (const double r : mean_reflectance(o).v) EXPECT_NEAR(r, 0.42, 2e-3);
  }
}

TEST(Stack, WithoutSurfaceLightAGlossyFilmIsDarker) {
  StackPass glossy = demo::film_pass(0, demo::red(), 60);
  glossy.ink.gloss = 1;
  StackSettings excluded;
  excluded.surface_light = false;
  const Stack with(demo::black_cloth(), {glossy}, 1, demo::process(), {});
  const Stack without(demo::black_cloth(), {glossy}, 1, demo::process(), excluded);
  const Spectrum a = mean_reflectance(with.at(std::vector{1.0})),
                 b = mean_reflectance(without.at(std::vector{1.0}));
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(a[i] - b[i], 0.04 * (1 - std::exp(-6.0)), 1e-12);
}

TEST(Stack, RefusesWhatIsOutOfRange) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto build = [](auto change) {
    Cloth cloth = demo::undyed_cloth();
    StackPass pass = demo::film_pass(0, demo::white(), 40);
    StackSettings settings;
    change(cloth, pass, settings);
    return Stack(cloth, {pass}, 1, demo::process(), settings);
  };
  using C = Cloth;
  using P = StackPass;
  using S = StackSettings;
  EXPECT_NO_THROW(build([](C&, P&, S&) {}));
  for (const double bad : {-1e-9, 1 + 1e-9, nan}) {
    EXPECT_THROW(build([&](C&, P&, S& s) { s.wet_trapping = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P&, S& s) { s.wet_pickup = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.soak = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.gloss = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.solids_by_volume = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C& c, P&, S&) { c.show_through = bad; }), std::domain_error);
  }
  for (const double bad : {-1e-9, nan, std::numeric_limits<double>::infinity()}) {
    EXPECT_THROW(build([&](C&, P& p, S&) { p.wet.v = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.optics.k[7] = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.optics.s[7] = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C&, P& p, S&) { p.ink.agent_g_cm3 = bad; }), std::domain_error);
  }
  for (const double bad : {0.0, nan}) {
    EXPECT_THROW(build([&](C&, P&, S& s) { s.barrier.v = bad; }), std::domain_error);
    EXPECT_THROW(build([&](C& c, P&, S&) { c.surface_fibres_um.v = bad; }), std::domain_error);
  }
  EXPECT_THROW(build([](C& c, P&, S&) { c.fibres[0].share = 0.9; }), std::domain_error);
}

}  // namespace
}  // namespace kirtle
