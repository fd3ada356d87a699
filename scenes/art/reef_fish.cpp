#include "art/reef.h"

#include <array>

namespace kirtle::art::reef {

namespace {

/// A side view of a fish in its own length: x runs from the nose (0) to the root of the tail (1), y down.
struct Build {
  std::array<double, 9> back, belly;  ///< half heights at x = 0, 1/8 .. 1
  double tail_reach, tail_half, tail_fork;
  double dorsal, anal;  ///< heights of the fins
  double dorsal_from, dorsal_to, sweep;
};

double along(const std::array<double, 9>& t, double x) {
  const double p = clamp01(x) * 8;
  const int i = std::min(7, static_cast<int>(p));
  const double u = p - i, a = t[i > 0 ? i - 1 : 0], b = t[i], c = t[i + 1], d = t[std::min(8, i + 2)];
  const double smooth_part =
      b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)));
  return std::max(0.0, i == 0 ? mix(std::sqrt(u) * c, smooth_part, smooth(0.0, 1.0, u)) : smooth_part);
}

struct Coat {
  Rgb colour;
  double shine;
};

struct Frame {
  Vec nose;
  double length_mm, turn, side, bend;
  Vec local(Vec at) const {
    Vec d = rotated(at - nose, -turn) * (1 / length_mm);
    d.x *= side;
    d.y -= bend * d.x * d.x;
    return d;
  }
  Vec3 world(Vec3 n) const {
    const Vec v = rotated(Vec{n.x * side, n.y}, turn);
    return {v.x, v.y, n.z};
  }
};

/// Paints a fish. coat(x, v) with v = -1 back .. 1 belly; fin(part, x, y) gives a fin's colour.
template <class CoatOf, class FinOf>
void paint_fish(Picture& pic, const Frame& f, const Build& b, CoatOf coat, FinOf fin, double scales) {
  const double mm = f.length_mm, line = std::min(0.34, 0.012 * mm);
  const Vec mid = f.nose + rotated(Vec{0.55 * mm * f.side, 0}, f.turn);
  const auto edge_of = [&](double inside) { return edge(pic, inside * mm); };
  const auto finish = [&](Rgb c, double inside, double cover) {  // a dark line of shirt round each part
    return Paint{c * (cover * smooth(line * 0.4, line * 1.5, inside * mm)), cover};
  };
  wash(pic, around(mid, mm * 0.86, mm * 0.86), [&](Vec at) {
    const Vec p = f.local(at);
    if (p.x < -0.05 || p.x > 1.4 || std::fabs(p.y) > 0.75) return Paint{{}, 0};
    const double hi = along(b.back, p.x), lo = along(b.belly, p.x);
    if (p.x >= 0 && p.x <= 1.02) {
      const double slope = 1 / std::sqrt(1 + std::pow(8 * 0.6 * (along(b.back, p.x + 0.02) - hi) / 0.1, 2));
      const double inside = std::min({(p.y + hi) * slope, (lo - p.y) * slope, p.x * 1.2, 1.02 - p.x + 0.02});
      const double cover = edge_of(inside);
      if (cover > 0) {
        const double v = p.y < 0 ? p.y / std::max(1e-6, hi) : p.y / std::max(1e-6, lo);
        // Scales in staggered rows.
        const double row = p.y * scales,
                     col = p.x * scales * 0.8 + 0.5 * (static_cast<int>(std::floor(row)) & 1);
        const Vec in_scale{col - std::floor(col) - 0.15, row - std::floor(row) - 0.5};
        const double arc =
            smooth(0.50, 0.66, length(in_scale)) * smooth(0.24, 0.34, p.x) * smooth(1.0, 0.8, std::fabs(v));
        const Coat c = coat(p.x, p.y, v);
        Vec3 n = unit({-0.35 * smooth(0.3, 0, p.x) + 0.20 * arc * in_scale.x, v * 0.95,
                       std::sqrt(std::max(0.04, 1 - v * v))});
        Rgb light = lit(at, f.world(n), c.colour * (1 - 0.32 * arc), {0.35 * c.shine, 0.55, 0.35, 0.10});
        // Gill cover and mouth.
        const double gill = std::fabs(length(Vec{p.x - 0.13, p.y * 0.8}) - 0.135);
        light = light * (1 - 0.65 * smooth(0.011, 0.003, gill) * smooth(0.02, 0.10, p.x - 0.13) *
                                 smooth(0.15, 0.10, std::fabs(p.y)));
        light = light * (1 - 0.8 * smooth(0.009, 0.003, std::fabs(p.y - 0.035 - 0.2 * p.x)) *
                                 smooth(0.075, 0.06, p.x));
        // Eye.
        const Vec eye{p.x - 0.125, p.y + 0.045};
        const double q = length(eye) / 0.040;
        if (q < 1.25) {
          const Rgb iris =
              mix(Rgb{1, 0.75, 0.2}, Rgb{0.9, 0.95, 0.9}, smooth(0.7, 0.95, q)) * smooth(1.22, 1.1, q);
          Rgb e = iris * smooth(0.56, 0.66, q);
          e = e + Rgb{1, 1, 1} * smooth(0.30, 0.18, length(Vec{eye.x + 0.010, eye.y + 0.014}) / 0.04);
          light = e;
        }
        // Fin of the breast, folded on the flank.
        const Vec pec = rotated(Vec{p.x - 0.27, p.y - 0.05}, -0.35);
        const double open = 0.10 * std::sqrt(clamp01(pec.x / 0.17)) * smooth(0.20, 0.14, pec.x) + 0.008;
        if (pec.x > 0 && pec.x < 0.20) {
          const double in_pec = std::min(open - std::fabs(pec.y), 0.19 - pec.x), pc = edge_of(in_pec);
          const double rays = 0.65 + 0.35 * std::sin(std::atan2(pec.y, pec.x + 0.02) * 46);
          const Rgb pl = fin(2, pec.x / 0.19, pec.y / 0.1) * (rays * smooth(0, line * 1.3 / mm, in_pec));
          light = mix(light, pl, pc * 0.92);
        }
        return finish(light, inside, cover);
      }
    }
    // Tail.
    if (p.x > 0.9) {
      const double t = (p.x - 0.96) / b.tail_reach, v = std::fabs(p.y) / b.tail_half;
      const double wide = mix(0.30, 1.0, std::pow(clamp01(t), 0.7));
      const double end = 1.0 - b.tail_fork * (1 - v * v) + 0.02 * std::sin(p.y * 210);
      const double inside = std::min((wide - v) * b.tail_half, (end - t) * b.tail_reach),
                   cover = edge_of(inside);
      if (cover > 0 && t > -0.3) {
        const double rays = 0.60 + 0.40 * std::sin(p.y / std::max(0.2, wide) * 95 / (b.tail_half * 5));
        return finish(fin(1, t, p.y / b.tail_half) * rays, inside, cover);
      }
    }
    // Fins of back and belly, swept back.
    for (int low = 0; low < 2; ++low) {
      const double y = low == 1 ? p.y - lo : -p.y - hi, tall = low == 1 ? b.anal : b.dorsal;
      const double x0 = low == 1 ? 0.56 : b.dorsal_from, x1 = low == 1 ? 0.90 : b.dorsal_to;
      const double lean = p.x - b.sweep * std::max(0.0, y), t = (lean - x0) / (x1 - x0);
      if (t < 0 || t > 1 || y < -0.02) continue;
      const double spines = 0.03 * std::fabs(std::sin(t * 34)),
                   shape = std::pow(std::sin(kPi * std::pow(t, 0.75)), 0.55);
      const double notch = low == 0 && b.sweep < 0.7 ? 1 - 0.42 * smooth(0.10, 0.0, std::fabs(t - 0.55)) : 1;
      const double inside = std::min(
                       {tall * shape * notch * (1 - spines) - y, (lean - x0) * 0.9, (x1 - lean) * 0.9}),
                   cover = edge_of(inside);
      if (cover <= 0) continue;
      const double rays = 0.62 + 0.38 * std::sin((lean - x0) * 190);
      return finish(fin(0, y / tall, t) * rays, inside, cover);
    }
    return Paint{{}, 0};
  });
}

}  // namespace

void paint_banded_fish(Picture& pic, Vec nose, double mm, double turn_deg, bool faces_left,
                       std::uint32_t seed) {
  const Build build{{0.0, 0.115, 0.185, 0.215, 0.220, 0.200, 0.160, 0.110, 0.085},
                    {0.0, 0.110, 0.170, 0.205, 0.210, 0.190, 0.150, 0.105, 0.085},
                    0.30,
                    0.165,
                    -0.10,
                    0.115,
                    0.115,
                    0.26,
                    0.90,
                    0.55};
  const Frame f{nose, mm, rad(turn_deg), faces_left ? 1.0 : -1.0, 0.06 * (seed % 2 == 0 ? 1 : -1)};
  const auto band = [](double x, double y) {  // signed: positive inside a white band
    const double wave = 0.018 * std::sin(y * 17);
    const double a = 0.042 - std::fabs(x - 0.285 - wave + 0.35 * y * y),
                 b = 0.052 - std::fabs(x - 0.585 - wave + 0.10 * std::cos(y * 11) - 0.05),
                 c = 0.032 - std::fabs(x - 0.915);
    return std::max({a, b, c});
  };
  paint_fish(
      pic, f, build,
      [&](double x, double y, double v) {
        const double in = band(x, y);
        Rgb c = mix(Rgb{1.0, 0.40, 0.04}, Rgb{0.92, 0.13, 0.02}, smooth(0.3, -0.9, v) * 0.8 + 0.2 * x);
        c = mix(c, Rgb{1.0, 0.62, 0.12}, 0.6 * smooth(0.2, 0.9, v));
        c = c * smooth(-0.004, -0.020, in);
        if (in > 0) c = Rgb{1.0, 1.0, 0.98} * smooth(0.0, 0.010, in);
        return Coat{c, 1.0};
      },
      [&](int part, double t, double) {
        const double dark = part == 1   ? smooth(0.78, 0.84, t)
                            : part == 0 ? smooth(0.72, 0.80, t)
                                        : smooth(0.86, 0.93, t);
        const double tip = part == 1 ? smooth(0.90, 0.93, t) : 0;
        return mix(mix(Rgb{1.0, 0.30, 0.03}, Rgb{1.0, 0.55, 0.08}, t), Rgb{}, dark) +
               Rgb{0.8, 0.9, 0.9} * tip;
      },
      32);
}

void paint_sail_fish(Picture& pic, Vec nose, double mm, double turn_deg, bool faces_left) {
  const Build build{{0.0, 0.120, 0.260, 0.345, 0.370, 0.340, 0.255, 0.135, 0.070},
                    {0.0, 0.100, 0.230, 0.320, 0.350, 0.325, 0.245, 0.130, 0.070},
                    0.26,
                    0.150,
                    0.12,
                    0.26,
                    0.20,
                    0.30,
                    0.93,
                    0.9};
  const Frame f{nose, mm, rad(turn_deg), faces_left ? 1.0 : -1.0, 0.0};
  paint_fish(
      pic, f, build,
      [&](double x, double y, double v) {
        Rgb c = mix(Rgb{1.0, 0.80, 0.05}, Rgb{1.0, 0.50, 0.03}, smooth(0.4, 1.0, v));
        const double lines = std::sin(y * 52 + 2.4 * std::sin(x * 5));  // thin blue lines from gill to tail
        c = mix(c, Rgb{0.03, 0.20, 0.75}, smooth(0.55, 0.80, lines) * smooth(0.30, 0.42, x));
        const double mask = std::fabs(x - 0.125 - 0.25 * (y + 0.045) * (y + 0.045) - 0.05 * y);
        c = mix(c, Rgb{0.01, 0.02, 0.10}, smooth(0.052, 0.042, mask));
        c = mix(c, Rgb{0.95, 1.0, 1.0}, smooth(0.014, 0.006, std::fabs(mask - 0.062)));
        return Coat{c, 0.8};
      },
      [&](int part, double t, double) {
        const double blue = part == 2 ? 0 : smooth(0.72, 0.80, t) * smooth(0.96, 0.90, t);
        return mix(mix(Rgb{0.95, 0.55, 0.03}, Rgb{1.0, 0.85, 0.15}, t), Rgb{0.05, 0.30, 0.85}, blue);
      },
      38);
}

void paint_school(Picture& pic) {
  // One stream that comes up from the right, bends behind the arms and thins out to the left.
  const std::vector<Knot> way = spline({{{297, 258}, 9},
                                        {{266, 214}, 16},
                                        {{222, 196}, 19},
                                        {{168, 214}, 15},
                                        {{112, 226}, 12},
                                        {{58, 206}, 9},
                                        {{30, 168}, 5}},
                                       24);
  Dice dice(7001);
  struct Small {
    Vec nose;
    double mm, turn_deg, near;
  };
  std::vector<Small> all;
  for (int i = 0; i < 150; ++i) {
    const double s = std::pow(dice.unit(), 0.9) * 0.985;
    const auto k = static_cast<std::size_t>(s * static_cast<double>(way.size() - 2));
    const Vec d = unit(way[k + 1].p - way[k].p);
    const double off = dice.bell() * 0.42, near = dice.unit();
    all.push_back({way[k].p + turned(d) * (off * way[k].r), mix(6.5, 15.0, near) * mix(1.1, 0.75, s),
                   std::atan2(d.y, d.x) / kPi * 180 + dice.range(-9, 9), near});
  }
  std::stable_sort(all.begin(), all.end(), [](const Small& a, const Small& b) { return a.near < b.near; });
  for (const Small& s : all) {
    const double turn = rad(s.turn_deg), dim = mix(0.28, 1.0, s.near * s.near);
    const Vec mid = s.nose - polar(s.mm * 0.6, turn);
    wash(pic, around(mid, s.mm * 0.8, s.mm * 0.8), [&](Vec at) {
      Vec p = rotated(at - s.nose, -turn) * (1 / s.mm);
      const double flip = std::cos(turn) < 0 ? -1 : 1;  // belly down
      p = {-p.x, p.y * flip};
      p.y -= 0.06 * std::sin(p.x * 4 + s.near * 9);
      const double half = 0.155 * std::pow(std::sin(kPi * std::pow(clamp01(p.x), 0.72)), 0.8) + 0.012;
      double inside = p.x < 1 ? std::min(half - std::fabs(p.y), p.x) : -1.0;
      const double t = (p.x - 0.93) / 0.27,
                   fork = std::min(0.03 + 0.16 * t - std::fabs(p.y),
                                   (1 - 0.55 * (1 - std::fabs(p.y) / 0.17) - t) * 0.27);
      const double fin = std::min(0.12 - std::fabs(p.x - 0.52 + 0.5 * (std::fabs(p.y) - half)),
                                  0.075 - (std::fabs(p.y) - half));
      const bool body = inside > 0;
      if (t > 0) inside = std::max(inside, fork);
      if (p.y < 0) inside = std::max(inside, std::min(fin, std::fabs(p.y)));
      const double cover = edge(pic, inside * s.mm);
      if (cover <= 0) return Paint{{}, 0};
      const double v = body ? p.y / half : 0;
      Rgb c = mix(Rgb{0.02, 0.16, 0.30}, Rgb{0.70, 0.92, 0.95}, smooth(-0.55, 0.15, v));
      c = mix(c, Rgb{0.20, 0.45, 0.60}, smooth(0.45, 1.0, v));
      c = c + Rgb{0.9, 1, 1} * (0.9 * smooth(0.16, 0.05, std::fabs(v + 0.12)) * (body ? 1 : 0));
      c = c + Rgb{0.30, 0.85, 0.9} * (0.6 * smooth(-0.75, -0.95, v));
      if (!body) c = Rgb{0.25, 0.55, 0.65} * (0.6 + 0.4 * std::sin(p.y * 90));
      const double eye = length(Vec{p.x - 0.13, p.y + 0.02}) / 0.045;
      if (eye < 1) c = eye < 0.6 ? Rgb{} : Rgb{1, 0.95, 0.6};
      c = c * (smooth(0.0, 0.02, inside) * dim);
      return Paint{c * cover, cover};
    });
  }
}

}  // namespace kirtle::art::reef
