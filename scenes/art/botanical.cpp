// The fruit garden print: yellow, red and blue transparent water base. Bird and plants are invented.
#include "art/botanical_parts.h"
#include "art/subjects.h"

#include <algorithm>

namespace kirtle::art {
namespace botanical {

void paint(Inks& inks, const Path& contour, const Colour& colour, Join join) {
  for (std::size_t i = 0; i < 3; ++i)
    fill(
        inks.plane[i], contour, [&](Vec p) { return colour(p)[i]; }, join);
}

void line(Inks& inks, const Path& path, const Width& width, Mix mix, Join join) {
  for (std::size_t i = 0; i < 3; ++i)
    if (join == Join::over || mix[i] > 0) stroke(inks.plane[i], path, width, mix[i], join);
}

void clear(Inks& inks, const Path& contour, double gap_mm) {
  for (Plane& plane : inks.plane) {
    if (gap_mm > 0) stroke(plane, closed(contour), even_width(2 * gap_mm), 0, Join::over);
    fill(plane, contour, 0);
  }
}

void glaze(Inks& inks, const Plane& cut, const Colour& colour) {
  for (std::size_t i = 0; i < 3; ++i)
    join(
        inks.plane[i], [&](Vec p) { return colour(p)[i]; }, cut, Join::deepen);
}

Path blade(const Path& spine, const std::function<double(double)>& half_mm) {
  return joined(offset(spine, half_mm), reversed(offset(spine, [&](double s) { return -half_mm(s); })));
}

Path round_blade(const Path& spine, const std::function<double(double)>& half_mm) {
  constexpr int n = 70;
  const auto share = [](double t) { return 1 - (1 - t) * (1 - t); };
  Path dense;
  for (int i = 0; i <= n; ++i) dense.push_back(point_at(spine, share(static_cast<double>(i) / n)));
  return blade(dense, [&](double t) { return half_mm(share(t)); });
}

Path closed(Path contour) {
  contour.push_back(contour.front());
  return contour;
}

Along along(const Path& spine, Vec p) {
  double best = 1e9;
  Along out{0, 0};
  const double n = static_cast<double>(spine.size() - 1);
  for (std::size_t i = 1; i < spine.size(); ++i) {
    const Vec a = spine[i - 1], ab = spine[i] - a;
    const double t = clamp01(dot(p - a, ab) / dot(ab, ab)), d = length(p - a - ab * t);
    if (d < best) {
      best = d;
      out = {(static_cast<double>(i - 1) + t) / n, cross(ab, p - a) > 0 ? d : -d};
    }
  }
  return out;
}

namespace {

constexpr Vec kSun{140, 126};

void draw_sun(Inks& inks) {
  const double r = 84;
  Plane cut = inks.plane[0].blank();
  fill(cut, circle(kSun, r), 1);
  // Gouged bands of evening haze, wider towards the horizon.
  for (int i = 0; i < 9; ++i) {
    const double y = kSun.y + 22 + i * 6.6;
    stroke(cut, {{kSun.x - 95, y}, {kSun.x + 95, y}}, even_width(0.35 + 0.24 * i), 0, Join::over);
  }
  glaze(inks, cut, [&](Vec p) {
    const double t = (p.y - (kSun.y - r)) / (2 * r);
    return Mix{mix(1.0, 0.92, t), mix(0.04, 0.86, smooth(0.08, 1.0, t)), 0};
  });
  for (int i = 0; i < 150; ++i) {
    const double a = 2 * kPi * i / 150;
    // Only above the horizon.
    if (std::sin(a) > -0.12) continue;
    const double from = r + 3.0, l = i % 5 == 0 ? 13 : i % 5 == 2 || i % 5 == 3 ? 8.5 : 5.5;
    line(inks, {kSun + polar(from, a), kSun + polar(from + l, a)}, tapering(1.15, 0.35), {0.95, 0.35, 0},
         Join::most);
    if (i % 5 == 0) dot(inks.plane[1], kSun + polar(from + l + 2.6, a), 0.75, 0.85, Join::most);
  }
}

Path spine(Vec a, Vec b, Vec c, Vec d) { return resampled(bezier(a, b, c, d), 70); }

void draw_foliage(Inks& inks) {
  const LeafLook deep{{0.10, 0.0, 0.95}, {0.0, 0.0, 0.50}, 0.72},
      green{{0.85, 0.0, 0.80}, {0.75, 0.0, 0.35}, 0.75};
  const LeafLook plum{{0.0, 0.75, 0.65}, {0.0, 0.50, 0.28}, 0.70},
      gold{{0.95, 0.10, 0.0}, {0.80, 0.0, 0.15}, 0.75};
  const LeafLook coral{{0.45, 0.85, 0.0}, {0.35, 0.50, 0.0}, 0.72};
  // A fan from behind the fruit, far ones first; left and right answer each other without mirroring.
  frond(inks, spine({120, 240}, {84, 190}, {52, 110}, {66, 24}), 46, 20, 0.34, deep, 11);
  frond(inks, spine({165, 240}, {205, 195}, {236, 120}, {214, 26}), 46, 20, 0.34, green, 12);
  big_leaf(inks, spine({110, 245}, {70, 215}, {34, 160}, {22, 92}), 21, plum, 21);
  big_leaf(inks, spine({172, 245}, {215, 220}, {250, 165}, {259, 98}), 21, deep, 22);
  frond(inks, spine({100, 250}, {64, 244}, {33, 226}, {18, 188}), 29, 14, 0.26, green, 13);
  frond(inks, spine({184, 250}, {222, 246}, {247, 226}, {261, 188}), 29, 14, 0.26, plum, 14);
  split_leaf(inks, {126, 258}, rad(-106), 66, green, 31);
  split_leaf(inks, {152, 262}, rad(-66), 60, deep, 32);
  big_leaf(inks, spine({112, 255}, {80, 266}, {46, 276}, {14, 262}), 17, gold, 23);
  big_leaf(inks, spine({172, 255}, {206, 268}, {238, 276}, {267, 258}), 17, coral, 24);
  big_leaf(inks, spine({120, 262}, {98, 285}, {66, 306}, {34, 312}), 14, deep, 25);
  big_leaf(inks, spine({164, 262}, {186, 286}, {218, 306}, {248, 311}), 14, green, 26);
}

void draw_fruit(Inks& inks) {
  const CitrusLook orange{{1.0, 0.62, 0}, {0.95, 0.30, 0}, {1.0, 0.58, 0}},
      blood{{1.0, 0.70, 0.05}, {0.55, 0.70, 0.0}, {0.70, 0.95, 0.05}};
  const CitrusLook lime{{0.95, 0, 0.62}, {0.55, 0, 0.14}, {0.80, 0, 0.42}};
  const LeafLook leaf_a{{0.95, 0.0, 0.80}, {0.85, 0.0, 0.40}, 0.62},
      leaf_b{{0.25, 0.0, 0.90}, {0.10, 0.0, 0.55}, 0.62};
  for (const double a : {-165.0, 172.0, 150.0, -145.0}) small_leaf(inks, {84, 268}, rad(a), 36, 0.35, leaf_a);
  for (const double a : {-20.0, 6.0, 28.0, -42.0}) small_leaf(inks, {198, 270}, rad(a), 36, -0.35, leaf_b);
  for (const double a : {60.0, 95.0, 122.0}) small_leaf(inks, {140, 290}, rad(a), 32, 0.2, leaf_a);
  berries(inks, {47, 283}, rad(172), 18, {0.0, 0.55, 0.55}, {0.1, 0.85, 0.95}, 62);
  berries(inks, {235, 284}, rad(8), 18, {0.5, 0.60, 0.0}, {0.6, 1.0, 0.25}, 63);
  pomegranate(inks, {196, 250}, 28, rad(-14), false, 41);
  citrus_whole(inks, {82, 252}, 25, rad(-35), {1.0, 0.20, 0}, {1.0, 0.66, 0.06}, 42);
  citrus_slice(inks, {64, 287}, 20, 0.94, 0.2, lime, 43);
  citrus_slice(inks, {108, 279}, 29, 0.97, 0.1, orange, 44);
  citrus_slice(inks, {219, 288}, 19, 0.92, 0.5, blood, 45);
  pomegranate(inks, {168, 277}, 31, rad(8), true, 46);
  blossom(inks, {139, 250}, 17, 0.2, 0.92, {0.55, 0.75, 0}, {0.0, 0.16, 0}, 51);
  blossom(inks, {113, 238}, 12, 0.8, 0.88, {0.35, 0.65, 0}, {0.0, 0.12, 0}, 52);
  blossom(inks, {232, 252}, 11.5, 0.5, 0.85, {0.45, 0.75, 0}, {0.0, 0.16, 0}, 53);
  blossom(inks, {45, 262}, 11, 0.1, 0.86, {0.45, 0.75, 0}, {0.0, 0.14, 0}, 54);
  berries(inks, {164, 240}, rad(-62), 15, {0.0, 0.55, 0.55}, {0.1, 0.85, 0.95}, 61);
}

}  // namespace
}  // namespace botanical

std::vector<Plate> draw_botanical(double ppi) {
  using namespace botanical;
  const Plane empty(kWidthMm, kHeightMm, ppi);
  Inks inks{{empty, empty, empty}};
  draw_sun(inks);
  draw_foliage(inks);
  draw_branch(inks);
  draw_bird(inks);
  draw_fruit(inks);
  return {{"yellow", std::move(inks.plane[0])},
          {"red", std::move(inks.plane[1])},
          {"blue", std::move(inks.plane[2])}};
}

}  // namespace kirtle::art
