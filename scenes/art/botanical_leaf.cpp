// Leaves of the fruit garden print, cut like lino: bare veins, and glazes that mix where leaves overlap.
#include "art/botanical_parts.h"

#include <algorithm>

namespace kirtle::art::botanical {
namespace {

Colour leaf_colour(const Path& spine, const LeafLook& look) {
  const Path rough = resampled(spine, 24);
  return [rough, look](Vec p) {
    const Along a = along(rough, p);
    const double share = a.side_mm > 0 ? 1.0 : look.far_side;
    const Mix m = blend(look.foot, look.tip, smooth(0.0, 1.0, a.s));
    return Mix{clamp01(m[0] * mix(share, 1.0, 0.4)), clamp01(m[1] * share), clamp01(m[2] * share)};
  };
}

}  // namespace

void big_leaf(Inks& inks, const Path& spine, double half_mm, const LeafLook& look, std::uint32_t seed) {
  Dice dice(seed);
  const auto half = [=](double s) {
    const double wave = 1 + 0.035 * std::sin(s * 34 + seed) + 0.02 * std::sin(s * 71 + 2.0 * seed);
    return half_mm * std::pow(std::sin(kPi * std::pow(clamp01(s), 0.82)), 0.72) * wave + 0.05;
  };
  Plane cut = inks.plane[0].blank();
  fill(cut, blade(spine, half), 1);
  const double whole = length(spine);
  const int veins = static_cast<int>(whole / 3.1);
  for (const double hand : {-1.0, 1.0})
    for (int i = 1; i < veins; ++i) {
      const double s = mix(0.03, 0.93, (i + 0.25 * dice.bell()) / veins);
      const Vec root = point_at(spine, s), way = direction_at(spine, s), out = turned(way) * hand;
      const double reach = half(std::min(1.0, s + 0.07)) * 1.02;
      const Path vein = curve({root, root + out * (0.5 * reach) + way * (0.22 * reach),
                               root + out * reach + way * (0.62 * reach)},
                              false, 0.5);
      // Every few veins the leaf is torn in from its edge, as broad leaves are by wind.
      const bool torn = i % 7 == 3 && s < 0.78 && dice.unit() < 0.8;
      if (torn) {
        const Path slit = part(vein, dice.range(0.25, 0.5), 1.0);
        const Path longer = joined(slit, {slit.back() + direction_at(slit, 1) * 3});
        fill(cut, blade(resampled(longer, 20), [&](double t) { return 0.15 + 1.25 * t * t; }), 0);
      } else {
        stroke(cut, part(vein, 0.0, i % 2 ? 0.97 : dice.range(0.6, 0.9)), tapering(i % 2 ? 0.75 : 0.45, 0.22),
               0, Join::over);
      }
      // Short gouge marks from the edge.
      for (int k = 1; k < 3; ++k) {
        const Vec shift = way * (whole / veins * 0.9 * k / 3.0);
        const Path mark = moved(part(vein, dice.range(0.72, 0.84), 0.96), [&](Vec p) { return p + shift; });
        stroke(cut, mark, tapering(0.12, 0.42), 0, Join::over);
      }
    }
  stroke(cut, spine, tapering(2.0, 0.5), 0, Join::over);
  glaze(inks, cut, leaf_colour(spine, look));
}

void frond(Inks& inks, const Path& spine, double reach_mm, int pairs, double from, const LeafLook& look,
           std::uint32_t seed) {
  Dice dice(seed);
  Plane cut = inks.plane[0].blank();
  for (int i = 0; i < pairs; ++i)
    for (const double hand : {-1.0, 1.0}) {
      const double s = mix(from, 0.99, (i + (hand > 0 ? 0.0 : 0.45)) / pairs);
      const Vec root = point_at(spine, s), way = direction_at(spine, s), out = turned(way) * hand;
      const double l = reach_mm *
                       std::pow(std::sin(kPi * mix(0.20, 0.93, (s - 0.6 * from) / (1 - 0.6 * from))), 0.8) *
                       dice.range(0.93, 1.05);
      const double lean = mix(0.55, 1.5, s);
      const Vec dir = unit(out + way * lean), droop = unit(out * 0.8 + way * (lean + 0.9));
      const Path rib =
          resampled(bezier(root, root + dir * (l * 0.4), root + dir * (l * 0.65) + droop * (0.1 * l),
                           root + dir * (l * 0.55) + droop * (l * 0.5)),
                    40);
      const double wide = 0.062 * l + 0.7;
      const Path leaflet = blade(rib, [=](double t) {
        return wide * std::pow(std::sin(kPi * std::pow(clamp01(0.03 + 0.97 * t), 0.75)), 0.9) + 0.04;
      });
      stroke(cut, closed(leaflet), even_width(0.9), 0, Join::over);
      fill(cut, leaflet, 1);
      stroke(cut, part(rib, 0.06, 0.80), tapering(0.45, 0.18), 0, Join::over);
      stroke(cut, part(offset(rib, [=](double) { return 0.45 * wide; }), 0.2, 0.62),
             swelling(0.12, 0.26, 0.12), 0, Join::over);
      stroke(cut, part(offset(rib, [=](double) { return -0.45 * wide; }), 0.2, 0.62),
             swelling(0.12, 0.26, 0.12), 0, Join::over);
    }
  const Path stem = part(spine, 0.8 * from, 1);
  stroke(cut, stem, tapering(3.0, 1.6), 0, Join::over);
  stroke(cut, stem, tapering(1.8, 0.6), 1, Join::over);
  glaze(inks, cut, leaf_colour(spine, look));
}

void split_leaf(Inks& inks, Vec foot, double angle, double size_mm, const LeafLook& look,
                std::uint32_t seed) {
  Dice dice(seed);
  const auto place = [&](Vec p) { return foot + rotated(p * size_mm, angle); };
  // Heart shape along +x, tip at 1.
  Path half{{0.0, 0.0},   {-0.10, 0.13}, {-0.13, 0.28}, {-0.02, 0.43}, {0.18, 0.50},
            {0.42, 0.47}, {0.66, 0.36},  {0.86, 0.18},  {1.0, 0.0}};
  const Path one = curve(half, false, 0.01);
  const Path other = moved(one, [](Vec p) { return Vec{p.x, -p.y}; });
  const Path heart = moved(joined(one, reversed(other)), place);
  Plane cut = inks.plane[0].blank();
  fill(cut, heart, 1);
  const auto edge_at = [&](double x, double hand) {
    Vec best = one.front();
    for (const Vec p : one)
      if (p.y > 0.05 && std::abs(p.x - x) < std::abs(best.x - x)) best = p;
    return Vec{best.x, best.y * hand};
  };
  for (const double hand : {-1.0, 1.0})
    for (int i = 0; i < 7; ++i) {
      const double x = 0.06 + 0.115 * i;
      const Vec tip = edge_at(std::min(0.97, x + 0.02 + 0.13 * (i + 1) / 7.0 * 1.0 + 0.02 * i), hand);
      const Vec root{x - 0.02, 0};
      const Path vein =
          moved(curve({root, mix(root, tip, 0.5) + Vec{-0.02, 0.015 * hand}, tip}, false, 0.01), place);
      stroke(cut, vein, tapering(1.0, 0.35), 0, Join::over);
      // Twigs of the vein.
      for (int k = 1; k < 7; ++k) {
        const double s = 0.12 + 0.12 * k;
        const Vec q = point_at(vein, s), way = direction_at(vein, s);
        for (const double h : {-1.0, 1.0})
          stroke(cut, {q, q + (way * 0.9 + turned(way) * h) * (size_mm * 0.026 * (1.2 - 0.5 * s))},
                 tapering(0.35, 0.16), 0, Join::over);
      }
      if (i == 6) continue;
      // Deep cut between this vein and the next.
      const Vec gap_edge = edge_at(std::min(0.93, x + 0.10 + 0.022 * (i + 1)), hand);
      const Vec inner = mix(Vec{x + 0.055, 0}, gap_edge, dice.range(0.42, 0.52));
      const Path slot = moved(
          resampled(Path{inner, mix(inner, gap_edge, 0.5) + Vec{0.008, 0}, mix(inner, gap_edge, 1.18)}, 30),
          place);
      const double w = size_mm * 0.026;
      fill(cut,
           blade(slot,
                 [=](double t) {
                   return w * (std::sqrt(clamp01(t * 5)) * (1 - 0.35 * smooth(0.1, 0.7, t)) + 0.25 * t);
                 }),
           0);
      // Small eye holes near the midrib.
      if (i > 0 && i < 5)
        fill(cut,
             ellipse(place({x + 0.052, hand * 0.085}), size_mm * 0.024, size_mm * 0.011, angle + hand * 0.9),
             0);
    }
  const Path rib = moved(Path{{-0.02, 0}, {0.99, 0}}, place);
  stroke(cut, rib, tapering(2.2, 0.5), 0, Join::over);
  const Path spine = resampled(rib, 20);
  glaze(inks, cut, leaf_colour(spine, look));
}

void small_leaf(Inks& inks, Vec foot, double angle, double length_mm, double bend, const LeafLook& look) {
  const Path spine =
      resampled(bezier(foot, foot + polar(length_mm * 0.35, angle - bend * 0.5),
                       foot + polar(length_mm * 0.7, angle), foot + polar(length_mm, angle + bend * 0.5)),
                50);
  const auto half = [=](double s) {
    return length_mm * 0.19 * std::pow(std::sin(kPi * std::pow(clamp01(s), 0.85)), 0.85) + 0.04;
  };
  const Path edge = blade(spine, half);
  clear(inks, edge, 0.8);
  Plane cut = inks.plane[0].blank();
  fill(cut, edge, 1);
  const int veins = std::max(6, static_cast<int>(length_mm / 2.6));
  for (const double hand : {-1.0, 1.0})
    for (int i = 1; i < veins; ++i) {
      const double s = mix(0.05, 0.88, static_cast<double>(i) / veins),
                   reach = 0.92 * half(std::min(1.0, s + 0.1));
      const Vec root = point_at(spine, s), way = direction_at(spine, s), out = turned(way) * hand;
      stroke(cut,
             curve({root, root + out * (0.5 * reach) + way * (0.3 * reach),
                    root + out * reach + way * (0.85 * reach)},
                   false, 0.4),
             tapering(0.5, 0.2), 0, Join::over);
    }
  stroke(cut, spine, tapering(1.1, 0.35), 0, Join::over);
  glaze(inks, cut, leaf_colour(spine, look));
}

}  // namespace kirtle::art::botanical
