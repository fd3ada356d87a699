// Ribbon with its word, in letters drawn for this print.
#include "art/moth_parts.h"

#include <algorithm>
#include <string_view>

namespace kirtle::art::moth {
namespace {

// A letter stroke: path in a box of height 1 (y up, baseline 0), width at start, middle and end.
struct Pen {
  Path path;
  double from, middle, to;
};

constexpr double kThick = 0.165, kThin = 0.055;

Pen straight(Vec a, Vec b, double w) { return {{a, b}, w, w, w}; }
Pen serif(double x, double y, double half) {
  return {{{x - half, y}, {x + half, y}}, kThin, kThin * 1.15, kThin};
}

struct Glyph {
  double advance;
  std::vector<Pen> pens;
  std::vector<Path> solids = {};
};

Path bow(Vec centre, double rx, double ry, double from_deg, double to_deg) {
  Path out;
  for (int i = 0; i <= 48; ++i) {
    const double a = rad(mix(from_deg, to_deg, i / 48.0));
    out.push_back(centre + Vec{rx * std::cos(a), ry * std::sin(a)});
  }
  return out;
}

Glyph glyph(char c) {
  switch (c) {
    case 'N':
      return {0.92,
              {straight({0.14, 0}, {0.14, 1}, kThin), straight({0.80, 0}, {0.80, 1}, kThin),
               serif(0.14, 0, 0.13), serif(0.10, 1, 0.11), serif(0.80, 1, 0.13)},
              {{{0.08, 1}, {0.25, 1}, {0.83, 0.0}, {0.77, 0.0}, {0.70, 0.02}}}};
    case 'O':
      return {0.98,
              {{bow({0.49, 0.5}, 0.39, 0.49, 82, 278), kThin, kThick, kThin},
               {bow({0.49, 0.5}, 0.39, 0.49, -98, 98), kThin, kThick, kThin}}};
    case 'C':
      return {0.88,
              {{bow({0.48, 0.5}, 0.39, 0.49, 82, 278), kThin, kThick, kThin},
               {bow({0.48, 0.5}, 0.36, 0.49, 98, 32), kThin, kThin, 0.09},
               {bow({0.48, 0.5}, 0.36, 0.49, 262, 325), kThin, kThin, kThin},
               straight({0.80, 0.64}, {0.80, 0.90}, kThin)}};
    case 'T':
      return {0.80,
              {straight({0.40, 0}, {0.40, 1}, kThick), straight({0.05, 0.97}, {0.75, 0.97}, kThin * 1.2),
               straight({0.05, 1}, {0.07, 0.76}, kThin), straight({0.75, 1}, {0.73, 0.76}, kThin),
               serif(0.40, 0, 0.19)}};
    case 'U':
      return {
          0.92,
          {{joined({{0.20, 1}, {0.20, 0.6}}, bow({0.48, 0.34}, 0.28, 0.33, 180, 260)), kThick, kThick, kThin},
           {joined(bow({0.48, 0.34}, 0.28, 0.33, 258, 360), {{0.76, 1}}), kThin, kThin, kThin},
           serif(0.20, 1, 0.17),
           serif(0.76, 1, 0.13)}};
    case 'R':
      return {0.90,
              {straight({0.22, 0}, {0.22, 1}, kThick),
               serif(0.22, 0, 0.18),
               straight({0.07, 0.98}, {0.48, 0.98}, kThin),
               {bow({0.44, 0.74}, 0.25, 0.24, 90, -90), kThin, kThick, kThin},
               straight({0.26, 0.50}, {0.48, 0.50}, kThin),
               {{{0.42, 0.50}, {0.62, 0.22}, {0.76, 0.03}, {0.88, 0.0}}, kThin, kThick * 1.25, kThin}}};
    case 'A':
      return {0.92,
              {straight({0.14, 0}, {0.46, 1}, kThin), straight({0.25, 0.33}, {0.64, 0.33}, kThin),
               serif(0.14, 0, 0.12), serif(0.77, 0, 0.17)},
              {{{0.43, 1.02}, {0.49, 1.02}, {0.86, 0}, {0.68, 0}, {0.41, 0.86}}}};
    default:
      return {0.4, {}};
  }
}

double words_width(std::string_view words, double height_mm, double spacing_mm) {
  double sum = -spacing_mm;
  for (const char c : words) sum += glyph(c).advance * height_mm + spacing_mm;
  return sum;
}

}  // namespace

void letter(Plane& plane, const char* words, const Path& baseline, double height_mm, double spacing_mm) {
  const double whole = length(baseline);
  double x = (whole - words_width(words, height_mm, spacing_mm)) / 2;
  for (const char c : std::string_view(words)) {
    const Glyph g = glyph(c);
    const auto placed = [&](Vec p) {
      const double s = (x + p.x * height_mm) / whole;
      // turned() of a line that runs right points down, so up is its opposite.
      return point_at(baseline, s) - turned(direction_at(baseline, s)) * (p.y * height_mm);
    };
    for (const Path& solid : g.solids) fill(plane, moved(solid, placed), 1, Join::most);
    for (const Pen& pen : g.pens) {
      const Path line = moved(resampled(pen.path, 40), placed);
      const Width width = swelling(pen.from * height_mm, pen.middle * height_mm, pen.to * height_mm);
      fill(plane, blade(line, [&](double s) { return width(s) / 2; }), 1, Join::most);
    }
    x += g.advance * height_mm + spacing_mm;
  }
}

void draw_ribbon(Sheet& sheet) {
  const double r = 169, half = 8.6;
  const auto at = [&](double deg, double radius) { return kRingCentre + polar(radius, rad(90 - deg)); };
  const auto band = [&](double from, double to, double radius, double width) {
    Path out;
    for (int i = 0; i <= 80; ++i) out.push_back(at(mix(from, to, i / 80.0), radius - width));
    for (int i = 80; i >= 0; --i) out.push_back(at(mix(from, to, i / 80.0), radius + width));
    return out;
  };
  const auto hatch = [&](double from, double to, double step, double radius, double reach) {
    for (double a = std::min(from, to); a <= std::max(from, to); a += step) {
      const double t = std::abs(a - to) / std::abs(to - from);
      for (const double edge : {-1.0, 1.0}) {
        const double inner = radius + edge * half,
                     l = reach * t * (0.75 + 0.5 * hash_unit(static_cast<std::uint32_t>((a + 90) * 50), 3));
        stroke(sheet.shade, {at(a, inner), at(a + 0.15 * edge, inner - edge * std::min(l, 2 * half))},
               tapering(0.36, 0.12));
      }
    }
  };
  for (const double side : {-1.0, 1.0}) {
    // Tail, swallow cut, behind and above; then the dark fold; then the band in front.
    const double tail_r = r - 8.5;
    Path tail = band(25.5 * side, 43 * side, tail_r, half);
    tail.insert(tail.begin() + 81, at(38.5 * side, tail_r));
    // Nothing shows through the swallow cut.
    bare(
        sheet,
        {at(40.8 * side, tail_r - half * 0.5), at(38.5 * side, tail_r), at(40.8 * side, tail_r + half * 0.5)},
        0);
    cover(sheet, tail, 0.9);
    fill(sheet.shade, tail, [&](Vec p) {
      const Vec q = p - kRingCentre;
      const double deg = std::abs(90 - std::atan2(q.y, q.x) * 180 / kPi);
      return clamp01(0.70 * smooth(36, 28, deg) + 0.22 * smooth(40, 43, deg));
    });
    hatch(27 * side, 40 * side, 0.33, tail_r, 9);
    outline(sheet, tail, 0.5);
    const Path fold{at(30.5 * side, r - half), at(25.5 * side, r - half), at(25.5 * side, tail_r - half)};
    fill(sheet.shade, fold, 1);
  }
  const Path front = band(-30.5, 30.5, r, half);
  cover(sheet, front, 0.9);
  fill(sheet.shade, front, [&](Vec p) {
    const Vec q = p - kRingCentre;
    const double deg = std::abs(90 - std::atan2(q.y, q.x) * 180 / kPi), across = (length(q) - r) / half;
    return clamp01(0.62 * smooth(24.5, 30.5, deg) + 0.22 * smooth(0.55, 1.0, std::abs(across)) - 0.02);
  });
  for (const double side : {-1.0, 1.0}) hatch(30.3 * side, 24.5 * side, 0.30, r, 8);
  for (const double edge : {-1.0, 1.0}) {
    Path line;
    for (int i = 0; i <= 120; ++i) line.push_back(at(mix(-30.2, 30.2, i / 120.0), r + edge * (half - 1.3)));
    stroke(sheet.shade, line, even_width(0.28));
  }
  outline(sheet, front, 0.55);
  Path base;
  for (int i = 0; i <= 200; ++i) base.push_back(at(mix(-29, 29, i / 200.0), r + 4.9));
  letter(sheet.shade, "NOCTURNA", base, 9.6, 5.6);
  for (const double side : {-1.0, 1.0}) {
    const Vec c = at(25.6 * side, r);
    fill(sheet.shade, Path{c + Vec{0, -2.6}, c + Vec{1.2, 0}, c + Vec{0, 2.6}, c + Vec{-1.2, 0}}, 1);
    for (const double k : {-1.0, 1.0}) dot(sheet.shade, at((25.6 + 1.1 * k) * side, r), 0.45, 1);
  }
}

}  // namespace kirtle::art::moth
