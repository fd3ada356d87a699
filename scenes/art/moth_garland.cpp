// Night flowers and leaves below the moth.
#include "art/moth_parts.h"

#include <algorithm>

namespace kirtle::art::moth {
namespace {

// Lines along a blade at shares k of its half width, from its foot.
Path blade_line(const Path& spine, const HalfWidth& half, double k, double from, double to) {
  const Path line = offset(spine, [&](double s) { return k * half(s); });
  return part(line, from, to);
}

// Leaves are cream tints on the dyed cloth: one half lit, one half in shade, with solid veins.
void leaf(Sheet& sheet, Vec foot, double angle, double length_mm, double half_mm, double bend) {
  const Vec tip = foot + polar(length_mm, angle + bend * 0.5);
  const Path spine = resampled(bezier(foot, foot + polar(length_mm * 0.35, angle - bend * 0.3),
                                      foot + polar(length_mm * 0.7, angle), tip),
                               60);
  const auto half = [=](double s) {
    return half_mm * std::pow(std::sin(kPi * std::pow(clamp01(s), 0.80)), 0.85) * (1 - 0.15 * s) + 0.05;
  };
  const Path edge = blade(spine, half);
  bare(sheet, edge, 0.8);
  Plane& cream = sheet.cream;
  for (const double hand : {-1.0, 1.0}) {
    const Path side = joined(spine, reversed(offset(spine, [&](double s) { return hand * half(s); })));
    const bool lit = hand * std::cos(angle) < 0;
    fill(
        cream, side,
        [&](Vec p) {
          const double along = clamp01(dot(p - foot, unit(tip - foot)) / length_mm);
          const double out = distance(spine, p) / half_mm;
          return lit ? mix(0.46, 0.80, along) - 0.18 * (1 - out) : mix(0.13, 0.30, along) + 0.10 * out;
        },
        Join::most);
    // Side veins and, in the shaded half, white-line hatching between them.
    const int veins = std::max(5, static_cast<int>(length_mm / 2.6));
    for (int i = 1; i < 3 * veins; ++i) {
      const double s = mix(0.06, 0.90, static_cast<double>(i) / (3 * veins));
      const bool vein = i % 3 == 0;
      if (!vein && lit) continue;
      const double reach = (vein ? 0.94 : 0.80) * half(std::min(1.0, s + 0.10));
      const Vec root = point_at(spine, s), way = direction_at(spine, s), out = turned(way) * hand;
      const Path line = curve({root, root + out * (reach * 0.5) + way * (reach * 0.30),
                               root + out * reach + way * (reach * 0.85)},
                              false, 0.3);
      stroke(cream, line, vein ? tapering(0.42, 0.20) : tapering(0.20, 0.20));
    }
  }
  // Dark line of shade beside the midrib, then the rib itself.
  stroke(cream, offset(spine, [](double s) { return 0.55 * (1 - s); }), tapering(0.5, 0.1), 0, Join::over);
  stroke(cream, spine, tapering(0.95, 0.30));
  Path around = edge;
  around.push_back(edge.front());
  stroke(cream, around, even_width(0.42));
}

struct PetalLook {
  double dark;   // at its foot
  double reach;  // how far the hatching runs, share of its length
};

void petal(Sheet& sheet, const Path& spine, const HalfWidth& half, PetalLook look, Dice& dice) {
  const Path edge = blade(spine, half);
  cover(sheet, edge, 0.75);
  const Vec foot = spine.front(), tip = spine.back();
  const double l = length(tip - foot);
  Plane& shade = sheet.shade;
  double widest = 0;
  for (int i = 0; i <= 20; ++i) widest = std::max(widest, half(i / 20.0));
  fill(shade, edge, [&](Vec p) {
    const double along = dot(p - foot, unit(tip - foot)) / l;
    const double out = cross(unit(tip - foot), p - foot) / widest;
    const double t = look.dark * smooth(look.reach, 0.0, along) + 0.28 * smooth(0.25, 1.0, out) +
                     0.10 * smooth(0.3, 1.0, -out);
    return std::clamp(t - 0.03, 0.0, 0.85);
  });
  const int lines = std::max(3, static_cast<int>(widest / 0.46));
  for (int i = -lines; i <= lines; ++i) {
    const double k = 0.92 * i / (lines + 0.5);
    const double to = look.reach * dice.range(0.45, 1.05) * (1 - 0.3 * std::abs(k)) + (k > 0.5 ? 0.2 : 0.0);
    stroke(shade, blade_line(spine, half, k, 0.02, std::min(0.93, to)), tapering(0.34, 0.12));
    // Short strokes from the tip.
    if (i % 2) stroke(shade, blade_line(spine, half, k, dice.range(0.74, 0.86), 0.985), tapering(0.10, 0.24));
  }
  stroke(shade, part(spine, 0.02, 0.86), tapering(0.5, 0.12));
  outline(sheet, edge, 0.36);
}

// A many-petalled night bloom seen from the front, a little from above.
void bloom(Sheet& sheet, Vec centre, double r_mm, double tilt, double squash, std::uint32_t seed) {
  Dice dice(seed);
  struct Whorl {
    int petals;
    double from, to, half, dark, reach;
  };
  const Whorl whorls[] = {{16, 0.15, 1.20, 0.062, 0.90, 0.98},
                          {11, 0.12, 1.04, 0.170, 0.80, 0.62},
                          {9, 0.10, 0.84, 0.190, 0.75, 0.55},
                          {7, 0.08, 0.60, 0.190, 0.80, 0.55}};
  const auto place = [&](Vec p) { return centre + rotated({p.x, p.y * squash}, tilt); };
  int w = 0;
  for (const Whorl& whorl : whorls) {
    for (int pass = 0; pass < 2; ++pass)
      for (int i = pass; i < whorl.petals; i += 2) {
        const double a = 2 * kPi * (i + 0.5 * (w % 2)) / whorl.petals + dice.range(-0.05, 0.05);
        const double bend = dice.range(-0.10, 0.10);
        const double reach = whorl.to * dice.range(0.94, 1.05);
        const Path spine = resampled(moved(curve({polar(r_mm * whorl.from, a),
                                                  polar(r_mm * mix(whorl.from, reach, 0.5), a + bend * 0.4),
                                                  polar(r_mm * reach, a + bend)}),
                                           place),
                                     50);
        const double half_mm = whorl.half * r_mm;
        petal(
            sheet, spine,
            [=](double s) {
              return half_mm * std::pow(std::sin(kPi * std::pow(clamp01(0.04 + 0.96 * s), 1.05)), 0.75) *
                         (0.65 + 0.5 * s * (1 - 0.55 * s)) * (1 - 0.1 * s) +
                     0.02;
            },
            {whorl.dark, whorl.reach}, dice);
      }
    ++w;
  }
  // Dark throat, stamens, style.
  fill(sheet.cream, moved(circle({0, 0}, r_mm * 0.17), place), 1);
  fill(sheet.shade, moved(circle({0, 0}, r_mm * 0.17), place), 1);
  for (int i = 0; i < 54; ++i) {
    const double a = dice.range(0, 2 * kPi), l = r_mm * dice.range(0.14, 0.33);
    const Vec end = place(polar(l, a + 0.15)), mid = place(polar(l * 0.6, a));
    const Path line = curve({place(polar(r_mm * 0.03, a)), mid, end}, false, 0.3);
    stroke(sheet.shade, line, even_width(0.55));
    stroke(sheet.shade, line, even_width(0.24), 0, Join::over);
    fill(sheet.shade, ellipse(end, 0.75, 0.55, a), 1);
    fill(sheet.shade, ellipse(end, 0.50, 0.30, a), 0);
  }
  for (int i = 0; i < 9; ++i) {
    const Path ray =
        curve({place({0, 0}), place(polar(r_mm * 0.06, i * 0.7)), place(polar(r_mm * 0.115, i * 0.7 + 0.2))},
              false, 0.2);
    stroke(sheet.shade, ray, even_width(0.9));
    stroke(sheet.shade, ray, even_width(0.5), 0, Join::over);
  }
}

void bud(Sheet& sheet, Vec foot, double angle, double length_mm, std::uint32_t seed) {
  Dice dice(seed);
  for (int i = -2; i <= 2; ++i) {
    const int order = i == 0 ? 0 : i;
    const double a = angle + order * 0.10;
    const Path spine =
        resampled(bezier(foot, foot + polar(length_mm * 0.4, a + order * 0.16),
                         foot + polar(length_mm * 0.8, a), foot + polar(length_mm, angle + order * 0.02)),
                  40);
    petal(
        sheet, spine,
        [=](double s) { return length_mm * 0.115 * std::sin(kPi * std::pow(clamp01(s), 0.8)) + 0.02; },
        {0.7, 0.8}, dice);
  }
  for (int i = -2; i <= 2; ++i)
    leaf(sheet, foot - polar(0.8, angle), angle + 0.42 * i, length_mm * 0.36, length_mm * 0.055, -0.3 * i);
}

void small_flower(Sheet& sheet, Vec centre, double r_mm, double turn, std::uint32_t seed) {
  Dice dice(seed);
  for (int i = 0; i < 5; ++i) {
    const double a = turn + 2 * kPi * i / 5;
    const Path spine = resampled(Path{centre + polar(r_mm * 0.08, a), centre + polar(r_mm, a)}, 30);
    petal(
        sheet, spine,
        [=](double s) {
          return r_mm * 0.33 * std::pow(std::sin(kPi * std::pow(clamp01(0.03 + 0.97 * s), 1.25)), 0.7) + 0.02;
        },
        {0.6, 0.5}, dice);
  }
  dot(sheet.shade, centre, r_mm * 0.16, 1);
  for (int i = 0; i < 5; ++i)
    dot(sheet.shade, centre + polar(r_mm * 0.09, turn + 0.6 + 2 * kPi * i / 5), r_mm * 0.045, 0);
}

void tendril(Plane& cream, Vec root, double angle, double size_mm, double hand) {
  Path out;
  for (int i = 0; i <= 160; ++i) {
    const double t = i / 160.0, turn = hand * 4.2 * kPi * std::pow(t, 1.6);
    const Vec last = out.empty() ? root : out.back();
    out.push_back(last + polar(size_mm * 0.032 * (1 - 0.82 * t), angle + turn));
  }
  stroke(cream, out, tapering(0.6, 0.28));
}

void berries(Sheet& sheet, Vec root, double angle, double size_mm) {
  for (int i = -1; i <= 1; ++i) {
    const Vec c = root + polar(size_mm * (i == 0 ? 1.0 : 0.8), angle + 0.55 * i);
    stroke(sheet.cream, {root, c}, even_width(0.45));
    const double r = size_mm * 0.21;
    cover(sheet, circle(c, r), 0.75);
    dot(sheet.shade, c, r, [=](Vec p) {
      return clamp01(0.95 * smooth(0.15, 1.25, length(p - c + Vec{r * 0.4, r * 0.4}) / r) - 0.02);
    });
    ring(sheet.shade, c, r, 0.3);
  }
}

}  // namespace

void draw_garland(Sheet& sheet) {
  for (const double side : {-1.0, 1.0}) {
    const auto place = [&](Vec p) { return Vec{kAxisX + side * p.x, p.y}; };
    const auto facing = [&](double angle) { return side > 0 ? angle : kPi - angle; };
    const Path stem = curve(
        moved(Path{{0, 288}, {36, 297}, {68, 289}, {95, 268}, {116, 240}, {128, 212}, {134, 186}}, place),
        false, 0.4);
    tendril(sheet.cream, point_at(stem, 0.66), facing(rad(-8)), 20, side);
    tendril(sheet.cream, point_at(stem, 0.80), facing(rad(-150)), 20, -side);
    stroke(sheet.cream, stem, tapering(3.0, 1.6), 0, Join::over);
    stroke(sheet.cream, stem, tapering(1.5, 0.5));
    berries(sheet, point_at(stem, 0.66), facing(rad(-165)), 13);
    berries(sheet, point_at(stem, 0.86), facing(rad(172)), 11);
    constexpr int leaves = 17;
    for (int i = leaves - 1; i >= 0; --i) {
      const double s = mix(0.16, 0.985, static_cast<double>(i) / (leaves - 1));
      const Vec way = direction_at(stem, s);
      const double size = mix(34, 13, std::pow(s, 0.9));
      const double hand = i % 2 ? 1.0 : -1.0;
      const double a = std::atan2(way.y, way.x) + hand * mix(0.95, 0.5, s);
      leaf(sheet, point_at(stem, s), a, size, size * 0.21, -hand * 0.5);
    }
    leaf(sheet, stem.back(), std::atan2(direction_at(stem, 1).y, direction_at(stem, 1).x), 14, 2.6,
         0.2 * side);
    bud(sheet, place({84, 277}), facing(rad(-108)), 26, 500 + static_cast<std::uint32_t>(side + 1));
    small_flower(sheet, place({101, 250}), 6.4, rad(20), 510);
    small_flower(sheet, place({73, 287}), 7.4, rad(50), 511);
    small_flower(sheet, place({119, 226}), 5.0, rad(80), 512);
    for (const double a : {70.0, -50.0, 20.0})
      leaf(sheet, place({44, 284}), facing(rad(a)), 32, 6.6, 0.4 * side);
  }
  for (const double a : {-150.0, -30.0, -115.0, -65.0, 62.0, 118.0, 38.0, 142.0})
    leaf(sheet, {kAxisX, 279}, rad(a), a > 0 ? 36 : 40, 7.5, a > -90 && a < 90 ? 0.3 : -0.3);
}

void draw_blooms(Sheet& sheet) {
  for (const double side : {-1.0, 1.0})
    bloom(sheet, {kAxisX + side * 44, 283}, 20.5, 0.2 * side, 0.88,
          520 + static_cast<std::uint32_t>(side + 1));
  bloom(sheet, {kAxisX, 279}, 27, 0, 0.90, 530);
}

}  // namespace kirtle::art::moth
