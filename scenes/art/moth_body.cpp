// Head, fur, abdomen and feathered antennae of the night moth.
#include "art/moth_parts.h"

#include <algorithm>

namespace kirtle::art::moth {
namespace {

Path lock(Vec root, double angle, double length_mm, double bend) {
  Path out{root};
  for (int i = 1; i <= 6; ++i) out.push_back(out.back() + polar(length_mm / 6, angle + bend * i / 6));
  return out;
}

// Half width of the abdomen at share s from thorax to tip.
double abdomen_half(double s) {
  return 10.5 * std::pow(1 - s, 0.42) * (1 - 0.15 * std::cos(s * kPi)) * smooth(-0.35, 0.15, s) + 0.4;
}

void draw_abdomen(Sheet& sheet) {
  const Vec top = kThorax + Vec{0, 12};
  const double long_mm = 58;
  const Path spine{top, top + Vec{0, long_mm}};
  cover(sheet, blade(resampled(spine, 80), abdomen_half), 0.9);
  sheet.fur = sheet.fur.blank();
  fill(sheet.fur, blade(resampled(spine, 80), abdomen_half), 1);
  Dice dice(71);
  constexpr int segments = 9;
  // From the tip upwards, so that each ring of fur lies over the next one below.
  for (int k = segments; k >= 0; --k) {
    const double s = (k + 0.15) / (segments + 0.6), y = top.y + s * long_mm, half = abdomen_half(s);
    const int hairs = static_cast<int>(half * 9) + 14;
    for (int layer = 0; layer < 3; ++layer)
      for (int i = 0; i < hairs; ++i) {
        const double x = mix(-1.0, 1.0, (i + dice.unit()) / hairs);
        const double reach = long_mm / segments * dice.range(0.9, 1.35) * (1 - 0.22 * layer);
        const double out_turn = -x * 0.62 - 0.05 * dice.bell();
        const Vec root{top.x + x * half, y - layer * 0.9 + 2.2 * x * x * -1};
        // Dark band at the top of each segment, shaded to both sides.
        const double dark = 0.16 + 0.30 * x * x + (layer == 2 ? 0.34 : 0.0) + 0.05 * dice.unit();
        hair(sheet, lock(root, rad(90) + out_turn, reach, 0.25 * x), 0.62, dark);
      }
    // Chevron of dark scales down the back.
    const Path mark{
        {top.x - half * 0.42, y - 1.6}, {top.x, y + 1.4}, {top.x + half * 0.42, y - 1.6}, {top.x, y - 0.2}};
    fill(sheet.shade, mark, 1);
  }
  // Roundness, and a soft dark band at the head of each ring.
  join(
      sheet.shade,
      [&](Vec p) {
        const double t = clamp01((p.y - top.y) / long_mm), x = (p.x - top.x - 0.8) / (abdomen_half(t) + 1.5);
        const double ring = t * (segments + 0.6) + 0.25 + 0.35 * x * x;
        const double band = 0.5 + 0.5 * std::cos(2 * kPi * ring);
        return clamp01(0.58 * smooth(0.30, 1.1, std::abs(x)) + 0.46 * band * band +
                       0.25 * smooth(0.15, 0.0, t) - 0.04);
      },
      sheet.fur, Join::deepen);
  // Tuft.
  for (int i = 0; i < 60; ++i) {
    const double x = dice.range(-1, 1);
    hair(sheet,
         lock({top.x + x * 2.0, top.y + long_mm * dice.range(0.90, 0.98)}, rad(90) - x * 0.5,
              dice.range(5, 10), 0.3 * x),
         0.5, 0.16 + 0.2 * std::abs(x));
  }
}

void draw_thorax(Sheet& sheet) {
  cover(sheet, ellipse(kThorax, 13, 19), 0);
  sheet.fur = sheet.fur.blank();
  fill(sheet.fur, ellipse(kThorax, 13, 19), 1);
  Dice dice(83);
  constexpr int count = 2600;
  // Ordered from low to high, so that the fur falls down over itself.
  for (int i = 0; i < count; ++i) {
    const double height = 1 - static_cast<double>(i) / count;
    const double y = mix(-19.0, 17.0, height) + dice.bell() * 0.4;
    const double half = 13.5 * std::sqrt(std::max(0.0, 1 - std::pow(y / 20.5, 2)));
    const double x = dice.range(-1, 1);
    const Vec root = kThorax + Vec{x * half, y};
    const double down = rad(90) - x * mix(0.95, 0.45, height);
    // Dark collar, two dark streaks along the back, darker flanks.
    const double collar = smooth(3.2, 0.8, std::abs(y + 11.5 - 2.5 * x * x));
    const double streak = smooth(0.16, 0.04, std::abs(std::abs(x) - 0.42)) * smooth(-9, -6, y);
    const double dark = 0.08 + 0.22 * x * x + 0.34 * collar + 0.30 * streak + 0.10 * dice.unit();
    hair(sheet, lock(root, down, dice.range(4.0, 7.2), -0.5 * x + 0.12 * dice.bell()), 0.58, dark);
  }
  join(
      sheet.shade,
      [](Vec p) {
        const Vec q = p - kThorax - Vec{-1.2, -3.0};
        const double r = std::hypot(q.x / 15.5, q.y / 24.0), on = smooth(1.25, 1.0, r);
        return clamp01(on * (0.50 * smooth(0.45, 1.05, r) +
                             0.32 * smooth(3.4, 0.6, std::abs(q.y + 8.5 - 0.035 * q.x * q.x))) -
                       0.03);
      },
      sheet.fur, Join::deepen);
}

void draw_head(Sheet& sheet) {
  const Vec head = kThorax + Vec{0, -22};
  Dice dice(97);
  for (const double side : {-1.0, 1.0}) {
    const Vec eye = head + Vec{side * 5.4, -0.5};
    cover(sheet, circle(eye, 2.9), 0.75);
    dot(sheet.shade, eye, 2.6, 1);
    dot(sheet.shade, eye + Vec{-0.9, -0.9}, 0.7, 0);
    Path glow = arc(eye, 1.9, rad(10), rad(100));
    stroke(sheet.shade, glow, swelling(0.05, 0.35, 0.05), 0, Join::over);
  }
  cover(sheet, ellipse(head, 4.6, 5.2), 0.7);
  cover(sheet, ellipse(head + Vec{0, 5}, 6, 3.5), 0);
  for (int i = 0; i < 420; ++i) {
    const double height = 1 - i / 420.0, y = mix(-4.8, 4.0, height), x = dice.range(-0.85, 0.85);
    const double half = 5.0 * std::sqrt(std::max(0.05, 1 - std::pow(y / 5.6, 2)));
    hair(sheet, lock(head + Vec{x * half, y}, rad(90) - x * 1.1, dice.range(2.2, 4.2), -0.3 * x), 0.46,
         0.10 + 0.2 * x * x + 0.1 * dice.unit());
  }
}

void draw_antennae(Sheet& sheet) {
  for (const double side : {-1.0, 1.0}) {
    const auto place = [&](Vec p) { return Vec{kThorax.x + side * p.x, kThorax.y + p.y}; };
    const Path shaft =
        curve(moved(Path{{3, -25.5}, {9, -36}, {19, -47}, {32, -55}, {44, -58}}, place), false, 0.25);
    const auto feather = [&](double s) {
      return 6.6 * std::pow(std::sin(kPi * std::pow(clamp01(0.06 + 0.94 * s), 0.62)), 0.8) + 0.6;
    };
    // A bare field round the feather keeps it clear of what lies behind.
    bare(sheet, blade(resampled(part(shaft, 0.04, 1), 80), [&](double s) { return feather(s) + 0.8; }), 0);
    constexpr int barbs = 62;
    for (int i = 1; i < barbs; ++i) {
      const double s = static_cast<double>(i) / barbs;
      const Vec root = point_at(shaft, s), way = direction_at(shaft, s);
      for (const double hand : {-1.0, 1.0}) {
        const Vec out = turned(way) * hand;
        const double l = feather(s);
        const Path barb = curve(
            {root, root + out * (0.55 * l) + way * (0.22 * l), root + out * (0.95 * l) + way * (0.75 * l)},
            false, 0.3);
        stroke(sheet.cream, barb, tapering(0.55, 0.26));
        // Fine side hairs.
        for (const double q : {0.35, 0.55, 0.75}) {
          const Vec b = point_at(barb, q);
          stroke(sheet.cream, {b, b + way * 1.0 + out * 0.35}, tapering(0.24, 0.14));
        }
      }
    }
    stroke(sheet.cream, shaft, tapering(1.5, 0.6));
    stroke(sheet.shade, offset(shaft, [&](double) { return 0.3 * side; }), tapering(0.4, 0.15));
  }
}

}  // namespace

void draw_body(Sheet& sheet) {
  draw_antennae(sheet);
  draw_abdomen(sheet);
  draw_head(sheet);
  draw_thorax(sheet);
}

}  // namespace kirtle::art::moth
