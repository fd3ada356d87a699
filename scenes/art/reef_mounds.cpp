#include "art/reef.h"

#include <array>

namespace kirtle::art::reef {

namespace {

/// Heights of a rocky ground; the slope gives the normal.
double crag(Vec at, std::uint32_t seed) {
  const double big = fbm(at * 0.045, 3, seed), fine = fbm(at * 0.35, 3, seed + 11);
  const Cells c = cells(at.x * 0.16, at.y * 0.16, seed + 21);
  return 7.0 * big + 1.3 * fine + 2.2 * smooth(0.0, 0.5, c.second - c.nearest);
}

/// Winding ridges grown by an activator that feeds itself nearby and starves further off.
class Maze {
 public:
  static constexpr int kSize = 220;
  explicit Maze(std::uint32_t seed) : v_(kSize * kSize) {
    for (int i = 0; i < kSize * kSize; ++i)
      v_[i] = static_cast<float>(hash_unit(static_cast<std::uint32_t>(i), seed) - 0.5);
    for (int round = 0; round < 26; ++round) {
      std::vector<float> near = v_, wide = v_;
      blur(near, 3);
      blur(near, 3);
      blur(wide, 5);
      blur(wide, 5);
      for (int i = 0; i < kSize * kSize; ++i)
        v_[i] = static_cast<float>(std::tanh(9.0 * (near[i] - wide[i]) + 0.25 * v_[i]));
    }
    blur(v_, 1);
  }
  /// -1 valley .. 1 ridge; one ridge and its valley take about 12 units. Wraps.
  double at(double x, double y) const {
    const double fx = std::floor(x), fy = std::floor(y);
    const double u = x - fx, w = y - fy;
    const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
    return mix(mix(cell(ix, iy), cell(ix + 1, iy), u), mix(cell(ix, iy + 1), cell(ix + 1, iy + 1), u), w);
  }

 private:
  static int wrap(int i) { return ((i % kSize) + kSize) % kSize; }
  double cell(int x, int y) const { return v_[wrap(y) * kSize + wrap(x)]; }
  static void blur(std::vector<float>& v, int reach) {  // box, both ways, round the edges
    std::vector<float> t(v.size());
    const float share = 1.0F / static_cast<float>(2 * reach + 1);
    for (int way = 0; way < 2; ++way) {
      for (int y = 0; y < kSize; ++y)
        for (int x = 0; x < kSize; ++x) {
          float sum = 0;
          for (int k = -reach; k <= reach; ++k)
            sum += v[way == 0 ? y * kSize + wrap(x + k) : wrap(y + k) * kSize + x];
          t[y * kSize + x] = sum * share;
        }
      v.swap(t);
    }
  }
  std::vector<float> v_;
};

}  // namespace

void paint_rocks(Picture& pic, bool front) {
  // Top and bottom of the heap along the film's width.
  const auto top = [&](double x) {
    const double c = (x - 165) / 160;
    return front ? 338 - 8 * std::cos(c * 4) + 9 * (fbm({x * 0.05, 1}, 3, 611) - 0.5) + 26 * c * c
                 : 283 + 40 * c * c + 30 * (fbm({x * 0.022, 5}, 4, 601) - 0.5) - 9 * std::cos(c * 7);
  };
  const std::uint32_t seed = front ? 651 : 641;
  wash(pic, {{10, front ? 310.0 : 240.0}, {320, 378}}, [&](Vec at) {
    const double c = (at.x - 165) / 150;
    const double rim = top(at.x) + 1.6 * (fbm(at * 0.4, 3, seed + 3) - 0.5);
    const double cover = edge(pic, at.y - rim);
    if (cover <= 0 || std::fabs(c) > 1.02) return Paint{{}, 0};
    // The foot dissolves into the shirt along a bowl, in stipple and cracks.
    const double bowl = 372 - 46 * c * c * c * c - 12 * c * c;
    const double dissolve = (bowl - at.y) / 30 + 0.9 * (fbm(at * 0.16, 4, seed + 5) - 0.5);
    const double shown =
        smooth(0.0, 0.50, dissolve) * smooth(1.02, 0.92, std::fabs(c) + 0.1 * (fbm(at * 0.12, 3, 9) - 0.5));
    const double e = 0.35, h = crag(at, seed);
    const Vec slope{crag(at + Vec{e, 0}, seed) - h, crag(at + Vec{0, e}, seed) - h};
    const double round = 1.6 * smooth(14, 0, at.y - rim);
    const Vec3 n = unit({-slope.x / e * 0.55, -slope.y / e * 0.55 - round, 1});
    const double crust = smooth(0.50, 0.66, fbm(at * 0.09, 3, seed + 31));
    const double algae = smooth(0.52, 0.66, fbm(at * 0.075 + Vec{40, 7}, 3, seed + 33));
    Rgb colour = mix(Rgb{0.10, 0.13, 0.24}, Rgb{0.46, 0.10, 0.22}, 0.85 * crust);
    colour = mix(colour, Rgb{0.05, 0.30, 0.26}, 0.8 * algae);
    const Cells dots = cells(at.x * 0.75, at.y * 0.75, seed + 41);
    const double polyp = smooth(0.36, 0.24, dots.nearest) * smooth(0.55, 0.7, noise(at * 0.10, seed + 43));
    colour = mix(colour, (dots.id & 1U) != 0 ? Rgb{0.95, 0.55, 0.12} : Rgb{0.20, 0.75, 0.65}, polyp * 0.9);
    const Rgb light = lit(at, n, colour, {0.22, 0.45, 0.15, 0.03});
    return Paint{light * (shown * cover * (front ? 0.95 : 0.75)), cover};
  });
}

void paint_brain_coral(Picture& pic, Vec centre, double rx, double ry, Rgb ridge, Rgb valley,
                       std::uint32_t seed) {
  const Maze maze(seed);
  // Unrolls the dome so that the ridges keep their width towards its edge.
  const auto height = [&](Vec e) {
    const double q = std::min(0.999, length(e)), roll = q > 1e-6 ? std::asin(q) / q : 1.0;
    const double warp = 0.5 * (fbm(e * 3.0, 2, seed + 1) - 0.5);
    return maze.at((e.x * roll + warp) * rx * 3.2 + 50, e.y * roll * ry * 3.2 + 50);
  };
  const auto inside_mm = [&](Vec at) {
    const Vec d{(at.x - centre.x) / rx, (at.y - centre.y) / ry};
    const double a = std::atan2(d.y, d.x);
    return (1 + 0.05 * (noise({a * 2.2, 3}, seed) - 0.5) + 0.012 * std::sin(a * 46) - length(d)) *
           std::min(rx, ry);
  };
  wash(pic, around(centre, rx * 1.15, ry * 1.15), [&](Vec at) {  // its shadow on what lies behind
    return Paint{{}, 0.75 * smooth(-4.5, 0.5, inside_mm(at))};
  });
  wash(pic, around(centre, rx * 1.1, ry * 1.1), [&](Vec at) {
    const double cover = edge(pic, inside_mm(at));
    if (cover <= 0) return Paint{{}, 0};
    const Vec e{(at.x - centre.x) / (rx * 1.03), (at.y - centre.y) / (ry * 1.03)};
    const double h = height(e), d = 0.006;
    const Vec slope{(height(e + Vec{d, 0}) - h) / (d * rx), (height(e + Vec{0, d}) - h) / (d * ry)};
    const double z = std::sqrt(std::max(0.02, 1 - dot(e, e)));
    const Vec3 n = unit({e.x - 0.62 * slope.x * z, e.y - 0.62 * slope.y * z, z});
    const double up = smooth(-0.75, 0.75, h);
    const double tooth = 0.84 + 0.32 * noise(at * 2.3, seed + 3);  // the polyps' teeth as a fine grain
    Rgb colour = mix(valley, ridge, up) * tooth;
    colour = colour * (1 - 0.30 * smooth(0.90, 1.0, h));
    const Rgb light = lit(at, n, colour, {0.20, 0.55, 0.25, 0.06 + 0.10 * (1 - up)});
    return Paint{light * (cover * (0.35 + 0.65 * up) * (0.55 + 0.45 * smooth(0.9, -0.3, e.y))), cover};
  });
}

void paint_shelf_coral(Picture& pic, Vec centre, double rx, std::uint32_t seed) {
  Dice dice(seed);
  for (int shelf = 0; shelf < 3; ++shelf) {  // low to high, each in front of the one beneath it
    const double wide = rx * (1 - 0.18 * shelf), flat = wide * 0.26;
    const Vec c = centre + Vec{dice.range(-0.22, 0.22) * rx, -shelf * rx * 0.30};
    const double phase = dice.range(0, 6);
    wash(pic, around(c + Vec{0, flat * 0.5}, wide * 1.15, flat * 2.4), [&](Vec at) {
      const Vec d{(at.x - c.x) / wide, (at.y - c.y) / flat};
      const double a = std::atan2(d.y, d.x);
      const double lobe = 1 + 0.07 * std::sin(a * 5 + phase) + 0.035 * std::sin(a * 13 + phase * 2) +
                          0.012 * std::sin(a * 61);
      const double q = length(d) / lobe;
      // Underside: a cone down to its stalk.
      const double y01 = (at.y - c.y) / (flat * 2.0);
      const double cone = (1 - smooth(0.0, 1.0, y01)) * 0.93 + 0.10 - std::fabs(d.x);
      const double top_cover = edge(pic, (1 - q) * flat);
      const double low_cover = y01 > 0 && y01 < 1.1 ? edge(pic, cone * wide) : 0;
      Paint out{{}, 0};
      if (low_cover > 0) {
        const double rib = 0.6 + 0.4 * std::sin(d.x / std::max(0.08, cone + std::fabs(d.x)) * 42);
        out = {lit(at, unit({d.x * 1.2, 0.75, 0.6}), Rgb{0.10, 0.05, 0.30} * rib, {0.05, 0.2, 0.2, 0.06}) *
                   low_cover,
               low_cover};
      }
      if (top_cover > 0) {
        const double rays = 0.5 + 0.5 * std::sin(a * 90 + 4 * noise(at * 0.5, seed));
        const Cells p = cells(at.x * 0.9, at.y * 1.7, seed + 7);
        const double cup = smooth(0.45, 0.2, p.nearest);
        const double lip = smooth(0.90, 0.985, q);
        const Vec3 n = unit({0.25 * d.x + 0.3 * cup * p.to.x, -0.75 + 0.35 * d.y + 0.4 * cup * p.to.y, 0.6});
        Rgb colour =
            mix(Rgb{0.16, 0.09, 0.52}, Rgb{0.50, 0.30, 0.95}, smooth(0.2, 1.0, q) * (0.6 + 0.4 * rays));
        colour = mix(colour, Rgb{0.75, 0.95, 1.0}, 0.8 * lip);
        const Rgb light = lit(at, n, colour, {0.1, 0.4, 0.2, 0.05}) * (0.45 + 0.55 * smooth(0.05, 0.9, q)) *
                          (0.8 + 0.35 * cup);
        out = {out.light * (1 - top_cover) + light * top_cover, std::max(out.hides, top_cover)};
      }
      return out;
    });
  }
}

void paint_sponges(Picture& pic, Vec foot, double height, std::uint32_t seed) {
  Dice dice(seed);
  const std::array<double, 6> order{0.1, 0.85, 0.30, 0.66, 0.47, 0.98};
  for (std::size_t i = 0; i < order.size(); ++i) {
    const double lean = (order[i] - 0.5) * 1.1, tall = height * dice.range(0.62, 1.0) * (i < 3 ? 1.0 : 0.72);
    const double r = height * dice.range(0.075, 0.10);
    const Vec tip = foot + Vec{lean * height * 0.72, -tall};
    const std::vector<Knot> line = spline({{foot + Vec{lean * height * 0.3, 0}, r * 0.8},
                                           {foot + Vec{lean * height * 0.42, -tall * 0.4}, r * 0.95},
                                           {foot + Vec{lean * height * 0.58, -tall * 0.75}, r * 1.08},
                                           {tip, r * 1.12}},
                                          14);
    shadow(pic, line, 2.4, 0.8);
    const Rgb colour{1.0, 0.66, 0.06};
    const auto skin = [&](const OnStroke& o) {
      if (dot(o.at - tip, Vec{-lean * 0.4, 1}) < -r * 0.12)
        return Paint{{}, 0};  // flat top: the mouth is drawn there
      const double ring = fbm({o.s * 26, o.u * 2.5}, 3, seed + 3);
      const Cells pores = cells(o.s * tall / 1.7, o.u * o.r / 1.4, seed + 4);
      const double pit = smooth(0.26, 0.12, pores.nearest);
      Vec3 n = o.round();
      n = unit({n.x + 0.5 * (ring - 0.5), n.y + 1.1 * (ring - 0.5), n.z});
      return Paint{lit(o.at, n, colour * (0.55 + 0.7 * ring) * (1 - 0.7 * pit), {0.12, 0.45, 0.2, 0.05}) *
                       (0.35 + 0.65 * smooth(0.0, 0.6, o.s)),
                   1};
    };
    stroke(pic, line, skin);
    const double rx = r * 1.14, ry = r * 0.46, slant = lean * 0.35;
    wash(pic, around(tip, rx + 1, rx + 1), [&](Vec at) {
      const Vec d = rotated(at - tip, -slant);
      const double a = std::atan2(d.y / ry, d.x / rx),
                   q = length(Vec{d.x / rx, d.y / ry}) / (1 + 0.04 * std::sin(a * 9 + tall));
      const double cover = edge(pic, (1 - q) * ry);
      if (cover <= 0) return Paint{{}, 0};
      const double lip = smooth(0.66, 0.80, q), deep = smooth(0.78, 0.1, q - 0.25 * d.y / ry);
      const Rgb c =
          mix(Rgb{0.55, 0.14, 0.02} * (1 - deep), Rgb{1.0, 0.86, 0.40} * (0.62 - 0.25 * d.y / ry), lip);
      return Paint{c * (cover * (1 - 0.5 * smooth(250, 370, at.y))), cover};
    });
  }
}

}  // namespace kirtle::art::reef
