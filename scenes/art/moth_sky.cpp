// Moon, phases, stars and the graduated ring behind the night moth.
#include "art/moth_parts.h"

#include <algorithm>
#include <array>

namespace kirtle::art::moth {
namespace {

// A star of `points` rays, each ray in two facets: one bright, one half tone.
void star(Sheet& sheet, Vec centre, double r_mm, int points, double waist, double turn = -kPi / 2) {
  const auto at = [&](int k, double share) { return centre + polar(r_mm * share, turn + kPi * k / points); };
  Path all;
  for (int k = 0; k < 2 * points; ++k) {
    const double ray = points == 8 && k % 4 == 2 ? 0.62 : 1.0;
    all.push_back(at(k, k % 2 ? waist : ray));
  }
  bare(sheet, all, 0.75);
  fill(sheet.cream, all, 1);
  if (r_mm < 2.2) return;
  for (int k = 0; k < 2 * points; k += 2) {
    const double ray = points == 8 && k % 4 == 2 ? 0.62 : 1.0;
    const Path facet{centre, at(k, ray), at(k + 1, waist)};
    fill(
        sheet.shade, facet, [&](Vec p) { return mix(0.92, 0.30, clamp01(length(p - centre) / r_mm)); },
        Join::most);
  }
}

Path crescent(Vec centre, double r_mm, double lit, double turn) {
  // Limb half circle and the terminator's half ellipse; lit 0 new .. 1 full.
  Path out;
  for (int i = 0; i <= 90; ++i)
    out.push_back(centre + rotated(polar(r_mm, mix(-kPi / 2, kPi / 2, i / 90.0)), turn));
  const double k = 1 - 2 * lit;
  for (int i = 90; i >= 0; --i) {
    const double a = mix(-kPi / 2, kPi / 2, i / 90.0);
    out.push_back(centre + rotated({r_mm * k * std::cos(a), r_mm * std::sin(a)}, turn));
  }
  return out;
}

void seas(Sheet& sheet, const Path& lit, Vec centre, double r_mm, std::uint32_t seed) {
  Plane mask = sheet.cream.blank();
  fill(mask, lit, 1);
  join(
      sheet.shade,
      [&](Vec p) {
        const Vec q = (p - centre) * (1 / r_mm);
        const double dark = smooth(0.50, 0.68, fbm(q * 1.7 + Vec{5, 2}, 4, seed));
        return std::max(0.0, 0.42 * dark + 0.35 * smooth(0.7, 1.0, length(q)) - 0.03);
      },
      mask);
}

void draw_phase(Sheet& sheet, Vec centre, double r_mm, double lit, double turn) {
  bare(sheet, circle(centre, r_mm), 1.8);
  ring(sheet.cream, centre, r_mm, 0.4);
  // The unlit part keeps a faint earthshine of fine lines.
  Plane lines = sheet.cream.blank(), disc = sheet.cream.blank();
  for (double d = -r_mm; d < r_mm; d += 1.05) {
    const Vec across = rotated({0, d}, turn), along = rotated({r_mm, 0}, turn);
    stroke(lines, {centre + across - along, centre + across + along}, even_width(0.22));
  }
  fill(disc, circle(centre, r_mm - 0.2), 1);
  clip(lines, disc);
  join(sheet.cream, 1.0, lines, Join::most);
  if (lit <= 0) return;
  const Path part = lit >= 1 ? circle(centre, r_mm) : crescent(centre, r_mm, lit, turn);
  if (lit < 1) bare(sheet, part, 0.7);
  fill(sheet.cream, part, 1);
  seas(sheet, part, centre, r_mm, 31);
  ring(sheet.cream, centre, r_mm, 0.4);
}

void draw_ring(Sheet& sheet) {
  Plane& cream = sheet.cream;
  ring(cream, kRingCentre, kRingRadius, 0.8);
  ring(cream, kRingCentre, kRingRadius - 1.3, 0.25);
  ring(cream, kRingCentre, kRingRadius - 5.0, 0.35);
  for (int i = 0; i < 360; ++i) {
    const double a = rad(i), from = kRingRadius - 5.0;
    const double l = i % 10 == 0 ? 3.6 : i % 5 == 0 ? 2.6 : 1.5;
    stroke(cream, {kRingCentre + polar(from, a), kRingCentre + polar(from + l, a)},
           even_width(i % 10 == 0 ? 0.45 : 0.25));
  }
  // Beads, but none where the moon's phases stand.
  for (int i = 0; i < 180; ++i)
    if (std::abs(2 * i + 1 - 270) > 50)
      dot(cream, kRingCentre + polar(kRingRadius - 7.2, rad(2 * i + 1)), i % 5 == 2 ? 0.55 : 0.28, 1,
          Join::most);
}

void draw_moon(Sheet& sheet) {
  const Vec centre{kAxisX, 66};
  const double r = 21;
  // Rays of light, long and short, thinning outwards.
  for (int i = 0; i < 96; ++i) {
    const double a = 2 * kPi * i / 96;
    const double end = i % 8 == 0 ? 39 : i % 4 == 0 ? 35 : i % 2 == 0 ? 30.5 : 27.5;
    stroke(sheet.cream, {centre + polar(25, a), centre + polar(end, a)}, tapering(0.75, 0.15));
    if (i % 8 == 4) dot(sheet.cream, centre + polar(37.2, a), 0.55, 1, Join::most);
    if (i % 8 == 0) dot(sheet.cream, centre + polar(41.2, a), 0.75, 1, Join::most);
  }
  const Vec hollow = centre + Vec{0, -9.2};
  Path shape;
  for (int i = 0; i <= 200; ++i) shape.push_back(centre + polar(r, mix(rad(-52.5), rad(232.5), i / 200.0)));
  // The inner limb from horn to horn.
  const Vec horn = shape.back() - hollow;
  const double from = std::atan2(horn.y, horn.x);
  for (int i = 1; i < 160; ++i)
    shape.push_back(hollow + polar(length(horn), mix(from + 2 * kPi, -kPi - from, i / 160.0)));
  bare(sheet, shape, 0.8);
  fill(sheet.cream, shape, 1);
  Plane lit = sheet.cream.blank();
  fill(lit, shape, 1);
  const auto tone = [&](Vec p) {
    const double depth = length(p - hollow) - length(horn);  // from the inner limb
    const Vec q = (p - centre) * (1 / r);
    return clamp01(0.85 * smooth(7.5, 0.0, depth) + 0.30 * smooth(0.45, 0.7, fbm(q * 3.1, 4, 77)) - 0.03);
  };
  Plane drawn = sheet.shade.blank();
  join(
      drawn, [&](Vec p) { return 0.72 * tone(p); }, lit);
  // Curved engraved lines, concentric with the inner limb.
  for (int k = 0; k < 16; ++k) {
    const double d = 0.5 + 0.72 * k;
    Path line;
    for (int i = 0; i <= 240; ++i)
      line.push_back(hollow + polar(length(horn) + d, mix(rad(-20), rad(200), i / 240.0)));
    stroke(drawn, line, [&](double s) {
      const double w = 0.60 * tone(point_at(line, s)) - 0.10;
      return w < 0.12 ? 0.0 : w;
    });
  }
  // Craters.
  constexpr std::array<std::array<double, 3>, 7> craters{{{-14, 9, 1.7},
                                                          {-8.5, 15.5, 1.2},
                                                          {3.5, 17, 1.9},
                                                          {11, 13.2, 1.4},
                                                          {16.5, 6, 1.1},
                                                          {-17.5, 1.5, 1.0},
                                                          {-2.5, 14.2, 0.8}}};
  for (const auto& [x, y, size] : craters) {
    const Vec c = centre + Vec{x, y};
    dot(drawn, c, size, 0.25, Join::most);
    stroke(drawn, arc(c, size, rad(150), rad(330)), swelling(0.08, 0.55, 0.08));
    stroke(drawn, arc(c, size, rad(-20), rad(120)), swelling(0.08, 0.45, 0.08), 0, Join::over);
  }
  clip(drawn, lit);
  join(sheet.shade, drawn, lit, Join::over);
  outline(sheet, shape, 0.4);
  star(sheet, centre + Vec{0, -9}, 8.5, 8, 0.26);
}

void draw_stars(Sheet& sheet) {
  struct Spot {
    double x, y, r;
    int points;
  };
  // Left half; mirrored. Between the ring, the moon and the wings, and below the wings.
  constexpr std::array<Spot, 17> spots{{{88, 52, 4.2, 8},
                                        {76, 66, 2.6, 4},
                                        {104, 76, 2.4, 4},
                                        {96, 92, 1.6, 4},
                                        {84, 80, 1.5, 4},
                                        {110, 46, 1.7, 4},
                                        {62, 76, 1.5, 4},
                                        {100, 62, 1.3, 4},
                                        {50, 74.5, 1.1, 4},
                                        {118, 106, 1.4, 4},
                                        {33, 190, 3.4, 8},
                                        {40, 172, 1.6, 4},
                                        {27, 172, 1.3, 4},
                                        {45, 208, 2.0, 4},
                                        {33, 210, 1.3, 4},
                                        {128, 236, 1.8, 4},
                                        {139, 243, 1.2, 4}}};
  const auto link = [&](std::size_t a, std::size_t b) {
    for (const double side : {-1.0, 1.0}) {
      const auto place = [&](const Spot& s) { return Vec{kAxisX + side * (kAxisX - s.x), s.y}; };
      const Path line{place(spots[a]), place(spots[b])};
      const int dashes = static_cast<int>(length(line) / 1.7);
      for (int i = 0; i < dashes; ++i)
        stroke(sheet.cream, part(line, (i + 0.2) / dashes, (i + 0.7) / dashes), even_width(0.28));
    }
  };
  link(8, 6), link(6, 1), link(1, 0), link(0, 7), link(7, 2), link(2, 3), link(11, 10), link(10, 13),
      link(12, 10);
  for (const Spot& s : spots)
    for (const double side : {-1.0, 1.0})
      star(sheet, {kAxisX + side * (kAxisX - s.x), s.y}, s.r, s.points, s.points == 8 ? 0.24 : 0.22);
  // Star dust inside the ring, clear of what is there.
  Dice dice(5);
  for (int i = 0; i < 420; ++i) {
    const Vec p = kRingCentre + polar(128 * std::sqrt(dice.unit()), dice.range(0, 2 * kPi));
    bool free = p.y < 262;
    for (int k = 0; k < 8; ++k) free = free && sheet.cream.sample(p + polar(1.3, k * kPi / 4)) < 0.05f;
    if (free) dot(sheet.cream, p, dice.pick(5) == 0 ? 0.42 : 0.24, 1);
  }
}

}  // namespace

void draw_sky(Sheet& sheet) {
  draw_ring(sheet);
  constexpr std::array lit{0.0, 0.22, 0.5, 0.8, 1.0, 0.8, 0.5, 0.22, 0.0};
  for (int i = 0; i < 9; ++i) {
    const double a = rad(-90 + 10.2 * (i - 4));
    const double r = i == 4 ? 10.5 : 7.2;
    draw_phase(sheet, kRingCentre + polar(kRingRadius - 2.5, a), r, lit[static_cast<std::size_t>(i)],
               i < 4 ? a + kPi / 2 : a - kPi / 2);
  }
  draw_moon(sheet);
  draw_stars(sheet);
}

}  // namespace kirtle::art::moth
