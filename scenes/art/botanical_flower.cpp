// Blossoms of the fruit garden print.
#include "art/botanical_parts.h"

#include <algorithm>

namespace kirtle::art::botanical {
namespace {

void petal(Inks& inks, const Path& spine, const std::function<double(double)>& half, Mix heart, Mix rim,
           Dice& dice) {
  const Path edge = blade(spine, half);
  clear(inks, edge, 0.55);
  const Path rough = resampled(spine, 10);
  paint(inks, edge, [&](Vec p) { return blend(heart, rim, smooth(0.0, 0.75, along(rough, p).s)); });
  // Veins of the petal in its heart colour; a fine edge.
  for (int i = -4; i <= 4; ++i) {
    const double k = i / 4.8;
    const Path vein =
        part(offset(spine, [&](double s) { return k * half(s); }), 0.05, dice.range(0.55, 0.86));
    line(inks, vein, tapering(0.42, 0.14), {heart[0] * 0.8, std::min(1.0, heart[1] + 0.15), heart[2]},
         Join::most);
  }
  line(inks, closed(edge), even_width(0.30), {0.1, 0.85, 0.15}, Join::most);
}

}  // namespace

void blossom(Inks& inks, Vec centre, double r_mm, double turn, double squash, Mix heart, Mix rim,
             std::uint32_t seed) {
  Dice dice(seed);
  const auto place = [&](Vec p) { return centre + rotated({p.x * r_mm, p.y * r_mm * squash}, turn); };
  for (const int i : {0, 2, 4, 1, 3}) {
    const double a = 2 * kPi * i / 5;
    const Path spine = resampled(moved(curve({polar(0.06, a), polar(0.55, a + dice.range(-0.06, 0.06)),
                                              polar(1.0, a + dice.range(-0.08, 0.08))},
                                             false, 0.03),
                                       place),
                                 50);
    petal(
        inks, spine,
        [=](double s) {
          const double ruffle = 1 + 0.05 * std::sin(s * 40 + i);
          return r_mm * 0.40 * std::pow(std::sin(kPi * std::pow(clamp01(0.03 + 0.965 * s), 1.35)), 0.62) *
                     ruffle +
                 0.03;
        },
        heart, rim, dice);
  }
  for (int i = 0; i < 22; ++i) {
    const double a = 2 * kPi * i / 22 + dice.range(-0.1, 0.1), l = dice.range(0.22, 0.42);
    const Path thread =
        moved(curve({polar(0.03, a), polar(l * 0.6, a + 0.06), polar(l, a + 0.12)}, false, 0.02), place);
    gouge(inks, thread, even_width(0.75));
    line(inks, thread, even_width(0.32), {0.3, 0.95, 0.1}, Join::most);
    const Path head = moved(ellipse(polar(l, a + 0.12), 0.048, 0.034, a, 0.006), place);
    clear(inks, head, 0.2);
    paint(inks, head, even({1.0, 0.35, 0}));
  }
  const Path heart_disc = moved(circle({0, 0}, 0.085, 0.01), place);
  clear(inks, heart_disc, 0.2);
  paint(inks, heart_disc, even({0.95, 0.15, 0.55}));
}

void blossom_bud(Inks& inks, Vec foot, double angle, double length_mm, Mix heart, Mix rim) {
  Dice dice(7);
  for (const double k : {-0.16, 0.16, 0.0}) {
    const Path spine =
        resampled(bezier(foot, foot + polar(length_mm * 0.4, angle + 2 * k),
                         foot + polar(length_mm * 0.75, angle + k), foot + polar(length_mm, angle + 0.2 * k)),
                  30);
    petal(
        inks, spine,
        [=](double s) {
          return length_mm * 0.17 * std::pow(std::sin(kPi * std::pow(clamp01(0.03 + 0.97 * s), 1.1)), 0.8) +
                 0.03;
        },
        heart, rim, dice);
  }
  const LeafLook cup{{0.9, 0, 0.8}, {0.85, 0, 0.5}, 0.7};
  for (const double k : {-0.5, 0.5, 0.0})
    small_leaf(inks, foot - polar(0.8, angle), angle + k, length_mm * 0.45, -k, cup);
}

}  // namespace kirtle::art::botanical
