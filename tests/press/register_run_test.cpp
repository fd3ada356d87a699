// Where plates land: statistics of pairs, pallets, set-up, shrink; one shirt alone and in a run.
#include "press/register_run.h"

#include "press/statistics.h"

#include <cmath>
#include <cstring>
#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>

namespace kirtle {
namespace {

RegisterModel model_of(int passes, Mm pair_sigma) {
  RegisterModel m;
  m.seed = 41;
  m.pair_sigma = pair_sigma;
  for (int i = 0; i < passes; ++i) m.passes.push_back({i, {}, 0});
  return m;
}

bool same_bytes(const RegisterOffset& a, const RegisterOffset& b) {
  return std::memcmp(&a, &b, sizeof(RegisterOffset)) == 0;
}

TEST(RegisterRun, NothingMovesOnAPerfectPress) {
  const RegisterRun run(model_of(4, {0}));
  for (int pass = 0; pass < 4; ++pass) EXPECT_TRUE(run.offset_of(9, pass).is_zero());
}

TEST(RegisterRun, Shirt317AloneIsShirt317OfTheRun) {
  RegisterModel m = model_of(3, {0.08});
  m.turn_sigma_deg = 0.01;
  m.setup_sigma = {0.05};
  m.pallets = 8;
  const RegisterRun whole(m);
  std::vector<RegisterOffset> in_run;
  for (std::uint32_t shirt = 1; shirt <= 317; ++shirt) in_run = whole.offsets_of(shirt);
  const RegisterRun alone(m);
  for (int pass : {2, 0, 1}) EXPECT_TRUE(same_bytes(alone.offset_of(317, pass), in_run[pass])) << pass;
  // A pass added at the end leaves those before where they were.
  m.passes.push_back({3, {}, 0});
  EXPECT_TRUE(same_bytes(RegisterRun(m).offset_of(317, 2), in_run[2]));
  m.seed = 42;
  EXPECT_FALSE(same_bytes(RegisterRun(m).offset_of(317, 2), in_run[2]));
}

// The bytes themselves, so that another machine or compiler that differs is found out. Truth: our own stored
// output.
TEST(RegisterRun, BytesAgreeEverywhere) {
  const RegisterOffset o = RegisterRun(model_of(3, {0.08})).offset_of(317, 2);
  EXPECT_EQ(o.dx.v, 0x1.b0317b272581bp-4);
  EXPECT_EQ(o.dy.v, -0x1.c8f909da4972cp-8);
}

// Truth: the variance of n normal draws about a known mean is sigma^2 +- sigma^2 sqrt(2 / n) (1 s.d.); 99.9 %
// bands shared by the 6 pairs, 2 axes and 3 presses (Bonferroni: 4.27 s.d. for 36 statements).
TEST(RegisterRun, EveryPairHasThePairSigmaOnEachAxis) {
  constexpr int kShirts = 20000;
  constexpr double kZ = 4.27;
  for (const double sigma : {0.05, 0.13, 0.25}) {
    const RegisterRun run(model_of(4, {sigma}));
    for (int a = 0; a < 4; ++a) {
      for (int b = a + 1; b < 4; ++b) {
        double xx = 0, yy = 0, xy = 0;
        for (std::uint32_t shirt = 1; shirt <= kShirts; ++shirt) {
          const RegisterOffset p = run.offset_of(shirt, a), q = run.offset_of(shirt, b);
          const double x = (p.dx.v - q.dx.v) / sigma, y = (p.dy.v - q.dy.v) / sigma;
          xx += x * x;
          yy += y * y;
          xy += x * y;
        }
        EXPECT_NEAR(xx / kShirts, 1, kZ * std::sqrt(2.0 / kShirts)) << sigma << ' ' << a << b;
        EXPECT_NEAR(yy / kShirts, 1, kZ * std::sqrt(2.0 / kShirts)) << sigma << ' ' << a << b;
        EXPECT_NEAR(xy / kShirts, 0, kZ / std::sqrt(1.0 * kShirts)) << sigma << ' ' << a << b;
      }
    }
  }
}

// Truth: P(|N(0, 1)| < 2.5) = 0.98758, closed form.
TEST(RegisterRun, HoldsIsKeptByNinetyEightShirtsInAHundred) {
  PressPreset preset;
  preset.pallets = 8;
  preset.setup_sigma = {0.2};
  const RegisterModel m = register_model(preset, Mm{0.25}, {{0, {}, 0}, {1, {}, 0}}, 3);
  EXPECT_DOUBLE_EQ(m.pair_sigma.v, 0.1);
  EXPECT_EQ(m.setup_sigma.v, 0) << "\"holds\" stands for all that moves";
  EXPECT_EQ(m.pallets, 8);
  const RegisterRun run(m);
  std::int64_t out = 0;
  for (std::uint32_t shirt = 1; shirt <= 20000; ++shirt)
    out += std::abs(run.offset_of(shirt, 0).dx.v - run.offset_of(shirt, 1).dx.v) > 0.25;
  EXPECT_TRUE(test::count_is_likely(out, 20000, std::erfc(2.5 / std::sqrt(2.0)), 1e-3)) << out;
}

TEST(RegisterRun, PresetGivesItsFiguresAndSetUpOnlyIfAsked) {
  PressPreset preset;
  preset.pair_sigma = {0.08};
  preset.turn_sigma_deg = 0.01;
  preset.setup_sigma = {0.1};
  preset.setup_turn_sigma_deg = 0.02;
  const RegisterModel given = register_model(preset, {{0, {}, 0}}, 1, false);
  EXPECT_EQ(given.pair_sigma.v, 0.08);
  EXPECT_EQ(given.turn_sigma_deg, 0.01);
  EXPECT_EQ(given.setup_sigma.v, 0);
  EXPECT_EQ(given.setup_turn_sigma_deg, 0);
  const RegisterModel drawn = register_model(preset, {{0, {}, 0}}, 1, true);
  EXPECT_EQ(drawn.setup_sigma.v, 0.1);
  EXPECT_EQ(drawn.setup_turn_sigma_deg, 0.02);
}

TEST(RegisterRun, ABadPalletCountsAsItsShare) {
  RegisterModel m = model_of(3, {0});
  m.pallets = 8;
  m.pallet_biases = {{3, 1, {0.4}, {-0.1}}};
  const RegisterRun run(m);
  int bad = 0;
  for (std::uint32_t shirt = 1; shirt <= 144; ++shirt) {
    EXPECT_TRUE(run.offset_of(shirt, 0).is_zero());
    const RegisterOffset o = run.offset_of(shirt, 1);
    EXPECT_TRUE(same_bytes(o, run.offset_of(shirt, 2)));
    bad += !o.is_zero();
    if (run.pallet_of(shirt) == 3) {
      EXPECT_EQ(o.dx.v, 0.4);
      EXPECT_EQ(o.dy.v, -0.1);
    }
  }
  EXPECT_EQ(bad, 144 / 8);
  EXPECT_EQ(run.pallet_of(1), 1);
  EXPECT_EQ(run.pallet_of(8), 8);
  EXPECT_EQ(run.pallet_of(9), 1);
}

TEST(RegisterRun, SetUpIsOneForAScreenAndForTheRun) {
  RegisterModel m = model_of(3, {0});
  m.setup_sigma = {0.1};
  m.setup_turn_sigma_deg = 0.03;
  m.passes[2].screen = 0;
  m.passes[1].setup.dx = {0.5};
  const RegisterRun run(m);
  EXPECT_FALSE(run.offset_of(1, 0).is_zero());
  EXPECT_TRUE(same_bytes(run.offset_of(1, 0), run.offset_of(90, 0)));
  EXPECT_TRUE(same_bytes(run.offset_of(1, 0), run.offset_of(1, 2))) << "the same screen, printed again";
  m.passes[1].setup.dx = {0};
  EXPECT_DOUBLE_EQ(run.offset_of(1, 1).dx.v - RegisterRun(m).offset_of(1, 1).dx.v, 0.5);
  // Over many runs the set-up of a pair has its sigma (99.9 % bands of a variance).
  double xx = 0, turn = 0;
  constexpr int kRuns = 20000;
  for (int i = 0; i < kRuns; ++i) {
    m.seed = static_cast<std::uint64_t>(i);
    const RegisterRun other(m);
    const RegisterOffset p = other.offset_of(1, 0), q = other.offset_of(1, 1);
    xx += (p.dx.v - q.dx.v) * (p.dx.v - q.dx.v) / 0.01;
    turn += q.turn_deg * q.turn_deg / 9e-4;
  }
  EXPECT_NEAR(xx / kRuns, 1, 3.29 * std::sqrt(2.0 / kRuns));
  EXPECT_NEAR(turn / kRuns, 1, 3.29 * std::sqrt(2.0 / kRuns));
}

// Truth: geometry. A 300 mm print on cloth that shrinks by 0.2 % after the first head: the second plate is
// 0.6 mm longer than the first print has become, 0.3 mm at each end.
TEST(RegisterRun, FlashShrinkMovesAllLaterPlates) {
  RegisterModel m = model_of(4, {0});
  m.passes[0].flash_shrink = 0.002;
  m.passes[2].flash_shrink = 0.001;
  m.passes[3].setup.stretch_x = 0.001;
  const RegisterRun run(m);
  EXPECT_TRUE(run.offset_of(1, 0).is_zero());
  EXPECT_NEAR(150 * run.offset_of(1, 1).stretch_x, 0.3, 1e-3);
  EXPECT_NEAR(run.offset_of(1, 1).stretch_y, 1 / 0.998 - 1, 1e-15);
  EXPECT_EQ(run.offset_of(1, 2).stretch_x, run.offset_of(1, 1).stretch_x);
  EXPECT_TRUE(same_bytes(run.fixed_of(3), run.offset_of(1, 3))) << "nothing else moves on this press";
  EXPECT_NEAR(run.offset_of(1, 3).stretch_y, 1 / (0.998 * 0.999) - 1, 1e-15);
  EXPECT_NEAR(run.offset_of(1, 3).stretch_x, 1.001 / (0.998 * 0.999) - 1, 1e-15);
}

TEST(RegisterRun, PlacementIsWhatAllPlatesShare) {
  const RegisterRun run(model_of(5, {0.1}));
  const std::vector<RegisterOffset> before = run.offsets_of(4);
  std::vector<RegisterOffset> moved = before;
  for (RegisterOffset& o : moved) {
    o.dx.v += 20;
    o.dy.v -= 3;
  }
  EXPECT_NEAR(placement_of(moved).dx.v - placement_of(before).dx.v, 20, 1e-12);
  EXPECT_NEAR(placement_of(moved).dy.v - placement_of(before).dy.v, -3, 1e-12);
  const std::vector<RegisterOffset> a = without_placement(before), b = without_placement(moved);
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_NEAR(a[i].dx.v, b[i].dx.v, 1e-12);
    EXPECT_NEAR(a[i].dx.v - a[0].dx.v, before[i].dx.v - before[0].dx.v, 1e-12);
  }
  EXPECT_NEAR(placement_of(a).dx.v, 0, 1e-15);
  EXPECT_EQ(placement_of({}).dx.v, 0);
}

TEST(RegisterRun, LimitsOfTheModel) {
  const auto with = [](auto change) {
    RegisterModel m = model_of(2, {0.1});
    m.pallets = 4;
    change(m);
    RegisterRun run(m);
  };
  const double nan = std::nan(""), inf = std::numeric_limits<double>::infinity();
  for (const double bad : {-1e-9, nan, inf}) {
    EXPECT_THROW(with([&](RegisterModel& m) { m.pair_sigma = {bad}; }), std::domain_error);
    EXPECT_THROW(with([&](RegisterModel& m) { m.setup_sigma = {bad}; }), std::domain_error);
    EXPECT_THROW(with([&](RegisterModel& m) { m.turn_sigma_deg = bad; }), std::domain_error);
    EXPECT_THROW(with([&](RegisterModel& m) { m.setup_turn_sigma_deg = bad; }), std::domain_error);
    EXPECT_THROW(with([&](RegisterModel& m) { m.passes[0].flash_shrink = bad; }), std::domain_error);
  }
  EXPECT_NO_THROW(with([](RegisterModel& m) { m.passes[0].flash_shrink = 0.05; }));
  EXPECT_THROW(with([](RegisterModel& m) { m.passes[0].flash_shrink = 0.0501; }), std::domain_error);
  EXPECT_THROW(with([](RegisterModel& m) { m.pallets = 0; }), std::domain_error);
  EXPECT_NO_THROW(with([](RegisterModel& m) { m.pallet_biases = {{4, 1, {1}, {0}}}; }));
  EXPECT_THROW(with([](RegisterModel& m) { m.pallet_biases = {{5, 1, {1}, {0}}}; }), std::domain_error);
  EXPECT_THROW(with([](RegisterModel& m) { m.pallet_biases = {{0, 1, {1}, {0}}}; }), std::domain_error);
  EXPECT_THROW(with([](RegisterModel& m) { m.pallet_biases = {{4, 2, {1}, {0}}}; }), std::domain_error);
  EXPECT_THROW(with([&](RegisterModel& m) { m.pallet_biases = {{4, 1, {nan}, {0}}}; }), std::domain_error);
}

}  // namespace
}  // namespace kirtle
