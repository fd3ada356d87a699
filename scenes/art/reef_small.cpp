#include "art/reef.h"

namespace kirtle::art::reef {

void paint_anemone(Picture& pic, Vec foot, double size, bool front, std::uint32_t seed) {
  Dice dice(seed + (front ? 1U : 0U));
  struct Arm {
    std::vector<Knot> line;
    double depth;
    double tint;
  };
  std::vector<Arm> arms;
  const int n = front ? 62 : 110;
  for (int i = 0; i < n; ++i) {
    const double a = front ? dice.range(8, 172) : dice.range(-4, 184), q = dice.unit();
    const double reach =
        size * (front ? dice.range(0.38, 0.62) : dice.range(0.72, 1.05)) * (0.80 + 0.2 * std::sin(rad(a)));
    const Vec root =
        foot + Vec{heading(a).x * size * 0.46 * std::sqrt(q), (front ? 0.10 : -0.06) * size * (0.4 + q)};
    const double curl = dice.range(-32, 32), sway = 14 * std::sin(a * 0.05 + 1.0);
    Arm arm{{}, front ? q : -std::sin(rad(a)) + 0.6 * q, dice.unit()};
    Vec p = root;
    const int steps = 16;
    const double thick = size * dice.range(0.026, 0.036);
    for (int s = 0; s <= steps; ++s) {
      const double t = static_cast<double>(s) / steps;
      const double bulb = 1.0 - 0.38 * t + 0.62 * smooth(0.80, 0.93, t);
      arm.line.push_back({p, thick * bulb});
      p = p + heading(a + (curl + sway) * t * t * 1.6 + 9 * std::sin(t * 5 + q * 9)) * (reach / steps);
    }
    arms.push_back(arm);
  }
  std::stable_sort(arms.begin(), arms.end(), [](const Arm& a, const Arm& b) { return a.depth < b.depth; });
  for (const Arm& arm : arms) {
    shadow(pic, arm.line, 1.0, 0.6);
    stroke(pic, arm.line, [&](const OnStroke& o) {
      Rgb colour = mix(Rgb{0.03, 0.26, 0.22}, Rgb{0.30, 0.85, 0.52}, smooth(0.05, 0.75, o.s));
      colour =
          mix(colour, arm.tint < 0.75 ? Rgb{1.0, 0.42, 0.62} : Rgb{1.0, 0.92, 0.55}, smooth(0.82, 0.93, o.s));
      const double bands = 0.86 + 0.14 * std::sin(o.s * 60);
      const Rgb light =
          lit(o.at, o.round(), colour * bands, {0.45, 0.65, 0.45, 0.06 + 0.16 * smooth(0.6, 1.0, o.s)});
      return Paint{light * (front ? 1.0 : 0.45 + 0.55 * smooth(0.0, 0.7, o.s)), 1};
    });
  }
}

void paint_grass(Picture& pic, Vec foot, double height, double spread, int blades, std::uint32_t seed) {
  Dice dice(seed);
  for (int i = 0; i < blades; ++i) {
    const double near = (i + 0.5) / blades, tall = height * dice.range(0.45, 1.0);
    const double lean = dice.range(-14, 14) + (foot.x < 165 ? -7 : 7), wave = dice.range(8, 22),
                 phase = dice.range(0, 6.28);
    std::vector<Knot> line;
    Vec p = foot + Vec{dice.range(-0.5, 0.5) * spread, dice.range(-3, 3)};
    const int steps = 40;
    for (int s = 0; s <= steps; ++s) {
      const double t = static_cast<double>(s) / steps;
      line.push_back({p, 1.25 * std::pow(std::sin(kPi * mix(0.16, 0.995, t)), 0.8) + 0.02});
      p = p + heading(90 + lean + wave * std::sin(t * 5.2 + phase) * (0.3 + t)) * (tall / steps);
    }
    shadow(pic, line, 0.9, 0.5);
    const double hue = dice.unit();
    stroke(pic, line, [&](const OnStroke& o) {
      const double vein = 0.72 + 0.28 * std::sin(o.u * 9), twist = std::sin(o.s * 7 + phase);
      const Vec3 n = unit({o.off.x * 0.9 + 0.4 * twist, -0.35 + o.off.y * 0.5, 0.8});
      const Rgb colour = mix(Rgb{0.02, 0.30, 0.22}, Rgb{0.30, 0.62, 0.10}, hue) * vein;
      return Paint{
          lit(o.at, n, colour, {0.35, 0.9, 0.3, 0.04}) * (mix(0.30, 1.0, near) * smooth(-0.02, 0.30, o.s)),
          1};
    });
  }
}

void paint_starfish(Picture& pic, Vec centre, double size, double turn_deg) {
  for (int pass = 0; pass < 2; ++pass)
    for (int i = 0; i < 5; ++i) {
      const double a = turn_deg + i * 72;
      const Vec way = heading(a), side = turned(way);
      const auto flat = [](Vec d) { return Vec{d.x, d.y * 0.80}; };
      const std::vector<Knot> line =
          spline({{centre, size * 0.26},
                  {centre + flat(way * (size * 0.5) + side * (size * 0.03)), size * 0.20},
                  {centre + flat(way * size + side * (size * 0.10)), size * 0.07}},
                 12);
      if (pass == 0) {
        shadow(pic, line, 1.8, 0.8);
        continue;
      }
      stroke(pic, line, [&](const OnStroke& o) {
        const Vec d = o.at - centre;
        const Cells c = cells(d.x * 0.95, d.y * 1.1, 719, 0.6);
        const double wart = smooth(0.32, 0.16, c.nearest);
        const double ridge = smooth(0.16, 0.05, std::fabs(o.u));
        Vec3 n = o.round();
        n = unit({n.x + 0.7 * wart * c.to.x, n.y + 0.7 * wart * c.to.y, n.z});
        Rgb colour = mix(Rgb{0.86, 0.10, 0.03}, Rgb{1.0, 0.50, 0.08}, smooth(0.9, 0.1, std::fabs(o.u)));
        colour = mix(colour, Rgb{1.0, 0.90, 0.55}, 0.85 * std::max(wart, 0.6 * ridge));
        const double grown = i == 0 ? 1 : smooth(0.04, 0.34, o.s);  // the arms flow into one disc
        return Paint{lit(o.at, n, colour, {0.25, 0.5, 0.3, 0.10}) * grown, grown};
      });
    }
}

void paint_polyps(Picture& pic, Vec centre, double spread_mm, int count, Rgb rim, Rgb heart,
                  std::uint32_t seed) {
  Dice dice(seed);
  struct Flower {
    Vec at;
    double r, phase;
  };
  std::vector<Flower> all;
  for (int i = 0; i < count * 6 && static_cast<int>(all.size()) < count; ++i) {
    const Flower f{centre + Vec{dice.bell() * spread_mm, dice.bell() * spread_mm * 0.38},
                   dice.range(1.9, 3.3), dice.range(0, 6)};
    const bool clear = std::none_of(
        all.begin(), all.end(), [&](const Flower& o) { return length(o.at - f.at) < 0.80 * (o.r + f.r); });
    if (clear && f.at.y + f.r < 367) all.push_back(f);  // the film's foot stays empty
  }
  std::stable_sort(all.begin(), all.end(), [](const Flower& a, const Flower& b) { return a.at.y < b.at.y; });
  for (const Flower& f : all) {
    wash(pic, around(f.at, f.r * 1.5, f.r * 1.5), [&](Vec at) {
      const Vec d{(at.x - f.at.x) / f.r, (at.y - f.at.y) / (f.r * 0.82)};
      const double q = length(d), a = std::atan2(d.y, d.x) + f.phase;
      const double petal = 0.80 + 0.20 * std::fabs(std::cos(a * 10));  // fringe of twenty tentacles
      const double cover = edge(pic, (petal - q) * f.r), dark = 0.8 * smooth(1.35, 0.95, q);
      const double spoke = 0.6 + 0.4 * std::cos(a * 20);
      Rgb c = mix(heart, rim * 0.35, smooth(0.18, 0.36, q));
      c = mix(c, rim * spoke, smooth(0.45, 0.66, q));
      c = c * (1 - 0.85 * smooth(0.13, 0.07, std::fabs(q - 0.40))) *
          smooth(0.10, 0.16, length(Vec{d.x, d.y * 2.2}));
      const Vec3 n = unit({d.x * 0.5, d.y * 0.5 - 0.35, 0.8});
      const Rgb light = lit(at, n, c, {0.2, 0.3, 0.4, 0.22});
      return Paint{light * cover, std::max(cover, dark)};
    });
  }
}

void paint_moray(Picture& pic) {
  const std::vector<Knot> body = spline({{{247, 366}, 7.0},
                                         {{262, 352}, 8.2},
                                         {{271, 334}, 9.0},
                                         {{268, 315}, 9.2},
                                         {{260, 302}, 8.7},
                                         {{250, 293}, 8.2},
                                         {{238, 291}, 8.0},
                                         {{228, 294}, 6.2},
                                         {{221, 297}, 3.8}},
                                        16);
  std::vector<Knot> fin;
  for (const Knot& k : body) fin.push_back({k.p + Vec{1.5, -3.2}, k.r * 0.96});
  shadow(pic, body, 4, 0.85);
  stroke(pic, fin, [](const OnStroke& o) {
    const double rays = 0.6 + 0.4 * std::sin(o.s * 420 + o.u * 3);
    const Rgb c =
        Rgb{0.35, 0.42, 0.06} * rays + Rgb{0.5, 0.8, 0.5} * (0.8 * smooth(0.82, 0.97, length(o.off)));
    return Paint{c * (0.9 * smooth(1.0, 0.93, o.s) * clamp01(0.7 - o.off.y)), smooth(1.0, 0.93, o.s)};
  });
  stroke(pic, body, [&](const OnStroke& o) {
    const Cells c = cells(o.at.x / 3.5, o.at.y / 3.5, 733, 0.9);
    const double net = smooth(0.13, 0.28, c.second - c.nearest);
    Rgb colour =
        mix(Rgb{1.0, 0.85, 0.32}, Rgb{0.16, 0.11, 0.02}, net * (0.80 - 0.35 * smooth(0.8, 1.0, o.s)));
    const Vec3 n = o.round();
    Rgb light = lit(o.at, n, colour, {0.35, 0.6, 0.3, 0.05}) * smooth(1.0, 0.92, length(o.off));
    // Mouth: a dark gape with a pale lip.
    const Vec d = rotated(o.at - Vec{216.5, 299}, -rad(-17));
    const double mouth = 1.9 * smooth(20, 0, d.x) - std::fabs(d.y);
    if (d.x < 17) light = mix(light, Rgb{0.28, 0.02, 0.03}, smooth(0.0, 0.25, mouth));
    if (d.x < 18) light = light + Rgb{0.9, 0.85, 0.5} * (0.45 * smooth(0.45, 0.1, std::fabs(mouth + 0.35)));
    return Paint{light, 1};
  });
  for (int i = 0; i < 7; ++i) {  // teeth
    const Vec root = Vec{219.3, 297.2} + polar(1, rad(-17)) * (i * 1.8);
    stroke(pic, {{root, 0.42}, {root + Vec{0.15, 1.7}, 0.05}}, [](const OnStroke&) {
      return Paint{Rgb{0.95, 1, 0.95}, 1};
    });
  }
  const Vec eye{230.5, 289.3};
  wash(pic, around(eye, 3, 3), [&](Vec at) {
    const double q = length(at - eye), cover = edge(pic, 2.0 - q);
    const Rgb c = Rgb{1.0, 0.9, 0.5} * (smooth(0.95, 1.1, q) * smooth(1.9, 1.6, q)) +
                  Rgb{1, 1, 1} * smooth(0.5, 0.3, length(at - eye - Vec{0.4, -0.5}));
    return Paint{c * cover, cover};
  });
}

}  // namespace kirtle::art::reef
