#include "art/reef.h"

namespace kirtle::art::reef {

namespace {

struct Branch {
  std::vector<Knot> line;
  double depth;     ///< larger = nearer to the viewer
  double from, to;  ///< share of the whole colony's reach at its ends, for the colour of the tips
};

void grow_horn(std::vector<Branch>& out, Dice& dice, Vec from, double turn_deg, double reach, double r,
               double depth, int order, double share) {
  Branch b{{}, depth, share, 0};
  const int steps = 14;
  double turn = turn_deg;
  const double lift = (90 - turn_deg) * 0.030, bend = dice.range(-2.4, 2.4);
  Vec p = from;
  for (int i = 0; i <= steps; ++i) {
    const double t = static_cast<double>(i) / steps;
    b.line.push_back({p, r * mix(1.0, 0.62, t) * (t > 0.9 ? 0.94 : 1)});
    turn += lift + bend + dice.range(-4, 4);
    p = p + heading(turn) * (reach / steps);
  }
  b.to = std::min(1.0, share + (order <= 0 ? 1 - share : 0.30));
  out.push_back(b);
  if (order <= 0) return;
  const int twigs = order >= 2 ? 4 : 3;
  for (int i = 0; i < twigs; ++i) {
    const double t = mix(0.32, 0.98, (i + dice.range(0.1, 0.9)) / twigs);
    const Knot& k = b.line[static_cast<std::size_t>(t * steps)];
    const double way = (i % 2 == 0 ? 1 : -1) * dice.range(24, 52);
    grow_horn(out, dice, k.p, turn_deg + (turn - turn_deg) * t + way, reach * dice.range(0.50, 0.78),
              k.r * 0.84, depth + dice.range(-1.0, 0.9), order - 1, share + 0.30 * t);
  }
}

}  // namespace

void paint_staghorn(Picture& pic, Vec foot, double height, Rgb body, Rgb tip, std::uint32_t seed) {
  Dice dice(seed);
  std::vector<Branch> all;
  const int stems = 7;
  for (int i = 0; i < stems; ++i) {
    const double turn = mix(142, 38, (i + dice.range(0.25, 0.75)) / stems);
    grow_horn(all, dice, foot + Vec{dice.range(-0.08, 0.08) * height, 0}, turn,
              height * dice.range(0.40, 0.54), height * 0.050, dice.range(-2, 2), 2, 0);
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Branch& a, const Branch& b) { return a.depth < b.depth; });
  for (std::size_t n = 0; n < all.size(); ++n) {
    const Branch& b = all[n];
    shadow(pic, {b.line.begin() + (b.from > 0 ? 3 : 0), b.line.end()}, 1.6, 0.75);
    const double near = clamp01(0.55 + b.depth * 0.16);
    const auto salt = static_cast<std::uint32_t>(seed + n * 17);
    const double reach = length(b.line.back().p - b.line.front().p) * 1.1;
    stroke(pic, b.line, [&](const OnStroke& o) {
      const double share = mix(b.from, b.to, o.s);
      // Cups of the polyps: small raised rings.
      const Cells c =
          cells(o.s * reach / 1.15, std::asin(std::clamp(o.u, -1.0, 1.0)) * o.r / 1.05, salt, 0.7);
      const double cup = smooth(0.50, 0.18, c.nearest), pit = smooth(0.14, 0.06, c.nearest);
      Vec3 nrm = o.round();
      nrm = unit({nrm.x + 0.9 * cup * (o.along.x * c.to.x - o.along.y * c.to.y),
                  nrm.y + 0.9 * cup * (o.along.y * c.to.x + o.along.x * c.to.y), nrm.z});
      Rgb colour = mix(body, tip, smooth(0.45, 1.0, share));
      colour = mix(colour, Rgb{1.0, 0.95, 0.80}, 0.75 * smooth(0.88, 1.0, share) * smooth(0.4, 1.0, o.s));
      colour = colour * (0.78 + 0.45 * cup) * (1 - 0.55 * pit);
      const Rgb light = lit(o.at, nrm, colour, {0.16, 0.55, 0.30, 0.06 + 0.10 * share});
      const double grown = b.from > 0 ? smooth(0.15, 1.15, o.s * reach / o.r) : 1;  // flows out of its parent
      return Paint{light * ((0.35 + 0.65 * near) * grown), grown};
    });
  }
}

namespace {

struct Twig {
  Vec p;
  int parent;
  double load;
};

/// Grows towards scattered goals until each is reached: the way of a sea fan's ribs.
std::vector<Twig> grow_fan(Vec foot, double height, Dice& dice) {
  std::vector<Vec> goals;
  while (goals.size() < 1500) {
    const double a = dice.range(40, 138), q = std::sqrt(dice.unit());
    const double lobe = 0.80 + 0.26 * noise({a * 0.06, 2.5}, 77);
    const Vec p = foot + heading(a) * (height * q * lobe) + Vec{0, -height * 0.06};
    if (q > 0.10) goals.push_back(p);
  }
  const double step = height / 75, kill = step * 1.8, sense = height * 0.22;
  std::vector<Twig> twigs{{foot, -1, 0}};
  for (int i = 1; i <= 9; ++i) twigs.push_back({foot + Vec{0.2 * i * (i % 2), -step * i}, i - 1, 0});
  for (int round = 0; round < 130 && !goals.empty(); ++round) {
    std::vector<Vec> pull(twigs.size());
    std::vector<Vec> left;
    for (const Vec& g : goals) {
      std::size_t best = 0;
      double near = 1e9;
      for (std::size_t i = 0; i < twigs.size(); ++i) {
        const Vec d = g - twigs[i].p;
        const double d2 = dot(d, d);
        if (d2 < near) near = d2, best = i;
      }
      near = std::sqrt(near);
      if (near < kill) continue;
      left.push_back(g);
      if (near < sense) pull[best] = pull[best] + (g - twigs[best].p) * (1 / near);
    }
    goals.swap(left);
    const std::size_t before = twigs.size();
    for (std::size_t i = 0; i < before; ++i) {
      if (length(pull[i]) < 0.05) continue;
      const Vec way = unit(unit(pull[i]) + unit(twigs[i].p - foot) * 0.35 +
                           Vec{dice.range(-0.2, 0.2), dice.range(-0.2, 0.2)});
      twigs.push_back({twigs[i].p + way * step, static_cast<int>(i), 0});
    }
  }
  for (std::size_t i = twigs.size(); i-- > 1;) {
    twigs[i].load += 1;
    twigs[twigs[i].parent].load += twigs[i].load;
  }
  return twigs;
}

}  // namespace

void paint_fan(Picture& pic, Vec foot, double height, std::uint32_t seed) {
  Dice dice(seed);
  const std::vector<Twig> twigs = grow_fan(foot, height, dice);
  // Reach of the fan in each direction, for the net between the ribs.
  std::vector<double> reach(180, 0);
  for (const Twig& t : twigs) {
    const Vec d = t.p - foot;
    const double a = std::atan2(-d.y, d.x) * 180 / kPi;
    for (int k = -4; k <= 4; ++k) {
      const int slot = static_cast<int>(a) + k;
      if (slot >= 0 && slot < 180) reach[slot] = std::max(reach[slot], length(d) * (1 - 0.004 * k * k));
    }
  }
  const double mesh = 1.9, line = 0.17;
  wash(pic, {foot - Vec{height * 1.2, height * 1.25}, foot + Vec{height * 1.2, 2}}, [&](Vec at) {
    const Vec d = at - foot;
    const double far = length(d), a = std::atan2(-d.y, d.x) * 180 / kPi;
    if (a < 1 || a > 178 || far < height * 0.12) return Paint{{}, 0};
    const double rim =
        mix(reach[static_cast<int>(a)], reach[static_cast<int>(a) + 1], a - std::floor(a)) + 0.8;
    if (far > rim) return Paint{{}, 0};
    // Cells drawn out along the ribs.
    const Cells c = cells(a * kPi / 180 * height * 0.62 / mesh, far / (mesh * 1.5), seed + 5, 0.95);
    const double thread = edge(pic, line - (c.second - c.nearest) * mesh * 0.5);
    const double out = far / rim;
    const double back = 0.30 + 0.70 * smooth(0.3, 1.0, out);
    const Rgb colour = mix(Rgb{0.30, 0.02, 0.34}, Rgb{0.78, 0.13, 0.62}, back) * (0.25 + 0.6 * back);
    const double cast = 0.35 * smooth(0.0, 0.2, 1 - out);
    return Paint{colour * thread, std::max(thread, cast)};
  });
  for (int pass = 0; pass < 2; ++pass)
    for (std::size_t i = 1; i < twigs.size(); ++i) {
      const Twig &t = twigs[i], &p = twigs[t.parent];
      const double r = 0.13 * std::pow(t.load, 0.42), rp = std::min(r * 1.15, 0.13 * std::pow(p.load, 0.42));
      if ((r > 0.55) != (pass == 1)) continue;
      const double out = length(t.p - foot) / height;
      stroke(pic, {{p.p, rp}, {t.p, r}}, [&](const OnStroke& o) {
        Vec3 n = o.round();
        const double bump = noise(o.at * 1.6, seed + 9) - 0.5;
        n = unit({n.x + 0.5 * bump, n.y, n.z});
        const Rgb colour =
            mix(Rgb{0.50, 0.03, 0.32}, Rgb{1.0, 0.40, 0.80}, smooth(0.2, 1.0, out) + 0.35 * bump);
        return Paint{lit(o.at, n, colour, {0.15, 0.55, 0.5, 0.12 + 0.2 * out}), 1};
      });
    }
}

}  // namespace kirtle::art::reef
