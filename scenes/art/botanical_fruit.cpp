// Citrus, pomegranates and berries of the fruit garden print.
#include "art/botanical_parts.h"

#include <algorithm>

namespace kirtle::art::botanical {

void citrus_slice(Inks& inks, Vec centre, double r_mm, double squash, double turn, const CitrusLook& look,
                  std::uint32_t seed) {
  Dice dice(seed);
  const auto place = [&](Vec p) { return centre + rotated({p.x * r_mm, p.y * r_mm * squash}, turn); };
  const auto disc = [&](double share) { return moved(circle({0, 0}, share, 0.03), place); };
  clear(inks, disc(1.0), 1.0);
  // Peel, pores, pith.
  paint(inks, disc(1.0), [&](Vec p) {
    const double t = clamp01(0.5 + 0.5 * (p.x - centre.x + p.y - centre.y) / (1.4 * r_mm));
    return blend(blend(look.peel, kBare, 0.22), look.peel, t);
  });
  for (int i = 0; i < 110; ++i) {
    const Vec q = place(polar(dice.range(0.935, 0.985), 2 * kPi * (i + dice.unit()) / 110));
    for (Plane& plane : inks.plane) dot(plane, q, dice.range(0.12, 0.22), 0);
  }
  paint(inks, disc(0.91), even({look.peel[0] * 0.16, 0, 0}));
  constexpr int segments = 11;
  for (int i = 0; i < segments; ++i) {
    const double a0 = 2 * kPi * i / segments + 0.045 + dice.range(-0.02, 0.02),
                 a1 = 2 * kPi * (i + 1) / segments - 0.045;
    const double am = (a0 + a1) / 2, rim = 0.845 * dice.range(0.97, 1.02);
    // A rounded wedge.
    Path wedge;
    const Vec heart = polar(0.085, am);
    const Path corners{heart,
                       polar(0.30, mix(a0, am, 0.16)),
                       polar(0.60, mix(a0, am, 0.06)),
                       polar(rim - 0.07, a0 + 0.005),
                       polar(rim - 0.01, mix(a0, am, 0.28)),
                       polar(rim, am),
                       polar(rim - 0.01, mix(a1, am, 0.28)),
                       polar(rim - 0.07, a1 - 0.005),
                       polar(0.60, mix(a1, am, 0.06)),
                       polar(0.30, mix(a1, am, 0.16))};
    wedge = moved(curve(corners, true, 0.02), place);
    Plane cut = inks.plane[0].blank();
    fill(cut, wedge, 1);
    // Juice cells: fine bare teardrops pointing at the heart.
    for (int k = 0; k < 26; ++k) {
      const double a = mix(a0 + 0.04, a1 - 0.04, dice.unit()), from = dice.range(0.30, 0.78),
                   l = dice.range(0.05, 0.13);
      const Path drop = moved(Path{polar(from - l, mix(am, a, 0.88)), polar(from, a)}, place);
      stroke(cut, resampled(drop, 8), tapering(0.10, dice.range(0.28, 0.52)), 0.12, Join::over);
    }
    for (std::size_t c = 0; c < 3; ++c)
      join(
          inks.plane[c],
          [&](Vec p) {
            const Vec q = rotated(p - centre, -turn);
            const double s = std::hypot(q.x, q.y / squash) / r_mm;
            return blend(look.flesh_heart, look.flesh_rim, smooth(0.15, 0.85, s))[c];
          },
          cut, Join::over);
  }
  for (int i = 0; i < 5; ++i) {
    const double a = 2 * kPi * (i + 0.5) / segments * 2.2 + 0.3;
    const Path pip = moved(ellipse(polar(0.30, a), 0.075, 0.034, a, 0.008), place);
    clear(inks, pip, 0.25);
    paint(inks, pip, even({0.75, 0.30, 0.10}));
    gouge(inks, moved(Path{polar(0.27, a + 0.03), polar(0.34, a + 0.03)}, place), swelling(0.05, 0.3, 0.05));
  }
}

void citrus_whole(Inks& inks, Vec centre, double r_mm, double turn, Mix light, Mix deep, std::uint32_t seed) {
  Dice dice(seed);
  const Path edge = ellipse(centre, r_mm * 1.04, r_mm * 0.97, turn);
  clear(inks, edge, 1.0);
  const Vec glow = centre + Vec{-0.38 * r_mm, -0.40 * r_mm};
  const auto depth = [&](Vec p) { return clamp01(length(p - glow) / (1.55 * r_mm)); };
  paint(inks, edge, [&](Vec p) {
    return blend(blend(light, kBare, 0.35 * smooth(0.22, 0.0, depth(p))), deep, std::pow(depth(p), 1.5));
  });
  // Pores, finer and closer to the rim.
  for (int i = 0; i < 900; ++i) {
    const Vec q = polar(r_mm * std::sqrt(dice.unit()) * 0.95, dice.range(0, 2 * kPi));
    const double size = mix(0.34, 0.14, length(q) / r_mm) * dice.range(0.7, 1.1);
    const Vec p = centre + q;
    if (depth(p) > 0.2)
      fill(inks.plane[1], ellipse(p, size, size * 0.75, std::atan2(q.y, q.x) + kPi / 2, 0.05),
           i % 3 ? 0.0 : 0.95);
  }
  // Hatching on the shaded side, along the roundness.
  for (int k = 0; k < 13; ++k) {
    const double r = r_mm * (0.965 - 0.042 * k), open = rad(62 - 3.2 * k);
    const Path mark =
        moved(arc({0, 0}, r, rad(48) - open * dice.range(0.75, 1.0), rad(48) + open * dice.range(0.75, 1.0)),
              [&](Vec p) { return centre + p; });
    line(inks, mark, swelling(0.08, 0.62 - 0.03 * k, 0.08), {1.0, 0.95, 0.35}, Join::most);
  }
  for (int i = 0; i < 5; ++i) {
    const Path shine = moved(arc({0, 0}, r_mm * (0.80 - 0.07 * i), rad(-160 + 6 * i), rad(-108 - 5 * i)),
                             [&](Vec p) { return centre + p; });
    gouge(inks, shine, swelling(0.05, 0.75 - 0.08 * i, 0.05));
  }
  // Stalk button.
  const Vec button = centre + polar(r_mm * 0.80, turn - kPi / 2 + 0.3);
  for (int i = 0; i < 6; ++i) {
    const Path lobe =
        blade(resampled(Path{button, button + polar(r_mm * 0.17, i * kPi / 3 + 0.2)}, 12),
              [=](double s) { return r_mm * 0.045 * std::sin(kPi * clamp01(0.1 + 0.9 * s)) + 0.05; });
    clear(inks, lobe, 0.2);
    paint(inks, lobe, even({0.9, 0.1, 0.75}));
  }
}

namespace {

void crown(Inks& inks, Vec centre, double r_mm, double turn) {
  const auto place = [&](Vec p) { return centre + rotated(p * r_mm, turn); };
  for (const double x : {-0.30, 0.30, -0.16, 0.16, 0.0}) {
    const Path spine =
        resampled(moved(Path{{x * 0.55, -0.86}, {x * 0.8, -1.08}, {x * 1.45, -1.36}}, place), 24);
    const Path tooth = blade(spine, [=](double s) {
      return r_mm * 0.125 * std::pow(std::sin(kPi * mix(0.30, 1.0, s)), 0.8) + 0.03;
    });
    clear(inks, tooth, 0.5);
    paint(inks, tooth, [&](Vec p) {
      return blend({0.75, 0.90, 0.30}, {0.70, 0.55, 0.0}, along(spine, p).s);
    });
    gouge(inks, part(spine, 0.15, 0.85), tapering(0.5, 0.15));
  }
}

}  // namespace

void pomegranate(Inks& inks, Vec centre, double r_mm, double turn, bool cut, std::uint32_t seed) {
  Dice dice(seed);
  const auto place = [&](Vec p) { return centre + rotated(p * r_mm, turn); };
  Path form{{0, -0.93}, {0.35, -0.90}, {0.74, -0.70}, {0.99, -0.18},  {0.95, 0.35},   {0.62, 0.82},
            {0.0, 1.0}, {-0.62, 0.82}, {-0.95, 0.35}, {-0.99, -0.18}, {-0.74, -0.70}, {-0.35, -0.90}};
  const Path edge = moved(curve(form, true, 0.02), place);
  crown(inks, centre, r_mm, turn);
  clear(inks, edge, 1.0);
  const Vec glow = place({-0.40, -0.42});
  const auto depth = [&](Vec p) { return clamp01(length(p - glow) / (1.6 * r_mm)); };
  paint(inks, edge, [&](Vec p) {
    return blend({0.55, 0.62, 0}, {0.55, 1.0, 0.42}, smooth(0.05, 1.0, depth(p)));
  });
  if (!cut) {
    // Ribs of the skin: hatching that runs from crown to foot.
    for (int i = -12; i <= 12; ++i) {
      const double k = i / 12.5;
      const Path meridian = moved(
          curve({{k * 0.30, -0.90}, {k * 0.86, -0.35}, {k * 0.98, 0.15}, {k * 0.66, 0.78}, {k * 0.1, 0.98}},
                false, 0.03),
          place);
      const double a = dice.range(0.42, 0.62);
      if (k > -0.15)
        line(inks, part(meridian, a - 0.35 * clamp01(k), std::min(0.97, a + 0.34)),
             swelling(0.06, 0.28 + 0.42 * clamp01(k), 0.06), {0.5, 1.0, 0.85}, Join::most);
      else if (i % 2 == 0)
        gouge(inks, part(meridian, dice.range(0.12, 0.2), dice.range(0.34, 0.55)),
              swelling(0.05, 0.55, 0.05));
    }
    for (int i = 0; i < 240; ++i) {
      const Vec q = place(polar(0.92 * std::sqrt(dice.unit()), dice.range(0, 2 * kPi)));
      if (inside(edge, q)) dot(inks.plane[1], q, dice.range(0.12, 0.26), dice.pick(2) ? 0.35 : 1.0);
    }
    return;
  }
  // Cut face: rind, membranes, six chambers of seeds.
  const Path face = moved(curve(moved(form, [](Vec p) { return p * 0.90; }), true, 0.02), place);
  paint(inks, face, [&](Vec p) {
    return blend({0.26, 0.05, 0}, {0.38, 0.22, 0}, smooth(0.5, 1.0, length(p - centre) / r_mm));
  });
  line(inks, closed(face), even_width(0.4), {0.5, 0.9, 0.1}, Join::most);
  constexpr int chambers = 6;
  for (int c = 0; c < chambers; ++c) {
    const double a0 = 2 * kPi * (c + 0.08) / chambers + 0.26, a1 = 2 * kPi * (c + 0.92) / chambers + 0.26,
                 am = (a0 + a1) / 2;
    const Path corners{polar(0.15, am),        polar(0.46, mix(a0, am, 0.05)),
                       polar(0.78, a0 + 0.03), polar(0.83, mix(a0, am, 0.45)),
                       polar(0.80, am),        polar(0.83, mix(a1, am, 0.45)),
                       polar(0.78, a1 - 0.03), polar(0.46, mix(a1, am, 0.05))};
    const Path chamber = curve(corners, true, 0.02);
    paint(inks, moved(chamber, place), even({0.45, 1.0, 0.50}));
    // Seeds by throwing darts, larger ones first.
    std::vector<Vec> seeds;
    std::vector<double> sizes;
    for (int tries = 0; tries < 6000; ++tries) {
      const double size = tries < 1500 ? 0.082 : tries < 3000 ? 0.066 : tries < 4500 ? 0.050 : 0.036;
      const Vec p = polar(dice.range(0.14, 0.82), dice.range(a0, a1));
      bool free = inside(chamber, p) && distance(closed(chamber), p) > size * 0.80;
      for (std::size_t i = 0; free && i < seeds.size(); ++i)
        free = length(seeds[i] - p) > size + sizes[i] - 0.010;
      if (!free) continue;
      seeds.push_back(p);
      sizes.push_back(size);
    }
    for (std::size_t i = 0; i < seeds.size(); ++i) {
      const double toward = std::atan2(seeds[i].y, seeds[i].x), size = sizes[i];
      const Path seed_edge = moved(ellipse(seeds[i], size * 1.06, size * 0.88, toward, 0.01), place);
      clear(inks, seed_edge, 0.0);
      const Vec c0 = place(seeds[i] + Vec{-0.3 * size, -0.35 * size});
      paint(inks, seed_edge, [&](Vec p) {
        return blend({0.20, 0.55, 0}, {0.45, 1.0, 0.12}, smooth(0.1, 1.15, length(p - c0) / (size * r_mm)));
      });
      gouge(inks,
            moved(Path{seeds[i] + Vec{-0.42 * size, -0.1 * size}, seeds[i] + Vec{-0.1 * size, -0.45 * size}},
                  place),
            swelling(0.05, 0.55, 0.05));
      line(inks,
           moved(Path{seeds[i] + polar(size * 0.1, toward), seeds[i] + polar(size * 0.62, toward)}, place),
           tapering(0.5, 0.15), {0.5, 1.0, 0.45}, Join::most);
    }
  }
}

void berries(Inks& inks, Vec root, double angle, double size_mm, Mix light, Mix deep, std::uint32_t seed) {
  Dice dice(seed);
  for (int i = -2; i <= 2; ++i) {
    const double r = size_mm * dice.range(0.20, 0.25);
    const Vec c = root + polar(size_mm * (i % 2 == 0 ? 1.05 : 0.72), angle + 0.46 * i);
    line(inks, curve({root, mix(root, c, 0.5) + Vec{0, -0.6}, c}, false, 0.4), even_width(0.7),
         {0.85, 0.1, 0.8}, Join::over);
    clear(inks, circle(c, r), 0.6);
    paint(inks, circle(c, r), [&](Vec p) {
      return blend(light, deep, smooth(0.0, 1.4, length(p - c + Vec{0.4 * r, 0.4 * r}) / r));
    });
    gouge(inks, arc(c, r * 0.62, rad(-165), rad(-95)), swelling(0.06, 0.5, 0.06));
    for (int k = 0; k < 5; ++k)
      line(inks, {c + polar(r * 0.55, angle), c + polar(r * 0.55, angle) + polar(r * 0.26, k * 2 * kPi / 5)},
           tapering(0.45, 0.1), {deep[0], 1.0, 1.0}, Join::most);
  }
}

}  // namespace kirtle::art::botanical
