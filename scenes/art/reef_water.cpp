#include "art/reef.h"

namespace kirtle::art::reef {

namespace {

constexpr Vec kMoon{212, 62};

/// Bright net of the waves' lenses on the surface seen from below, [0, 1].
double ripple(Vec at) {
  const double down = std::max(2.0, at.y - 8.0);
  Vec p{(at.x - kMoon.x) / (7.0 + 0.20 * down), 26.0 / (1.0 + down / 16.0)};
  p = p + Vec{fbm(p * 1.3, 3, 911) - 0.5, fbm(p * 1.3 + Vec{9, 4}, 3, 912) - 0.5} * 1.1;
  const Cells c = cells(p.x, p.y * 1.5, 913, 1.0);
  const double net = 1 - smooth(0.0, 0.34, c.second - c.nearest);
  return net * net;
}

}  // namespace

void paint_water(Picture& pic) {
  const Vec middle{165, 172};
  wash(pic, {{0, 0}, {kWidth_mm, kHeight_mm}}, [&](Vec at) {
    const Vec d = at - middle;
    const double round = length(Vec{d.x / 149.0, d.y / 160.0});
    if (round > 1.12) return Paint{{}, 0};
    const double angle = std::atan2(d.y, d.x);
    // A brushed edge: strokes that follow the rim break it up.
    const double brush = fbm({angle * 5.0, round * 30.0}, 4, 31) - 0.5;
    const double fray = fbm(at * 0.055, 4, 37) - 0.5;
    const double window = smooth(0.0, 0.055, 0.955 + 0.10 * brush + 0.10 * fray - round);
    if (window <= 0) return Paint{{}, 0};
    const double rim = smooth(1.0, 0.55, round);

    const Vec from_moon = at - kMoon;
    const double far = length(from_moon);
    // Beams spread from a point above the surface.
    const Vec source{236, -72};
    const double beam_angle = std::atan2(at.x - source.x, at.y - source.y);
    const double wobble = 0.012 * (fbm(at * 0.03, 2, 51) - 0.5);
    const double b1 = noise({(beam_angle + wobble) * 26.0, 3.1}, 52),
                 b2 = noise({(beam_angle + wobble) * 71.0, 7.7}, 53);
    const double beams = smooth(0.45, 0.85, 0.62 * b1 + 0.38 * b2);
    const double fade = std::exp(-std::max(0.0, at.y - 20.0) / 120.0);
    const double veil = fbm({at.x * 0.018, at.y * 0.03}, 4, 61);

    const double near_moon = std::exp(-far / 62.0);
    double light =
        0.05 + 0.34 * near_moon + 0.20 * fade * (0.35 + veil) + 0.62 * beams * fade * (0.25 + 0.75 * rim);
    light *= 0.35 + 0.65 * rim;
    light *= 1 - 0.75 * smooth(190, 330, at.y);
    light *= 1 + 0.22 * (fbm(Vec{at.x * 0.16, at.y * 0.34}, 3, 63) - 0.5);  // mottled, as water is
    const double cool = clamp01(light * 1.7);
    Rgb water = mix(Rgb{0.004, 0.022, 0.17}, Rgb{0.03, 0.42, 0.56}, cool) * (0.25 + 1.15 * light);
    const double up = smooth(86, 20, at.y);
    water = water + Rgb{0.35, 0.85, 0.9} * (0.55 * up * ripple(at) * (0.30 + near_moon));
    // The moon itself, bent a little by the slow swell.
    const double wave = 2.2 * (fbm({at.x * 0.03, at.y * 0.07}, 2, 71) - 0.5);
    const double disc = smooth(25.5, 23.5, length(Vec{from_moon.x + wave, from_moon.y * 1.04}));
    const Vec on_disc{from_moon.x + 0.6 * wave, from_moon.y};
    const double maria = 0.60 - 0.36 * smooth(0.46, 0.62, fbm(on_disc * 0.075 + Vec{3, 8}, 4, 79)) +
                         0.10 * smooth(24, 12, length(on_disc - Vec{5, -6}));
    const double rippled = 0.88 + 0.10 * (noise({at.x * 0.09, at.y * 0.16}, 81) - 0.5);
    water = mix(water, Rgb{1.0, 0.96, 0.74} * (1.55 * maria * rippled), disc) +
            Rgb{0.08, 0.34, 0.36} * ((1 - disc) * std::exp(-std::max(0.0, far - 24) / 15.0));
    return Paint{water * window, window};
  });
}

void paint_plankton(Picture& pic) {
  Dice dice(8101);
  for (int i = 0; i < 900; ++i) {
    const Vec at{dice.range(8, 322), dice.range(18, 345)};
    const double off = length(Vec{(at.x - 165) / 150, (at.y - 175) / 165});
    const double size = dice.unit(), keep = dice.unit(), hue = dice.unit();
    if (off > 1.0 || length(at - kMoon) < 27 || keep < 0.25 + 0.5 * off * off) continue;
    const Rgb tint = hue < 0.6    ? Rgb{0.45, 0.95, 1.0}
                     : hue < 0.85 ? Rgb{0.95, 1.0, 0.95}
                                  : Rgb{1.0, 0.85, 0.45};
    const double r = 0.10 + 0.30 * size * size * size * size;
    glow(pic, at, r * 7, tint * (0.16 + 0.25 * size));
    stroke(pic, {{at, r}, {at + Vec{0.01, 0}, r}}, [&](const OnStroke&) { return Paint{tint, 1}; });
    if (size > 0.965)  // the brightest throw a small cross
      for (const Vec way : {Vec{1, 0}, Vec{0, 1}})
        stroke(pic, {{at - way * (r * 8), 0.01}, {at, r * 0.45}, {at + way * (r * 8), 0.01}},
               [&](const OnStroke&) {
                 return Paint{Rgb{0.9, 1, 1}, 1};
               });
  }
  // Chains of bubbles.
  for (const Vec foot : {Vec{96, 262}, Vec{283, 236}, Vec{40, 205}}) {
    for (int i = 0; i < 15; ++i) {
      const double t = i / 15.0, r = dice.range(0.5, 1.1) + 1.5 * t * dice.unit();
      const Vec c = foot + Vec{5.0 * std::sin(t * 9 + foot.x) + dice.range(-2, 2), -t * 66};
      wash(pic, around(c, r + 0.3, r + 0.3), [&](Vec at) {
        const Vec d = (at - c) * (1 / r);
        const double q = length(d), cover = edge(pic, (1 - q) * r);
        const double ring = smooth(0.55, 0.97, q) * (0.35 + 0.65 * clamp01(0.4 - 0.6 * d.y + 0.5 * d.x));
        const double glint = smooth(0.30, 0.12, length(d - Vec{0.35, -0.42})) +
                             0.5 * smooth(0.2, 0.1, length(d + Vec{0.4, -0.5}));
        return Paint{(Rgb{0.25, 0.75, 0.85} * ring + Rgb{1, 1, 1} * glint) * cover, 0.35 * cover * ring};
      });
    }
  }
}

}  // namespace kirtle::art::reef
