#include "print/pair_form.h"

#include "light/delta_e_2000.h"
#include "light/weights.h"
#include "print/halftone_cases.h"
#include "print/mixing.h"
#include "print/print_checks.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using demo::GroundKind;
using test::Errors;
using test::kD50;
using test::kGroundNames;
using test::kGrounds;
using test::RandomValues;

Spectrum mixed(const PairForm& form, const Overprint& p, const Overprint& q, double tone) {
  return (1 - tone) * (1 - tone) * mean_reflectance(p) + 2 * tone * (1 - tone) * form.pair(p, q, {1}) +
         tone * tone * mean_reflectance(q);
}

double de00(const Spectrum& a, const Spectrum& b) {
  return delta_e_2000(lab_from_reflectance(a, kD50), lab_from_reflectance(b, kD50));
}

TEST(PairForm, WithoutScatterIsTheAreaMean) {
  RandomValues random(1);
  for (int run = 0; run < 200; ++run) {
    const Stack stack(demo::random_cloth(random), demo::random_passes(random, 3), 3, demo::process(), {});
    const Overprint p = stack.at(std::vector{1.0, 0.0, 1.0}), q = stack.at(std::vector{1.0, 1.0, 0.0});
    const Spectrum pair = PairForm::pair_at(p, q, Spectrum::flat(0));
    const Spectrum rp = mean_reflectance(p), rq = mean_reflectance(q);
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(pair[i], (rp[i] + rq[i]) / 2, 1e-12);
  }
}

// Yule, Nielsen 1951 with n = 2, for any number of clear inks: no surface, no fibres showing through, nothing
// soaked.
TEST(PairForm, ClearInksWithFullScatterAreYuleNielsenTwo) {
  RandomValues random(2);
  for (int run = 0; run < 50; ++run) {
    std::vector<StackPass> passes;
    for (int i = 0; i < 3; ++i) {
      passes.push_back(demo::film_pass(i, {demo::random_spectrum(random, 0, 0.1), {}}, random.even(5, 40)));
    }
    Cloth cloth = demo::undyed_cloth();
    const Stack stack(cloth, passes, 3, demo::process(), {});
    const std::vector<double> w =
        demichel(std::vector{random.even(0, 1), random.even(0, 1), random.even(0, 1)});
    std::vector<Overprint> o;
    for (int i = 0; i < 8; ++i) {
      o.push_back(stack.at(std::vector{i & 1 ? 1.0 : 0.0, i & 2 ? 1.0 : 0.0, i & 4 ? 1.0 : 0.0}));
    }
    Spectrum sum;
    for (int p = 0; p < 8; ++p) {
      for (int q = 0; q < 8; ++q) sum += w[p] * w[q] * PairForm::pair_at(o[p], o[q], Spectrum::flat(1));
    }
    for (std::size_t b = 0; b < kBands; ++b) {
      std::vector<double> v;
      for (const Overprint& each : o) v.push_back(each.reflectance[0][b]);
      EXPECT_NEAR(sum[b], yule_nielsen(w, v, 2), 1e-12);
    }
  }
}

TEST(PairForm, IsSymmetricAndOfEqualPilesThePileItself) {
  RandomValues random(3);
  const PairForm form({demo::round_dots(55), demo::round_dots(55, 52.5), demo::round_dots(45)});
  for (int run = 0; run < 200; ++run) {
    const Stack stack(demo::random_cloth(random), demo::random_passes(random, 3), 3, demo::process(), {});
    const Overprint p = stack.at(std::vector{1.0, 0.0, 1.0}), q = stack.at(std::vector{1.0, 1.0, 0.3});
    const Spectrum pq = form.pair(p, q, {1, 2}), qp = form.pair(q, p, {1, 2}), pp = form.pair(p, p, {});
    const Spectrum rp = mean_reflectance(p);
    const Spectrum same = PairForm::pair_at(p, p, Spectrum::flat(0.7));
    for (std::size_t i = 0; i < kBands; ++i) {
      EXPECT_NEAR(pq[i], qp[i], 1e-9);
      EXPECT_GE(pq[i], 0);
      EXPECT_LE(pq[i], 1);
      EXPECT_EQ(pp[i], rp[i]);
      EXPECT_NEAR(same[i], rp[i], 1e-12);
    }
  }
}

TEST(PairForm, AFieldMixesAsOnACommonGround) {
  const PairForm form({demo::round_dots(55, 22.5, true), demo::round_dots(55)});
  const Stack stack(demo::black_cloth(), {demo::agent_pass(0, 6), demo::film_pass(1, demo::red(), 25)}, 2,
                    demo::process(), {});
  const Overprint p = stack.at(std::vector{0.0, 1.0}), q = stack.at(std::vector{1.0, 1.0});
  EXPECT_EQ(form.scatter_share(p, q, 0, {0}), Spectrum::flat(1));
}

// Closed form: one ink at 50 % whose pattern the ground removes altogether is one even film of the mean T and
// R0', R = mean R0 + rg mean(T)^2 / (1 - rg mean R0'), for opaque inks too.
TEST(PairForm, FullScatterAtHalfIsTheMeanFilmOverTheGround) {
  RandomValues random(4);
  for (int run = 0; run < 50; ++run) {
    const Stack stack(demo::undyed_cloth(),
                      {demo::film_pass(0, {demo::random_spectrum(random, 0, 0.1), Spectrum::flat(0.08)},
                                       random.even(5, 40))},
                      1, demo::process(), {});
    const Overprint bare = stack.at(std::vector{0.0}), film = stack.at(std::vector{1.0});
    const Spectrum pair = PairForm::pair_at(bare, film, Spectrum::flat(1));
    for (std::size_t b = 0; b < kBands; ++b) {
      const LayerRT layer = layers_above(film, 0, b);
      const double rg = bare.grounds[0].reflectance[b];
      EXPECT_NEAR(film.grounds[0].reflectance[b], rg, 1e-12);
      const double t = 0.5 * (1 + layer.t);
      const double even_film = 0.5 * layer.r0 + rg * t * t / (1 - rg * 0.5 * layer.r0_back);
      const double mixed = 0.25 * bare.reflectance[0][b] + 0.5 * pair[b] + 0.25 * film.reflectance[0][b];
      EXPECT_NEAR(mixed, even_film, 1e-9);
    }
  }
}

/// Pair form against the flux model, one ink, over line counts and tones.
void compare(const Stack& stack, const std::vector<double>& lines_per_inch, Errors& per_tone,
             Errors& at_half) {
  constexpr int kSide = 48;
  const std::vector<Overprint> kinds{stack.at(std::vector{1.0, 0.0}), stack.at(std::vector{1.0, 1.0})};
  for (const double lpi : lines_per_inch) {
    const std::vector<PlateDots> dots{demo::round_dots(lpi), demo::round_dots(lpi)};
    const PairForm half(dots);
    for (const double percent : {5, 20, 35, 50, 65, 80, 95}) {
      const double tone = std::round(percent / 100 * kSide * kSide) / (kSide * kSide);
      const Spectrum flux = flux_reflectance(demo::dot_cell(DotShape::round, tone, lpi, kSide), kinds, 1e-5);
      per_tone.add(de00(mixed(PairForm(dots, tone), kinds[0], kinds[1], tone), flux));
      at_half.add(de00(mixed(half, kinds[0], kinds[1], tone), flux));
    }
  }
}

class PairFormAgainstFlux : public testing::TestWithParam<int> {
 protected:
  void record(const std::string& name, const Errors& per_tone, const Errors& at_half) {
    RecordProperty(name + "_m_per_tone_mean", std::to_string(per_tone.mean()));
    RecordProperty(name + "_m_per_tone_max", std::to_string(per_tone.max));
    RecordProperty(name + "_m_at_half_mean", std::to_string(at_half.mean()));
    RecordProperty(name + "_m_at_half_max", std::to_string(at_half.max));
  }
};

// Truth: the flux model of the same dots, solved sample by sample; no number is fitted. Five inks from clear
// to an opaque white straight on bright cloth, 45, 55 and 65 lines per inch, tones 5 to 95 %. With m at each
// tone every single case is within 0.3; with the one m at 50 % that predictions use the mean is. Figures are
// recorded as properties of the test.
TEST_P(PairFormAgainstFlux, OneInkIsCloseOnEveryGround) {
  const GroundKind ground = kGrounds[GetParam()];
  Errors all_per_tone, all_at_half;
  for (const demo::NamedInk& ink : demo::five_inks()) {
    Errors per_tone, at_half;
    compare(demo::halftone_stack(ground, ink.optics), {45, 55, 65}, per_tone, at_half);
    record(ink.name, per_tone, at_half);
    EXPECT_LT(per_tone.max, 0.3) << ink.name;
    all_per_tone.add(per_tone);
    all_at_half.add(at_half);
  }
  record("all", all_per_tone, all_at_half);
  EXPECT_LT(all_at_half.mean(), 0.3);
}

TEST_P(PairFormAgainstFlux, HoldsUnderAGlossySurface) {
  Errors per_tone, at_half;
  for (const demo::NamedInk& ink : demo::five_inks()) {
    compare(demo::halftone_stack(kGrounds[GetParam()], ink.optics, 0.5), {55}, per_tone, at_half);
  }
  record("all", per_tone, at_half);
  EXPECT_LT(per_tone.mean(), 0.15);
  EXPECT_LT(at_half.mean(), 0.3);
}

INSTANTIATE_TEST_SUITE_P(Grounds, PairFormAgainstFlux, testing::Values(0, 1, 2),
                         [](const testing::TestParamInfo<int>& ground) {
                           return kGroundNames[ground.param];
                         });

}  // namespace
}  // namespace kirtle
