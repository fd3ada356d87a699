#include "art/reef.h"

namespace kirtle::art::reef {

namespace {

constexpr Vec kBell{124, 112};
constexpr double kHalf = 64, kDome = 62, kMouth = 17, kTilt_deg = -14;

Vec to_bell(Vec at) { return rotated(at - kBell, -rad(kTilt_deg)); }
Vec from_bell(Vec p) { return kBell + rotated(p, rad(kTilt_deg)); }

/// Lappets: the hem's scallops as a stretch of its radius.
double hem(double azimuth) { return 1 + 0.035 * std::fabs(std::sin(azimuth * 16)) - 0.02; }

/// Sea nettle's drawing at an azimuth and a height (0 = crown, 1 = hem): how much of the brick-red stripe.
double stripes(double azimuth, double polar01) {
  const double turn = azimuth / (2 * kPi) * 16, off = std::fabs(turn - std::floor(turn) - 0.5);
  const double ragged = 0.05 * (fbm({azimuth * 9, polar01 * 22}, 3, 201) - 0.5);
  const double spread = mix(0.05, 0.30, smooth(0.2, 1.0, polar01)) + ragged;
  const double v = std::fabs(off - spread);  // two legs that part towards the hem
  const double leg = smooth(0.12, 0.05, v) * smooth(0.22, 0.34, polar01);
  const double filled = smooth(0.0, -0.05, off - spread) * 0.22 * smooth(0.25, 0.5, polar01);
  const double crown = smooth(0.15, 0.10, std::fabs(polar01 - 0.17) * 3.0 + ragged) * 0.8;
  const double freckle = smooth(0.62, 0.75, fbm({azimuth * 34, polar01 * 15}, 3, 203)) * 0.35;
  return clamp01(leg + filled + crown + freckle);
}

void bell_inside(Picture& pic) {
  wash(pic, around(kBell, 80, 80), [&](Vec at) {
    const Vec p = to_bell(at);
    const Vec e{p.x / (0.97 * kHalf), p.y / kMouth};
    const double azimuth = std::atan2(e.x, e.y), q = length(e), h = hem(azimuth);
    const double cover = edge(pic, (h - q) * kMouth);
    if (cover <= 0) return Paint{{}, 0};
    const double folds = 0.5 + 0.5 * std::sin(azimuth * 32 + 3 * q);
    const double deep = smooth(1.0, 0.35, q);
    const Rgb c = mix(Rgb{0.80, 0.26, 0.07}, Rgb{0.14, 0.02, 0.03}, deep) * (0.55 + 0.45 * folds);
    return Paint{c * cover, cover};
  });
}

void bell_outside(Picture& pic) {
  wash(pic, around(kBell, 84, 84), [&](Vec at) {
    const Vec p = to_bell(at);
    const Vec e{p.x / kHalf, p.y / (p.y < 0 ? kDome : kMouth)};
    const double q = length(e);
    if (q > 1.1) return Paint{{}, 0};
    // Front of the hem: lower edge is the near half of the mouth, drawn up by the pulse.
    const double lower = 0.40 * kMouth * std::sqrt(std::max(0.0, 1 - e.x * e.x));
    const double z = std::sqrt(std::max(0.0, 1 - e.x * e.x - (p.y < 0 ? e.y * e.y : 0)));
    const double azimuth = std::atan2(e.x, z + 1e-6);
    const double frill = 1.6 * std::fabs(std::sin(azimuth * 16)) + 0.8;
    const double in_hem = lower + frill - p.y;
    const double dome_in = p.y < 0 ? (1 - q) * kDome : (1 - std::fabs(e.x)) * kHalf;
    const double inside = std::min(dome_in, in_hem);
    const double cover = edge(pic, inside);
    if (cover <= 0) return Paint{{}, 0};
    // Height on the dome: the hem line counts as 1 although the near part hangs below the middle plane.
    const double y01 = clamp01((kDome * std::sqrt(std::max(0.0, 1 - e.x * e.x)) + p.y) /
                               (kDome * std::sqrt(std::max(1e-6, 1 - e.x * e.x)) + lower + frill));
    const double tip = std::acos(std::clamp(-p.y / kDome, -1.0, 1.0)) / (kPi / 2);
    const double polar01 = clamp01(mix(y01, tip, 0.5));
    const double front = stripes(azimuth, polar01);
    const double back = stripes(kPi - azimuth + 0.1, polar01) * 0.25;
    const Vec3 n = unit({e.x, p.y < 0 ? e.y : 0.3 * e.y, z + 0.05});
    const double edge_on = 1 - n.z;
    const double grain = fbm(at * 0.55, 3, 207);
    const double wart = smooth(0.30, 0.12, cells(at.x * 0.85, at.y * 0.85, 209).nearest);
    // Light: the moon on its upper right, its own lamp from within, bright where the skin is seen edge on.
    const double moon = std::max(0.0, dot(n, unit({0.45, -0.75, 0.5})));
    const double lamp = std::exp(-length(Vec{p.x / 40, (p.y + 16) / 34}) * 1.3);
    Rgb skin = mix(Rgb{1.0, 0.44, 0.12}, Rgb{1.0, 0.84, 0.50}, clamp01(0.80 * moon * moon + 0.35 * lamp));
    skin = mix(skin, Rgb{0.52, 0.10, 0.40}, 0.70 * smooth(0.05, 0.95, -n.x + 0.35 * n.y));
    const double tone =
        0.15 + 0.72 * moon * moon * moon + 0.42 * lamp + 0.40 * std::pow(edge_on, 3.0) + 0.10 * (grain - 0.5);
    Rgb c = skin * tone;
    const double mark = clamp01(front + back);
    c = mix(c, Rgb{0.72, 0.075, 0.02} * (0.30 + 0.85 * tone), 0.90 * mark);
    c = c + Rgb{1, 0.9, 0.7} * (0.10 * wart * (1 - mark) * (0.3 + moon));
    // Gleams: a window of moonlight on the crown, a bright line at the hem.
    const Vec g{(p.x - 20) / 17, (p.y + 43) / 7.5};
    const double gleam =
        smooth(1.0, 0.2, length(rotated(g, -0.30)) + 0.35 * (fbm({p.x * 0.35, p.y * 0.12}, 2, 211) - 0.5));
    c = c + Rgb{0.85, 0.95, 1.0} * (0.62 * gleam);
    c = c + Rgb{1.0, 0.80, 0.50} * (0.8 * smooth(1.5, 0.2, in_hem));
    c = c + Rgb{0.45, 0.85, 0.95} * (0.8 * smooth(1.6, 0.3, dome_in) * smooth(-0.2, 0.7, n.x - n.y - 0.3) *
                                     (p.y < 0 ? 1.0 : 0.0));
    c = c + Rgb{0.9, 0.35, 0.5} *
                (0.45 * smooth(2.0, 0.3, dome_in) * smooth(0.0, 0.7, -n.x) * (p.y < 0 ? 1.0 : 0.0));
    return Paint{c * cover, cover};
  });
}

/// One lacy arm: small folded lobes along a line, back to front.
void oral_arm(Picture& pic, const std::vector<Knot>& through, std::uint32_t seed) {
  const std::vector<Knot> line = spline(through, 26);
  Dice dice(seed);
  const int n = static_cast<int>(line.size());
  shadow(pic, line, 3.5, 0.55);
  for (int i = n - 1; i > 0; --i) {
    const Knot& k = line[i];
    const double s = static_cast<double>(i) / n;
    const Vec along = unit(line[i].p - line[i - 1].p), side = turned(along);
    for (int j = 0; j < 2; ++j) {
      const double way = j == 0 ? -1 : 1, wide = k.r * dice.range(0.60, 1.35);
      const double swell = noise({s * 13, j * 5.0}, seed + 3);
      const double fold = std::sin(s * 95 + way + seed) * 0.5 + 0.5;
      const Vec c = k.p + side * (way * wide * 0.62) + along * dice.range(-1.6, 1.6);
      const double rx = wide * 0.66, ry = (0.35 + 0.36 * k.r) * dice.range(0.65, 1.45),
                   phase = dice.range(0, 6);
      const double shade = mix(1.0, 0.72, s) * (way > 0 ? 1.0 : 0.60) * (0.55 + 0.75 * swell);
      const double slant = std::atan2(side.y, side.x) + way * dice.range(-0.15, 0.75);
      wash(pic, around(c, rx + ry + 0.5, rx + ry + 0.5), [&](Vec at) {
        Vec d = rotated(at - c, -slant);
        d.y += 0.20 * ry * std::sin(d.x * 1.3 + phase) + 0.05 * ry * std::sin(d.x * 3.3 + 2 * phase);
        const double q = length(Vec{d.x / rx, d.y / ry}), cover = edge(pic, (1 - q) * ry);
        if (cover <= 0) return Paint{{}, 0};
        const double lip = smooth(1 - 1.1 / ry, 1 - 0.25 / ry, q) * smooth(0.8, -0.5, d.y / ry);
        const double body =
            0.34 + 0.42 * fold * (0.5 - 0.5 * d.y / ry) + 0.07 * std::sin(d.x * 4 + 2.5 * d.y + phase);
        const Rgb c0 = mix(Rgb{1.0, 0.27, 0.04}, Rgb{0.85, 0.10, 0.36}, smooth(0.1, 0.9, s));
        const Rgb col =
            (c0 * (body * 1.25) + mix(Rgb{1.0, 0.80, 0.52}, Rgb{1.0, 0.55, 0.70}, s) * (0.85 * lip)) * shade;
        return Paint{col * cover, 0.93 * cover};
      });
    }
  }
}

void tentacle(Picture& pic, Vec root, double reach, double sway, std::uint32_t seed, double bright) {
  Dice dice(seed);
  std::vector<Knot> line;
  const double phase = dice.range(0, 6.28), waves = dice.range(1.6, 2.9), wide = dice.range(0.30, 0.52);
  for (int i = 0; i <= 150; ++i) {
    const double t = i / 150.0;
    const double drift =
        sway * t * t + (3 + 9 * t) * std::sin(waves * 6.28 * std::pow(t, 0.85) + phase) * smooth(0, 0.2, t) +
        1.2 * std::sin(19 * t + 2 * phase);
    line.push_back({root + Vec{drift, reach * t}, mix(wide, 0.10, t)});
  }
  const double hue = dice.unit();
  stroke(pic, line, [&](const OnStroke& o) {
    const double bead = 0.7 + 0.3 * std::sin(o.s * reach * 3.2 + phase);
    const Rgb c = mix(mix(Rgb{0.95, 0.24, 0.07}, Rgb{0.95, 0.48, 0.16}, hue), Rgb{0.75, 0.22, 0.40}, o.s);
    const double round = 0.45 + 0.55 * o.round().z + 0.3 * o.off.x;
    const double fade = bright * (1 - 0.75 * smooth(0.55, 1.0, o.s));
    return Paint{(c * (bead * round) + Rgb{1, 0.8, 0.6} * (0.25 * bead * o.round().z)) * fade, 0.9};
  });
}

}  // namespace

void paint_jellyfish(Picture& pic) {
  glow(pic, kBell + Vec{6, 4}, 84, Rgb{0.02, 0.09, 0.17});
  glow(pic, kBell + Vec{4, 60}, 80, Rgb{0.015, 0.05, 0.10});
  Dice dice(401);
  for (int i = 0; i < 15; ++i) {  // far side of the hem
    const double a = mix(-1.25, 1.25, (i + dice.range(0.2, 0.8)) / 15);
    tentacle(pic, from_bell({kHalf * 0.95 * std::sin(a), -2}), dice.range(95, 165), dice.range(5, 40),
             420u + i, 0.45);
  }
  bell_inside(pic);
  const Vec o = from_bell({0, 4});
  oral_arm(pic,
           {{o + Vec{-14, 0}, 5},
            {o + Vec{-22, 30}, 8},
            {o + Vec{-12, 62}, 8},
            {o + Vec{-30, 98}, 5.5},
            {o + Vec{-20, 130}, 3},
            {o + Vec{-30, 152}, 0.8}},
           501);
  oral_arm(pic,
           {{o + Vec{13, 0}, 5},
            {o + Vec{24, 26}, 8},
            {o + Vec{18, 60}, 9},
            {o + Vec{42, 92}, 6},
            {o + Vec{38, 122}, 3.2},
            {o + Vec{56, 146}, 0.8}},
           502);
  oral_arm(pic,
           {{o + Vec{-3, 0}, 6},
            {o + Vec{4, 34}, 11},
            {o + Vec{-2, 70}, 9},
            {o + Vec{15, 108}, 5.5},
            {o + Vec{4, 140}, 3},
            {o + Vec{14, 164}, 0.8}},
           503);
  for (int i = 0; i < 17; ++i) {  // near side
    const double a = mix(-1.45, 1.45, (i + dice.range(0.2, 0.8)) / 17);
    const Vec root = from_bell({kHalf * 0.98 * std::sin(a), 0.40 * kMouth * std::cos(a) - 1});
    tentacle(pic, root, dice.range(110, 185), dice.range(0, 46), 460u + i, 1.0);
  }
  bell_outside(pic);
}

}  // namespace kirtle::art::reef
