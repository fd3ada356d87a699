// Eye spot of the night moth's wings.
#include "art/moth_parts.h"

#include <algorithm>

namespace kirtle::art::moth {

void draw_eye_spot(Sheet& sheet, Vec centre, double r_mm, double squash, double turn, bool grand,
                   std::uint32_t seed) {
  Dice dice(seed);
  const auto at = [&](double share, double angle) {
    const Vec p = polar(r_mm * share, angle);
    return centre + rotated({p.x, p.y * squash}, turn);
  };
  const auto oval = [&](double share) {
    Path out;
    const int n = 160;
    for (int i = 0; i < n; ++i) out.push_back(at(share, 2 * kPi * i / n));
    return out;
  };
  const auto share_of = [&](Vec p) {
    const Vec q = rotated(p - centre, -turn);
    return std::hypot(q.x, q.y / squash) / r_mm;
  };
  Plane& shade = sheet.shade;
  // Soft dark round the spot, then a pale halo cut by short scales.
  if (grand) {
    fill(
        shade, oval(1.45), [&](Vec p) { return 0.55 * smooth(1.42, 1.05, share_of(p)); }, Join::deepen);
    for (int i = 0; i < 150; ++i) {
      const double a = 2 * kPi * (i + dice.range(-0.3, 0.3)) / 150;
      stroke(shade, {at(1.0, a), at(dice.range(1.10, 1.34), a + dice.range(-0.03, 0.03))},
             tapering(0.42, 0.08));
    }
  }
  fill(sheet.cream, oval(1.02), 1);
  fill(shade, oval(1.0), 1);
  if (grand) {
    // A ring of pale scale dots inside the dark ring.
    for (int i = 0; i < 44; ++i) dot(shade, at(0.935, 2 * kPi * i / 44), r_mm * 0.022, 0);
  }
  fill(shade, oval(0.87), 0);
  stroke(shade, joined(oval(0.81), {at(0.81, 0)}), even_width(0.22));
  // Iris: light at its outer edge, deep at the pupil, deeper above; striated by radial lines.
  const double iris = 0.74, pupil = 0.40;
  fill(shade, oval(iris), [&](Vec p) {
    const double s = share_of(p);
    const double upper = 0.5 - 0.5 * (p.y - centre.y) / r_mm;
    return clamp01(0.16 + 0.62 * smooth(iris, pupil, s) + 0.38 * smooth(0.45, 1.0, upper));
  });
  const int rays = grand ? 96 : 36;
  for (int i = 0; i < rays; ++i) {
    const double a = 2 * kPi * (i + dice.range(-0.2, 0.2)) / rays;
    const double end = i % 2 ? dice.range(0.60, 0.73) : dice.range(0.50, 0.62);
    stroke(shade, {at(pupil, a), at(end, a)}, tapering(0.40, 0.10));
    if (grand && i % 2 == 0)
      stroke(shade, {at(iris, a + 0.03), at(dice.range(0.62, 0.68), a + 0.03)}, tapering(0.32, 0.1));
  }
  stroke(shade, joined(oval(iris), {at(iris, 0)}), even_width(grand ? 0.55 : 0.3));
  fill(shade, oval(pupil + 0.05), 0);
  fill(shade, oval(pupil), 1);
  // The solid pupil and dark ring stay on cream only at their edges: under the pupil the cream is open.
  if (grand) fill(sheet.cream, oval(pupil - 0.06), 0);
  // Crescent of light in the pupil.
  Path crescent, inner;
  for (int i = 0; i <= 30; ++i) {
    const double a = mix(rad(-165), rad(-40), i / 30.0) - turn;
    const double thick = 0.13 * std::sin(kPi * i / 30.0);
    crescent.push_back(at(0.31, a));
    inner.push_back(at(0.31 - thick, a));
  }
  const Path moon = joined(crescent, reversed(inner));
  fill(shade, moon, 0);
  fill(sheet.cream, moon, 1);
  const Vec glint = at(0.20, rad(50) - turn);
  dot(shade, glint, r_mm * 0.04, 0);
  dot(sheet.cream, glint, r_mm * 0.04, 1);
}

}  // namespace kirtle::art::moth
