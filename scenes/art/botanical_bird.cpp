// The bird of the fruit garden print and its branch. An invented species.
#include "art/botanical_parts.h"

#include <algorithm>

namespace kirtle::art::botanical {
namespace {

struct FeatherLook {
  Mix root, tip;
};

// A feather: shaft and barbs gouged out, one vane darker, an optional bare edge.
void feather(Inks& inks, const Path& spine, double half_mm, const FeatherLook& look, double round,
             Dice& dice) {
  const auto half = [=](double s) {
    return half_mm * std::pow(std::sin(kPi * mix(0.16, 1.0, std::pow(clamp01(s), round))), 0.5) + 0.02;
  };
  const Path edge = round_blade(spine, half);
  clear(inks, edge, 0.45);
  const Path rough = resampled(spine, 12);
  paint(inks, edge, [&](Vec p) {
    const Along a = along(rough, p);
    const Mix m = blend(look.root, look.tip, smooth(0.1, 0.95, a.s));
    const double share = mix(1.0, 0.72, smooth(-0.2, 0.5, a.side_mm / half_mm));
    return Mix{m[0] * mix(share, 1, 0.5), m[1] * share, m[2] * share};
  });
  const double whole = length(spine);
  const int barbs = static_cast<int>(whole / 1.25);
  for (const double hand : {-1.0, 1.0})
    for (int i = 1; i < barbs; ++i) {
      const double s = mix(0.04, 0.95, static_cast<double>(i) / barbs),
                   reach = 0.88 * half(std::min(1.0, s + 0.06));
      const Vec root = point_at(spine, s), way = direction_at(spine, s), out = turned(way) * hand;
      if (dice.unit() < 0.12) continue;
      gouge(inks,
            {root + out * (0.15 * reach) + way * (0.2 * reach),
             root + out * (reach * dice.range(0.7, 1.0)) + way * (1.15 * reach)},
            tapering(0.26, 0.14));
    }
  gouge(inks, part(spine, 0.0, 0.93), tapering(0.7, 0.25));
}

// Small overlapping body feathers in rows, from the tail side forward so that each lies over the next behind
// it.
void scale(Inks& inks, Vec root, double angle, double length_mm, const Colour& colour) {
  const Path spine = resampled(Path{root, root + polar(length_mm, angle)}, 16);
  const Path edge = round_blade(spine, [=](double s) {
    return length_mm * 0.36 * std::pow(std::sin(kPi * mix(0.06, 1.0, std::pow(clamp01(s), 1.2))), 0.6) + 0.02;
  });
  clear(inks, edge, 0.22);
  paint(inks, edge, colour);
  gouge(inks, part(spine, 0.1, 0.8), tapering(0.3, 0.12));
  for (const double hand : {-1.0, 1.0})
    for (const double s : {0.35, 0.6}) {
      const Vec q = point_at(spine, s);
      gouge(inks, {q, q + polar(length_mm * 0.30, angle + hand * 0.55)}, tapering(0.2, 0.12));
    }
}

// Facing left; page mm.
const Path kBody{{101, 84},  {107, 73},  {118, 67},  {131, 70},  {141, 82},  {153, 102},
                 {170, 128}, {184, 152}, {192, 172}, {180, 179}, {160, 177}, {138, 167},
                 {119, 150}, {108, 131}, {103, 114}, {100, 100}, {99, 92}};

Mix body_colour(Vec p) {
  // From a yellow throat over an orange breast to a red belly; back and crown green-blue.
  const double down = clamp01((p.y - 78) / 95),
               back = smooth(-6, 16, (p.x - 118) * 0.82 - (p.y - 108) * 0.57);
  const Mix front = blend({1.0, 0.02, 0.0}, {0.85, 0.95, 0.05}, smooth(0.12, 0.95, down));
  const Mix rear = blend({0.35, 0.10, 0.95}, {0.85, 0.0, 0.75}, smooth(0.0, 0.7, down));
  const double crown = smooth(92, 78, p.y + (p.x - 118) * 0.15);
  return blend(blend(front, rear, back), {0.05, 0.55, 0.95}, crown);
}

void draw_tail(Inks& inks) {
  Dice dice(301);
  const FeatherLook looks[] = {{{0.0, 0.55, 0.95}, {0.0, 0.20, 0.75}},
                               {{0.3, 0.0, 0.95}, {0.85, 0.0, 0.55}},
                               {{0.4, 0.95, 0.25}, {0.85, 0.85, 0.0}}};
  for (int i = 0; i < 7; ++i) {
    const double a = rad(84 - 7.0 * i), l = 62 + 7.5 * i - (i == 6 ? 6 : 0);
    const Vec root{180 + 1.7 * i, 168 - 0.8 * i};
    const Path spine = resampled(bezier(root, root + polar(l * 0.35, a - 0.12),
                                        root + polar(l * 0.7, a - 0.05), root + polar(l, a + 0.14)),
                                 60);
    feather(inks, spine, 5.0, looks[i % 3], 1.5, dice);
  }
}

void draw_plumage(Inks& inks) {
  const Path edge = curve(kBody, true, 0.4);
  clear(inks, edge, 1.1);
  paint(inks, edge, body_colour);
  Dice dice(302);
  // Rows from belly and rump up to the head.
  for (int row = 26; row >= -7; --row) {
    const double f = row / 26.0;
    const Vec mid = mix(Vec{116, 86}, Vec{181, 169}, f);
    const double size = mix(3.6, 8.0, std::sin(kPi * clamp01(std::min(0.6, 0.25 + 0.6 * f))));
    for (int i = -16; i <= 16; ++i) {
      const Vec across = unit(Vec{0.79, -0.62});
      const Vec root = mid + across * (i * size * 0.56 + (row % 2) * size * 0.28) +
                       polar(0.25 * dice.bell(), dice.unit() * 6);
      if (!inside(edge, root) || distance(closed(edge), root) < 0.30 * size) continue;
      const Vec head{117, 84};
      // Round the crown the feathers sweep back, below the head they hang.
      const double turn = std::atan2(root.y - head.y, root.x - head.x);
      const double flow =
          mix(turn < 0 ? turn + kPi / 2 : kPi / 2, rad(54), smooth(6, 34, length(root - head)));
      if (length(root - head) < 6) continue;
      const Mix m = body_colour(root + polar(size * 0.5, flow));
      const double jitter = dice.range(0.86, 1.0);
      scale(inks, root, flow, size * dice.range(0.92, 1.08), [=](Vec p) {
        const double s = clamp01(dot(p - root, polar(1, flow)) / size);
        return blend(blend(m, Mix{m[0], std::min(1.0, m[1] + 0.12), std::min(1.0, m[2] + 0.12)}, 1 - s),
                     kBare, (1 - jitter) * s);
      });
    }
  }
}

void draw_wing(Inks& inks) {
  Dice dice(303);
  struct Row {
    int feathers;
    Vec first, last;  // roots, lowest feather first
    double from_deg, to_deg, l_first, l_last, half;
    FeatherLook look, other;
  };
  const Row rows[] = {// Flight feathers, then two rows of coverts over their roots.
                      {9,
                       {150, 146},
                       {163, 122},
                       60,
                       46,
                       44,
                       78,
                       4.6,
                       {{0.20, 0.30, 1.0}, {0.0, 0.10, 0.80}},
                       {{0.20, 0.55, 1.0}, {0.0, 0.35, 0.85}}},
                      {8,
                       {139, 138},
                       {154, 112},
                       62,
                       47,
                       31,
                       48,
                       4.6,
                       {{0.75, 0.0, 0.85}, {0.85, 0.0, 0.50}},
                       {{0.55, 0.0, 0.90}, {0.75, 0.0, 0.60}}},
                      {8,
                       {131, 130},
                       {147, 104},
                       64,
                       48,
                       21,
                       29,
                       4.1,
                       {{0.95, 0.60, 0.15}, {1.0, 0.35, 0.0}},
                       {{0.95, 0.75, 0.15}, {1.0, 0.50, 0.0}}},
                      {7,
                       {127, 121},
                       {140, 99},
                       66,
                       50,
                       13,
                       18,
                       3.4,
                       {{0.15, 0.20, 0.95}, {0.10, 0.0, 0.70}},
                       {{0.30, 0.10, 0.95}, {0.35, 0.0, 0.70}}}};
  for (const Row& row : rows)
    for (int i = 0; i < row.feathers; ++i) {
      const double t = static_cast<double>(i) / (row.feathers - 1);
      const double a = rad(mix(row.from_deg, row.to_deg, t)), l = mix(row.l_first, row.l_last, t);
      const Vec root = mix(row.first, row.last, t);
      const Path spine = resampled(bezier(root, root + polar(l * 0.33, a + 0.10),
                                          root + polar(l * 0.68, a + 0.06), root + polar(l, a - 0.02)),
                                   50);
      feather(inks, spine, row.half, i % 2 ? row.look : row.other, 1.7, dice);
    }
  // Shoulder.
  for (int k = 3; k >= 0; --k)
    for (int i = 0; i < 7; ++i) {
      const double t = i / 6.0;
      const Vec root = mix(Vec{122.0 + 1.7 * k, 108.0 + 3.1 * k}, Vec{134.0 + 2.0 * k, 90.5 + 3.0 * k}, t);
      scale(inks, root, rad(mix(70, 46, t)), 6.6,
            even(blend({0.85, 0.05, 0.70}, {0.30, 0.15, 0.95}, k / 3.0)));
    }
}

void draw_head(Inks& inks) {
  // Crest: slim feathers swept back.
  Dice dice(304);
  for (int i = 0; i < 6; ++i) {
    const Vec root{112 + 3.0 * i, 71.5 - 1.6 * std::sin(kPi * i / 5.0)};
    const double a = rad(-66 + 10.5 * i), l = 15 + 4.0 * std::sin(kPi * (i + 0.6) / 6);
    const Path spine = resampled(
        bezier(root, root + polar(l * 0.4, a - 0.25), root + polar(l * 0.8, a), root + polar(l, a + 0.25)),
        30);
    feather(inks, spine, 1.7, {{0.10, 0.70, 0.95}, {0.25, 0.95, 0.20}}, 1.6, dice);
  }
  // Beak: upper half hooked over the lower one.
  const Path lower =
      curve({{100, 97}, {93, 97.5}, {86.5, 99}, {90, 102.2}, {96, 103}, {101, 101.5}}, true, 0.2);
  clear(inks, lower, 0.6);
  paint(inks, lower, [](Vec p) { return blend({0.95, 0.75, 0.25}, {1.0, 0.45, 0}, smooth(86, 101, p.x)); });
  const Path upper = curve({{102, 83.5},
                            {95, 83.8},
                            {87, 87.5},
                            {81, 94},
                            {79.2, 101.5},
                            {82.6, 98.6},
                            {88, 97},
                            {95, 96.6},
                            {101.5, 97}},
                           true, 0.2);
  clear(inks, upper, 0.6);
  paint(inks, upper, [](Vec p) {
    const Mix m = blend({0.9, 0.95, 0.55}, {1.0, 0.38, 0.0}, smooth(80, 94, p.x));
    return blend(m, {1.0, 0.12, 0.0}, smooth(95, 84, p.y) * smooth(86, 96, p.x));
  });
  for (int i = 0; i < 5; ++i)
    gouge(inks,
          curve({{100.0, 86.0 + 1.3 * i}, {93.0, 86.4 + 1.5 * i}, {88.0 - 0.4 * i, 90.0 + 1.2 * i}}, false,
                0.3),
          swelling(0.06, 0.50 - 0.07 * i, 0.06));
  line(inks, ellipse({98.6, 87.3}, 1.0, 0.6, 0.3, 0.1), even_width(0.4), {0.5, 1.0, 0.6}, Join::most);
  // Bare face, with fine lines, and the eye.
  const Vec eye{111.5, 86};
  const Path face = curve(
      {{102, 85}, {106, 79.5}, {113, 78.5}, {119.5, 82.5}, {120, 89}, {114, 94}, {106.5, 95.5}, {102, 94}},
      true, 0.2);
  clear(inks, face, 0.2);
  for (int i = 0; i < 6; ++i)
    line(inks,
         curve({{103.0, 88.0 + 1.35 * i}, {109.0, 91.2 + 0.9 * i}, {117.5, 88.6 + 0.9 * i}}, false, 0.3),
         swelling(0.08, 0.36, 0.08), {0.2, 0.8, 0.5}, Join::most);
  line(inks, closed(face), even_width(0.35), {0.2, 0.9, 0.7}, Join::most);
  clear(inks, circle(eye, 4.3), 0.3);
  paint(inks, circle(eye, 4.3), [&](Vec p) {
    return blend({1.0, 0.55, 0.05}, {1.0, 0.10, 0}, smooth(4.3, 2.2, length(p - eye)));
  });
  for (int i = 0; i < 28; ++i) {
    const double a = 2 * kPi * i / 28;
    line(inks, {eye + polar(2.6, a), eye + polar(3.7, a)}, tapering(0.3, 0.12), {1.0, 0.9, 0.2}, Join::most);
  }
  ring(inks.plane[1], eye, 4.2, 0.5);
  ring(inks.plane[2], eye, 4.2, 0.5, 0.85);
  paint(inks, circle(eye, 2.5), even({1.0, 1.0, 1.0}));
  for (Plane& plane : inks.plane) {
    dot(plane, eye + Vec{-0.8, -0.9}, 0.75, 0);
    stroke(plane, arc(eye, 1.7, rad(20), rad(95)), swelling(0.05, 0.4, 0.05), 0, Join::over);
  }
}

// Three toes over the branch, each with rings and a dark claw.
void draw_feet(Inks& inks) {
  for (const Vec foot : {Vec{147, 179.5}, Vec{162, 181}})
    for (const int i : {-1, 1, 0}) {
      const Path toe = curve({{foot.x + 0.6 * i, foot.y - 2.5},
                              {foot.x + 2.5 * i, foot.y - 0.4},
                              {foot.x + 2.9 * i - 0.5, foot.y + 3.2},
                              {foot.x + 2.7 * i - 1.0, foot.y + 6.6}},
                             false, 0.2);
      gouge(inks, toe, swelling(3.6, 3.9, 2.6));
      line(inks, part(toe, 0.0, 0.82), swelling(2.4, 2.7, 2.2), {0.95, 0.72, 0.15}, Join::over);
      line(inks, part(toe, 0.80, 1.0), tapering(1.9, 0.5), {0.9, 1.0, 0.95}, Join::over);
      for (int k = 0; k < 5; ++k) {
        const double s = 0.24 + 0.12 * k;
        const Vec q = point_at(toe, s), out = turned(direction_at(toe, s));
        gouge(inks, {q - out * 1.0, q + out * 0.5}, even_width(0.25));
      }
    }
}

}  // namespace

void draw_branch(Inks& inks) {
  const Path limb =
      curve({{36, 214}, {66, 203}, {100, 193}, {140, 184}, {176, 184}, {212, 174}, {246, 152}}, false, 0.5);
  const Path spine = resampled(limb, 160);
  const auto half = [](double s) {
    return 4.6 - 2.4 * s + 0.5 * std::sin(s * 31) + 0.35 * std::sin(s * 77 + 1);
  };
  const Path edge = blade(spine, half);
  clear(inks, edge, 0.9);
  const Path rough = resampled(spine, 30);
  paint(inks, edge, [&](Vec p) {
    const Along a = along(rough, p);
    return blend({0.75, 0.55, 0.25}, {0.70, 0.90, 0.90}, smooth(-3.5, 3.5, a.side_mm));
  });
  Dice dice(305);
  for (int i = 0; i < 210; ++i) {
    const double s = dice.range(0.01, 0.95), k = dice.range(-0.85, 0.85), l = dice.range(0.02, 0.06);
    const Path grain =
        part(offset(spine, [&](double t) { return k * half(t) + 0.25 * std::sin(t * 130 + i); }), s,
             std::min(0.99, s + l));
    if (k < 0.2)
      gouge(inks, grain, swelling(0.06, dice.range(0.3, 0.55), 0.06));
    else
      line(inks, grain, swelling(0.06, dice.range(0.3, 0.6), 0.06), {0.9, 1.0, 1.0}, Join::most);
  }
  const LeafLook leaf_a{{0.95, 0.0, 0.85}, {0.85, 0.0, 0.40}, 0.62},
      leaf_b{{0.85, 0.20, 0.0}, {0.95, 0.05, 0.30}, 0.7};
  const auto twig = [&](double s, double angle, double l, const LeafLook& look, double bend) {
    small_leaf(inks, point_at(spine, s), rad(angle), l, bend, look);
  };
  twig(0.02, 175, 25, leaf_a, 0.3), twig(0.02, -135, 22, leaf_b, -0.3), twig(0.14, -118, 27, leaf_a, 0.4);
  twig(0.18, 98, 25, leaf_b, -0.3), twig(0.30, -108, 22, leaf_a, -0.2), twig(0.80, -98, 26, leaf_a, 0.3);
  twig(0.86, 62, 25, leaf_b, 0.3), twig(0.97, -70, 27, leaf_a, 0.2), twig(1.0, -22, 24, leaf_b, -0.2),
      twig(1.0, 28, 22, leaf_a, 0.4);
  blossom(inks, point_at(spine, 0.10), 11.5, 0.4, 0.9, {0.35, 0.75, 0}, {0.0, 0.14, 0}, 71);
  blossom(inks, point_at(spine, 0.92), 12.5, 0.1, 0.9, {0.35, 0.75, 0}, {0.0, 0.14, 0}, 72);
  blossom_bud(inks, point_at(spine, 0.24) + Vec{0, -2}, rad(-82), 16, {0.2, 0.7, 0}, {0, 0.3, 0});
  blossom_bud(inks, point_at(spine, 0.99), rad(-48), 16, {0.2, 0.7, 0}, {0, 0.3, 0});
}

void draw_bird(Inks& inks) {
  draw_tail(inks);
  draw_plumage(inks);
  draw_wing(inks);
  draw_head(inks);
  draw_feet(inks);
}

}  // namespace kirtle::art::botanical
