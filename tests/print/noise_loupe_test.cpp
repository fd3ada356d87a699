// Dots of noise under the loupe against arm's length.
#include "print/loupe_prints.h"

#include <algorithm>
#include <gtest/gtest.h>
#include <string>

namespace kirtle {
namespace {

using demo::GroundKind;
using namespace loupe_test;

PlateDots noise_dots(double dot_um) {
  PlateDots dots;
  dots.halftone.shape = DotShape::noise;
  dots.halftone.dot = {dot_um};
  return dots;
}

/// Mean of one whole tile of 0.15 mm dots, 19.2 mm.
XYZ mean_of_tile(const FlatPrint& print, const LoupeSettings& settings, double dpi) {
  return mean_of(print.render({{5}, {5}, {19.2}, {19.2}, dpi}, settings));
}

// Truth: arm's length, where the two plates' dots fall independently (Demichel 1924), with ink spread. Two
// plates of one dot size, each with its tile elsewhere; 0.3: what is left of their likeness.
TEST(NoiseLoupe, WithoutScatterIsArmsLengthOnAverage) {
  const Stack stack(demo::undyed_cloth(),
                    {demo::film_pass(0, demo::yellow(), 20), demo::film_pass(1, demo::red(), 15)}, 2,
                    demo::process(), {});
  double worst = 0;
  for (const double spread : {0.0, 35.0}) {
    for (const double film : {0.1, 0.3, 0.6}) {
      const FlatPrint print(stack, {noise_dots(150), noise_dots(150)}, {film, 0.4}, spread, 3, 1.0);
      const double e = de00(mean_of_tile(print, {.scatter = false}, 1200), print.table.mix(print.printed));
      worst = std::max(worst, e);
      EXPECT_LT(e, 0.3) << spread << ' ' << film;
    }
  }
  RecordProperty("worst_de00", std::to_string(worst));
}

// Truth: the flux model that the loupe works out, on the tile; the pair form takes m from the spectrum of the
// tile at each tone. Three grounds, a clear, an opaque and a dark ink; four device pixels a dot, eight where
// light goes but 0.02 mm.
TEST(NoiseLoupe, WithScatterIsThePairForm) {
  double worst = 0, worst_one_m = 0;
  for (const GroundKind ground : {GroundKind::undyed, GroundKind::discharged, GroundKind::white_base}) {
    for (const demo::NamedInk& ink : demo::five_inks()) {
      if (std::string(ink.name) == "clear_yellow" || std::string(ink.name) == "half_opaque_red") continue;
      const Stack stack = demo::halftone_stack(ground, ink.optics);
      const double per_dot = ground == GroundKind::white_base ? 8 : 4;
      const Overprint p = stack.at(std::vector{1.0, 0.0}), q = stack.at(std::vector{1.0, 1.0});
      for (const double tone : {0.2, 0.5, 0.8}) {
        const std::vector<PlateDots> dots{demo::round_dots(55), noise_dots(150)};
        const FlatPrint print(stack, dots, {1, tone}, 0, 3);
        const XYZ loupe = mean_of_tile(print, {}, per_dot * 25400 / 150);
        const auto pair = [&](const PairForm& form) {
          return xyz_from_reflectance((1 - tone) * (1 - tone) * mean_reflectance(p) +
                                          2 * tone * (1 - tone) * form.pair(p, q, {1}) +
                                          tone * tone * mean_reflectance(q),
                                      kD50);
        };
        const double e = de00(loupe, pair(PairForm(dots, tone)));
        worst = std::max(worst, e);
        worst_one_m = std::max(worst_one_m, de00(loupe, pair(PairForm(dots))));
        EXPECT_LT(e, 0.3) << ink.name << ' ' << tone << ' ' << static_cast<int>(ground);
      }
    }
  }
  RecordProperty("worst_m_per_tone", std::to_string(worst));
  RecordProperty("worst_one_m", std::to_string(worst_one_m));
}

TEST(NoiseLoupe, DotsOfNoiseNeverSitOnDots) {
  const Stack stack(demo::undyed_cloth(),
                    {demo::film_pass(0, demo::yellow(), 20), demo::film_pass(1, demo::red(), 15)}, 2,
                    demo::process(), {});
  const OverprintTable noise(stack, {noise_dots(150), noise_dots(150)}, {kD50, 1.0});
  const OverprintTable apart(stack, {demo::round_dots(55, 0), demo::round_dots(55, 25)}, {kD50, 1.0});
  EXPECT_LT(de00(noise.mix(std::vector{0.4, 0.6}), apart.mix(std::vector{0.4, 0.6})), 1e-9);
}

}  // namespace
}  // namespace kirtle
