// Wings of the night moth. A wing is a patch between four curves; patterns are drawn in its own coordinates:
// u from the body (0) to the outer margin (1), v from the leading edge (0) to the trailing edge (1).
#include "art/moth_parts.h"
#include "base/parallel.h"

#include <algorithm>
#include <array>

namespace kirtle::art::moth {
namespace {

class Patch {
 public:
  // All four curves of the right wing, relative to the thorax; `side` mirrors.
  Patch(const Path& costa, const Path& inner, const Path& margin, double side)
      : costa_(resampled(curve(placed(costa, side)), kSteps)),
        inner_(resampled(curve(placed(inner, side)), kSteps)),
        margin_(resampled(curve(placed(margin, side)), kSteps)) {
    build_inverse();
  }

  Vec at(double u, double v) const {
    const Vec c0 = costa_.front(), c1 = costa_.back(), i0 = inner_.front(), i1 = inner_.back();
    return mix(along(costa_, u), along(inner_, u), v) + mix(mix(c0, i0, v), along(margin_, v), u) -
           mix(mix(c0, i0, v), mix(c1, i1, v), u);
  }

  /// (u, v) of a place, off the wing extended beyond 0..1.
  Vec coordinates(Vec p) const {
    const double fx = std::clamp((p.x - origin_.x) / kCellMm, 0.0, nx_ - 1.001);
    const double fy = std::clamp((p.y - origin_.y) / kCellMm, 0.0, ny_ - 1.001);
    const int x = static_cast<int>(fx), y = static_cast<int>(fy);
    const auto cell = [&](int i, int j) { return inverse_[static_cast<std::size_t>(j * nx_ + i)]; };
    return mix(mix(cell(x, y), cell(x + 1, y), fx - x), mix(cell(x, y + 1), cell(x + 1, y + 1), fx - x),
               fy - y);
  }

 private:
  static constexpr int kSteps = 240;
  static constexpr double kCellMm = 0.5;

  static Path placed(const Path& path, double side) {
    return moved(path, [side](Vec p) { return kThorax + Vec{p.x * side, p.y}; });
  }
  static Vec along(const Path& path, double s) {
    const double f = s * (kSteps - 1);
    const int i = std::clamp(static_cast<int>(std::floor(f)), 0, kSteps - 2);
    const auto k = static_cast<std::size_t>(i);
    return mix(path[k], path[k + 1], f - i);
  }

  void build_inverse() {
    Vec low{1e9, 1e9}, high{-1e9, -1e9};
    for (const Path* path : {&costa_, &inner_, &margin_})
      for (const Vec p : *path) {
        low = {std::min(low.x, p.x), std::min(low.y, p.y)};
        high = {std::max(high.x, p.x), std::max(high.y, p.y)};
      }
    origin_ = low - Vec{4, 4};
    nx_ = static_cast<int>((high.x - low.x + 8) / kCellMm) + 2;
    ny_ = static_cast<int>((high.y - low.y + 8) / kCellMm) + 2;
    inverse_.resize(static_cast<std::size_t>(nx_ * ny_));
    std::vector<std::pair<Vec, Vec>> coarse;
    for (int i = 0; i <= 24; ++i)
      for (int j = 0; j <= 24; ++j) {
        const Vec uv{i / 24.0, j / 24.0};
        coarse.emplace_back(at(uv.x, uv.y), uv);
      }
    parallel_for(static_cast<std::size_t>(ny_), 0, [&](std::size_t y, unsigned) {
      for (int x = 0; x < nx_; ++x) {
        const Vec p = origin_ + Vec{x * kCellMm, static_cast<double>(y) * kCellMm};
        Vec uv;
        double best = 1e9;
        for (const auto& [q, start] : coarse)
          if (const double d = length(q - p); d < best) best = d, uv = start;
        inverse_[y * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(x)] = refined(uv, p);
      }
    });
  }

  Vec refined(Vec uv, Vec p) const {
    constexpr double e = 1e-3;
    for (int i = 0; i < 12; ++i) {
      const Vec f = at(uv.x, uv.y) - p;
      const Vec du = (at(uv.x + e, uv.y) - at(uv.x - e, uv.y)) * (0.5 / e);
      const Vec dv = (at(uv.x, uv.y + e) - at(uv.x, uv.y - e)) * (0.5 / e);
      const double det = cross(du, dv);
      if (std::abs(det) < 1e-6) break;
      const Vec step{cross(f, dv) / det, cross(du, f) / det};
      uv = {std::clamp(uv.x - std::clamp(step.x, -0.2, 0.2), -0.2, 1.2),
            std::clamp(uv.y - std::clamp(step.y, -0.2, 0.2), -0.2, 1.2)};
    }
    return uv;
  }

  Path costa_, inner_, margin_;
  Vec origin_;
  int nx_ = 0, ny_ = 0;
  std::vector<Vec> inverse_;
};

struct Vein {
  double stem_v, split_u, end_v;
  double v(double u) const {
    return mix(stem_v, end_v,
               u < split_u ? 0
                           : std::pow((u - split_u) / (1 - split_u), 0.8) *
                                 smooth(-0.3, 1, (u - split_u) / (1 - split_u)));
  }
};

struct Pattern {
  std::vector<Vein> veins;
  double scallop;                                      // depth in u between two veins
  std::function<double(double u, double v)> tone;      // 0 light .. 1 dark
  std::vector<std::function<double(double v)>> bands;  // u of a dark line
  std::vector<double> band_mm;
};

// Where v lies between the ends of two neighbouring veins at the margin: 0 and 1 on a vein.
double between_veins(const Pattern& pattern, double v) {
  double before = 0, after = 1;
  // Before the first and behind the last vein the margin is even.
  if (v <= pattern.veins.front().end_v || v >= pattern.veins.back().end_v) return 0;
  for (const Vein& vein : pattern.veins) {
    if (vein.end_v <= v) before = std::max(before, vein.end_v);
    if (vein.end_v >= v) after = std::min(after, vein.end_v);
  }
  return after > before ? (v - before) / (after - before) : 0;
}

double edge_u(const Pattern& pattern, double v) {
  return 1 - pattern.scallop * std::pow(std::sin(kPi * between_veins(pattern, v)), 1.4);
}

Path contour(const Patch& patch, const Pattern& pattern) {
  Path out;
  constexpr int n = 300;
  for (int i = 0; i <= n; ++i) out.push_back(patch.at(static_cast<double>(i) / n * edge_u(pattern, 0), 0));
  for (int i = 1; i < 3 * n; ++i) {
    const double v = static_cast<double>(i) / (3 * n);
    out.push_back(patch.at(edge_u(pattern, v), v));
  }
  for (int i = n; i >= 0; --i) out.push_back(patch.at(static_cast<double>(i) / n * edge_u(pattern, 1), 1));
  return out;
}

Path along_u(const Patch& patch, double from, double to, const std::function<double(double)>& v) {
  Path out;
  const int n = std::max(4, static_cast<int>((to - from) * 180));
  for (int i = 0; i <= n; ++i) {
    const double u = mix(from, to, static_cast<double>(i) / n);
    out.push_back(patch.at(u, v(u)));
  }
  return out;
}

Path along_v(const Patch& patch, const std::function<double(double)>& u) {
  Path out;
  for (int i = 0; i <= 400; ++i) out.push_back(patch.at(u(i / 400.0), i / 400.0));
  return out;
}

double mottle(double u, double v, std::uint32_t seed) { return fbm({u * 16, v * 46}, 4, seed) - 0.5; }

// Lines that run with the scales, as thick as the place is dark: the engraver's tone. Lines stop where they
// would crowd.
void engrave(Plane& plane, const Patch& patch, const Pattern& pattern, int lines, std::uint32_t seed) {
  for (int i = 1; i < lines; ++i) {
    const double v0 = static_cast<double>(i) / lines;
    int level = 0;
    while (level < 4 && i % (2 << level) == 0) ++level;
    // Odd lines begin farther out, where the fan has opened.
    const double from = std::array{0.50, 0.26, 0.13, 0.07, 0.03}[static_cast<std::size_t>(level)];
    const auto wobble = [&](double u) {
      return v0 + 0.0012 * std::sin(u * 31 + v0 * 90) + 0.0009 * std::sin(u * 83 + v0 * 40);
    };
    const double to = edge_u(pattern, v0) - 0.004;
    const auto width = [&](double s) {
      const double u = mix(from, to, s);
      const double spacing = length(patch.at(u, v0 + 0.5 / lines) - patch.at(u, v0 - 0.5 / lines)) *
                             (u < 0.5 ? (u < 0.26 ? (u < 0.13 ? 8 : 4) : 2) : 1);
      const double dark =
          pattern.tone(u, v0) + 0.34 * mottle(u, v0, seed) +
          0.10 * (hash_unit(seed, static_cast<std::uint32_t>(i), static_cast<std::uint32_t>(u * 60)) - 0.5);
      const double w = spacing * (0.70 * dark - 0.05);
      return w < 0.11 ? 0.0 : std::min(w, 0.6 * spacing);
    };
    stroke(plane, along_u(patch, from, to, wobble), width);
  }
}

void draw_veins(Sheet& sheet, const Patch& patch, const Pattern& pattern) {
  for (const Vein& vein : pattern.veins) {
    const Path line = along_u(patch, 0.04, edge_u(pattern, vein.end_v), [&](double u) { return vein.v(u); });
    stroke(sheet.shade, offset(line, [](double s) { return 0.55 - 0.25 * s; }), tapering(0.9, 0.45), 0,
           Join::over);
    stroke(sheet.cream, offset(line, [](double s) { return 0.55 - 0.25 * s; }), tapering(0.9, 0.45));
    stroke(sheet.shade, line, tapering(0.8, 0.32));
  }
}

// Fringe of scales on the outer margin: a pale band, dark scales at the veins.
void draw_fringe(Sheet& sheet, const Patch& patch, const Pattern& pattern, std::uint32_t seed) {
  Dice dice(seed);
  Path inner, outer;
  for (int i = 0; i <= 600; ++i) {
    const double v = mix(0.012, 0.988, i / 600.0), u = edge_u(pattern, v);
    inner.push_back(patch.at(u - 0.006, v));
    outer.push_back(patch.at(u + 0.011, v));
  }
  const Path band = joined(inner, reversed(outer));
  bare(sheet, band, 0.9);
  fill(sheet.cream, band, 1);
  constexpr int n = 420;
  for (int i = 6; i < n - 5; ++i) {
    const double v = (i + 0.4 * dice.unit()) / n, u = edge_u(pattern, v);
    const double at = between_veins(pattern, v), to_vein = std::min(at, 1 - at);
    const Vec root = patch.at(u - 0.004, v),
              out = patch.at(u + 0.014 + 0.004 * dice.unit(), v + 0.001 * dice.bell());
    stroke(sheet.cream, {root, out}, tapering(0.5, 0.3));
    const double dark = 0.16 + 0.34 * smooth(0.30, 0.08, to_vein);
    if (to_vein < 0.3 || i % 2)
      stroke(sheet.shade, {root, mix(root, out, to_vein < 0.2 ? 1.0 : 0.6)}, tapering(dark, 0.14));
  }
}

// Long hairs from the wing's root, lying over its scales.
void draw_root_fur(Sheet& sheet, const Patch& patch, int hairs, double v_from, double v_to, double reach,
                   std::uint32_t seed) {
  Dice dice(seed);
  for (int i = 0; i < hairs; ++i) {
    const double v = dice.range(v_from, v_to),
                 start = 0.01 + reach * 0.7 * (1 - static_cast<double>(i) / hairs);
    const double drift = dice.bell() * 0.03, to = start + reach * dice.range(0.25, 0.6);
    hair(sheet, along_u(patch, start, to, [&](double u) { return v + drift * (u - start) / reach; }), 0.55,
         0.14 + 0.22 * dice.unit());
  }
}

void draw_wing(Sheet& sheet, const Patch& patch, const Pattern& pattern, int lines, double gap_mm,
               const Plane* on, std::uint32_t seed) {
  const Path edge = contour(patch, pattern);
  if (on) {
    // In front of another wing: no gap, but its shadow falls on the wing behind.
    Plane shadow = sheet.shade.blank();
    fill(shadow, moved(edge, [](Vec p) { return p + Vec{0, 2.0}; }), 1);
    blur(shadow, 1.6);
    clip(shadow, *on);
    join(sheet.shade, 0.85, shadow, Join::deepen);
    Plane rest = *on;
    map(rest, [](float k, Vec) { return 1 - k; });
    Plane gap = sheet.cream.blank();
    Path closed = edge;
    closed.push_back(edge.front());
    stroke(gap, closed, even_width(2 * gap_mm));
    clip(gap, rest);
    knock_out(sheet.cream, gap);
    knock_out(sheet.shade, gap);
  } else {
    bare(sheet, edge, gap_mm);
  }
  draw_fringe(sheet, patch, pattern, seed + 5);
  cover(sheet, edge, 0);
  Plane mask = sheet.cream.blank();
  fill(mask, edge, 1);
  Plane drawn = sheet.shade.blank();
  const auto tone = [&](Vec p) {
    const Vec uv = patch.coordinates(p);
    return pattern.tone(uv.x, uv.y);
  };
  join(
      drawn, [&](Vec p) { return std::max(0.0, 0.88 * tone(p) - 0.04); }, mask);
  engrave(drawn, patch, pattern, lines, seed);
  for (std::size_t i = 0; i < pattern.bands.size(); ++i) {
    const Path line = along_v(patch, pattern.bands[i]);
    const double w = pattern.band_mm[i];
    stroke(drawn, line,
           [&](double s) { return w * (0.75 + 0.35 * std::sin(s * 60 + static_cast<double>(i))); });
  }
  clip(drawn, mask);
  // Inside the wing the drawing replaces the bare cream.
  join(sheet.shade, drawn, mask, Join::over);
  // Where the wing goes fully dark the cream goes out with it, so the two inks do not pile up.
  join(
      sheet.cream, [&](Vec p) { return 1 - smooth(0.80, 0.97, tone(p)); }, mask, Join::keep);
  draw_veins(sheet, patch, pattern);
  outline(sheet, edge, 0.45);
  stroke(sheet.shade, along_u(patch, 0.0, edge_u(pattern, 0), [](double) { return 0.004; }),
         tapering(2.0, 0.7));
}

Pattern forewing_pattern() {
  Pattern p;
  p.scallop = 0.022;
  p.veins = {{0.07, 0.45, 0.05}, {0.16, 0.40, 0.14}, {0.20, 0.46, 0.24}, {0.22, 0.50, 0.34},
             {0.30, 0.52, 0.44}, {0.44, 0.52, 0.54}, {0.56, 0.50, 0.64}, {0.60, 0.44, 0.74},
             {0.63, 0.34, 0.84}, {0.84, 0.20, 0.94}};
  const auto inner_line = [](double v) {
    return 0.255 + 0.05 * v + 0.016 * std::sin(v * 21) + 0.006 * std::sin(v * 63);
  };
  const auto outer_line = [](double v) {
    return 0.735 - 0.06 * std::sin(kPi * v) - 0.022 * std::abs(std::sin(kPi * 10 * v + 0.5)) +
           0.05 * (v - 0.5);
  };
  const auto wave = [](double v) { return 0.875 + 0.012 * std::sin(v * 2 * kPi * 9.5) - 0.03 * v * (1 - v); };
  p.bands = {
      inner_line,
      [=](double v) { return inner_line(v) - 0.022; },
      outer_line,
      [=](double v) { return outer_line(v) + 0.024; },
      [=](double v) { return outer_line(v) + 0.034; },
      wave,
      [=](double v) { return 0.5 * (outer_line(v) + inner_line(v)) + 0.06 + 0.008 * std::sin(v * 33); }};
  p.band_mm = {0.9, 0.35, 1.0, 0.45, 0.25, 0.6, 0.35};
  p.tone = [=](double u, double v) {
    const double a = inner_line(v), o = outer_line(v), w = wave(v);
    double t;
    if (u < a) {
      t = 0.38 + 0.5 * smooth(0.16, 0.0, u) + 0.32 * smooth(a - 0.09, a, u);
    } else if (u < o) {
      t = 0.50 * smooth(a + 0.13, a, u) + 0.62 * std::pow(smooth(o - 0.26, o, u), 1.3) + 0.10;
    } else if (u < w) {
      t = 0.05 + 0.52 * smooth(o + 0.05, w, u);
    } else {
      const double lunule = std::abs(std::sin(kPi * 9.5 * v));
      t = 0.93 - 0.85 * smooth(0.05, 0.0, std::abs(u - (w + 0.058 + 0.018 * lunule)) - 0.006);
    }
    t += 0.30 * smooth(0.22, 0.0, v) * smooth(0.1, 0.35, u) + 0.2 * smooth(0.8, 1, v) * smooth(0.9, 0.6, u);
    // Dark patch near the apex.
    t += 0.55 * smooth(0.16, 0.05, std::hypot(u - 0.86, 0.8 * (v - 0.10)));
    return clamp01(t);
  };
  return p;
}

Pattern hindwing_pattern() {
  Pattern p;
  p.scallop = 0.045;
  p.veins = {{0.10, 0.35, 0.10}, {0.22, 0.34, 0.22}, {0.28, 0.40, 0.34}, {0.36, 0.42, 0.46},
             {0.50, 0.42, 0.57}, {0.58, 0.38, 0.68}, {0.64, 0.30, 0.79}, {0.80, 0.15, 0.90}};
  const auto inner_line = [](double v) { return 0.24 + 0.02 * std::sin(v * 19); };
  const auto outer_line = [](double v) { return 0.79 - 0.030 * std::abs(std::sin(kPi * 9 * v)) - 0.02 * v; };
  const auto wave = [](double v) { return 0.90 + 0.014 * std::sin(v * 2 * kPi * 9); };
  p.bands = {inner_line, outer_line, [=](double v) { return outer_line(v) + 0.03; },
             [=](double v) { return outer_line(v) - 0.03; }, wave};
  p.band_mm = {0.6, 1.0, 0.4, 0.3, 0.6};
  p.tone = [=](double u, double v) {
    const double o = outer_line(v), w = wave(v);
    double t = 0.12 + 0.70 * smooth(0.30, 0.02, u);
    if (u < o) {
      t += 0.55 * std::pow(smooth(o - 0.24, o, u), 1.3);
    } else if (u < w) {
      t = 0.06 + 0.42 * smooth(o + 0.03, w, u);
    } else {
      const double lunule = std::abs(std::sin(kPi * 9 * v));
      t = 0.90 - 0.85 * smooth(0.03, 0.0, std::abs(u - (w + 0.040 + 0.012 * lunule)) - 0.006);
    }
    t += 0.35 * smooth(0.20, 0.0, v) + 0.30 * smooth(0.86, 1, v);
    return clamp01(t);
  };
  return p;
}

}  // namespace

void draw_wings(Sheet& sheet) {
  const Pattern fore = forewing_pattern(), hind = hindwing_pattern();
  Plane behind = sheet.cream.blank();
  for (const double side : {1.0, -1.0}) {
    const auto seed = side > 0 ? 100u : 200u;
    const Patch wing({{5, 2}, {22, 0}, {48, 4}, {74, 12}, {93, 24}},
                     {{4, 16}, {9, 34}, {17, 56}, {26, 76}, {38, 97}},
                     {{93, 24}, {98, 38}, {94, 56}, {82, 73}, {66, 84}, {55, 97}, {46, 104}, {38, 97}}, side);
    fill(behind, contour(wing, hind), 1, Join::most);
    draw_wing(sheet, wing, hind, 150, 1.4, nullptr, seed);
    draw_root_fur(sheet, wing, 170, 0.55, 0.99, 0.34, seed + 9);
    draw_eye_spot(sheet, wing.at(0.56, 0.40), 16.5, 0.92, rad(35) * side, true, seed + 1);
  }
  for (const double side : {1.0, -1.0}) {
    const auto seed = side > 0 ? 300u : 400u;
    const Patch wing({{5, -14}, {22, -33}, {48, -52}, {78, -66}, {104, -74}, {123, -73}},
                     {{5, 8}, {24, 15}, {48, 19}, {70, 23}, {87, 25}},
                     {{123, -73}, {128, -66}, {123, -52}, {115, -34}, {107, -14}, {99, 6}, {87, 25}}, side);
    draw_wing(sheet, wing, fore, 190, 1.4, &behind, seed);
    draw_root_fur(sheet, wing, 150, 0.08, 0.97, 0.17, seed + 9);
    draw_eye_spot(sheet, wing.at(0.515, 0.38), 13.0, 0.86, rad(-40) * side, true, seed + 1);
    draw_eye_spot(sheet, wing.at(0.855, 0.11), 4.2, 0.8, rad(-50) * side, false, seed + 2);
  }
}

}  // namespace kirtle::art::moth
