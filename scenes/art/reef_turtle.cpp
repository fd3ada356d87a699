#include "art/reef.h"

#include <array>

namespace kirtle::art::reef {

namespace {

// The turtle swims up and to the right, seen from above and behind, between the viewer and the moonlit water.
constexpr Vec kShell{246, 141};
constexpr double kLong = 33, kWide = 24.5, kTurn_deg = 32;  // heading, up from the right

/// Own frame: x to the head, y to its right flank, unit = mm.
Vec to_turtle(Vec at) {
  const Vec d = rotated(at - kShell, rad(kTurn_deg));
  return {d.x, d.y};
}
Vec from_turtle(Vec p) { return kShell + rotated(p, -rad(kTurn_deg)); }

/// Skin of head and flippers: dark plates with pale seams.
Paint scaled(const OnStroke& o, double size, double bright) {
  const Vec p = to_turtle(o.at);
  const Cells c = cells(p.x / size, p.y / size, 311, 0.85);
  const double seam = smooth(0.16, 0.05, c.second - c.nearest);
  const double tint = (c.id & 255U) / 255.0;
  Vec3 n = o.round();
  n = unit({n.x * 0.8 - 0.35 * c.to.x, n.y * 0.8 - 0.35 * c.to.y, n.z + 0.15});
  const Rgb plate = mix(Rgb{0.04, 0.30, 0.32}, Rgb{0.24, 0.50, 0.20}, tint);
  const Rgb colour = mix(plate, Rgb{0.85, 0.85, 0.45}, 0.85 * seam);
  Rgb light = lit(o.at, n, colour, {0.15, 0.85, 0.25, 0.05}) * bright;
  light = light * smooth(1.0, 0.86, length(o.off));
  light = light +
          Rgb{0.35, 0.95, 0.95} * (0.75 * bright * smooth(0.62, 0.95, length(o.off)) *
                                   smooth(0.98, 0.93, length(o.off)) * clamp01(-o.off.y + 0.25 * o.off.x));
  return {light, 1};
}

void flipper(Picture& pic, const std::vector<Knot>& own, double bright) {
  std::vector<Knot> line;
  for (const Knot& k : spline(own, 22)) line.push_back({from_turtle(k.p), k.r});
  shadow(pic, line, 3.0, 0.6);
  stroke(pic, line, [&](const OnStroke& o) { return scaled(o, 2.7, bright); });
}

/// The shell's plates: seeds laid out by hand, the seam runs where two are equally near.
struct Scute {
  double gap;  ///< mm from the seam
  Vec to;
  int index;
};
Scute scute(Vec p) {
  static constexpr std::array<Vec, 13> kSeeds{{{24, 0},
                                               {12.5, 0},
                                               {0, 0},
                                               {-12.5, 0},
                                               {-24, 0},
                                               {15, 14},
                                               {3, 16},
                                               {-9.5, 14.5},
                                               {-20, 10.5},
                                               {15, -14},
                                               {3, -16},
                                               {-9.5, -14.5},
                                               {-20, -10.5}}};
  double best = 1e9, second = 1e9;
  int index = 0;
  for (std::size_t i = 0; i < kSeeds.size(); ++i) {
    const double d = length(p - kSeeds[i]) - (i < 5 ? 0.6 : 0.0);
    if (d < best) {
      second = best, best = d, index = static_cast<int>(i);
    } else {
      second = std::min(second, d);
    }
  }
  return {second - best, p - kSeeds[index], index};
}

void shell(Picture& pic) {
  const auto inside_mm = [](Vec p) {
    const double x = p.x / kLong, y = p.y / (kWide * (1 + 0.14 * p.x / kLong));
    const double a = std::atan2(y, x), notch = 0.012 * std::fabs(std::sin(a * 11)) * smooth(0.6, -1.0, x);
    return (1 - notch - length(Vec{x, y})) * kWide;
  };
  wash(pic, around(kShell, 40, 40), [&](Vec at) {
    return Paint{{}, 0.8 * smooth(-3.0, 0.4, inside_mm(to_turtle(at)))};
  });
  wash(pic, around(kShell, 40, 40), [&](Vec at) {
    const Vec p = to_turtle(at);
    const double inside = inside_mm(p), cover = edge(pic, inside);
    if (cover <= 0) return Paint{{}, 0};
    const double a = std::atan2(p.y / kWide, p.x / kLong);
    const bool margin = inside < 4.2;
    const Scute s = scute(p);
    double gap = s.gap * 0.5;
    double rays = 0;
    if (margin) {
      const double turn = a / (2 * kPi) * 25, off = turn - std::floor(turn);
      gap = std::min({(0.5 - std::fabs(off - 0.5)) * 6.5, 4.2 - inside + 0.2, inside + 0.3});
      rays = 0.5 + 0.5 * std::sin(off * 20);
    } else {
      gap = std::min(gap, inside - 4.2);
      const double spoke = std::atan2(s.to.y, s.to.x - 2.5);
      rays = 0.5 + 0.5 * std::sin(spoke * 21 + 3 * noise(p * 0.4, 331) + s.index);
    }
    const double rings = 0.5 + 0.5 * std::sin(gap * 5.2 + 1.4 * noise(p * 0.3, 333));
    const double seam = smooth(0.16, 0.50, gap);
    // A vaulted shell whose plates are slightly cushioned.
    const double vx = p.x / kLong, vy = p.y / kWide,
                 z = std::sqrt(std::max(0.08, 1 - 0.85 * (vx * vx + vy * vy)));
    const double cushion = 0.35 * smooth(2.2, 0.2, gap);
    const Vec lean = s.to * (cushion / std::max(1.0, length(s.to)));
    const Vec turned_n = rotated(
        Vec{0.9 * vx + lean.x, 0.9 * vy + lean.y - 0.10 * (p.y > 0 ? -1 : 1) * smooth(4, 0, std::fabs(p.y))},
        -rad(kTurn_deg));
    const Vec3 n = unit({turned_n.x, turned_n.y, z});
    Rgb colour = mix(Rgb{0.10, 0.13, 0.07}, Rgb{0.95, 0.52, 0.06}, rays * smooth(0.2, 3.0, gap + 1.0));
    colour = mix(colour, Rgb{0.10, 0.36, 0.30}, 0.45 * fbm(p * 0.12, 3, 337)) * (0.75 + 0.25 * rings);
    Rgb light = lit(at, n, colour, {0.30, 0.5, 0.2, 0.05}) * (1.45 * seam);
    light = light + Rgb{0.85, 0.80, 0.42} * (0.12 * (1 - smooth(0.0, 0.22, gap)));
    const double rim = smooth(0.25, 0.45, inside) * smooth(1.5, 0.6, inside);
    light = light + Rgb{0.40, 1.0, 0.98} * (0.9 * rim * clamp01(-turned_n.y * 1.3 + 0.2 * turned_n.x));
    return Paint{light * (cover * smooth(0.0, 0.25, inside)), cover};
  });
}

}  // namespace

void paint_turtle(Picture& pic) {
  flipper(pic, {{{-20, 12}, 5}, {{-33, 19}, 5}, {{-44, 21}, 4}, {{-50, 20}, 1.0}}, 0.55);
  flipper(pic, {{{-20, -12}, 5}, {{-31, -21}, 5}, {{-41, -27}, 4.4}, {{-46, -28}, 1.0}}, 0.9);
  flipper(pic, {{{17, 15}, 6}, {{24, 29}, 6.6}, {{17, 45}, 6.2}, {{3, 58}, 4}, {{-6, 63}, 1.0}}, 0.6);
  flipper(pic, {{{17, -15}, 6}, {{27, -27}, 6.6}, {{26, -43}, 6.4}, {{14, -57}, 4.2}, {{5, -63}, 1.0}}, 1.0);
  std::vector<Knot> neck;
  for (const Knot& k :
       spline({{{25, 0}, 7}, {{34, -0.5}, 6.2}, {{41, -1}, 7.3}, {{47, -1}, 6.4}, {{52, -0.5}, 3.4}}, 16))
    neck.push_back({from_turtle(k.p), k.r});
  shadow(pic, neck, 2.5, 0.6);
  stroke(pic, neck, [](const OnStroke& o) { return scaled(o, 3.0, 1.0); });
  for (const double side : {-1.0, 1.0}) {
    const Vec eye = from_turtle({46, -1 + side * 4.9});
    wash(pic, around(eye, 2.5, 2.5), [&](Vec at) {
      const double q = length(at - eye), cover = edge(pic, 1.45 - q);
      const Rgb c = Rgb{1, 1, 1} * smooth(0.42, 0.25, length(at - eye - Vec{0.4, -0.5})) +
                    Rgb{0.9, 0.85, 0.4} * (smooth(1.0, 1.15, q) * 0.9);
      return Paint{c * cover, cover};
    });
  }
  shell(pic);
}

}  // namespace kirtle::art::reef
