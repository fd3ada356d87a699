// The night moth print: cream discharge and dark brown water base. An invented species in the manner of an
// old natural history plate.
#include "art/moth_parts.h"
#include "art/subjects.h"

namespace kirtle::art {
namespace moth {

Path blade(const Path& spine, const HalfWidth& half_mm) {
  const Path one = offset(spine, [&](double s) { return half_mm(s); });
  const Path other = offset(spine, [&](double s) { return -half_mm(s); });
  return joined(one, reversed(other));
}

namespace {

Path closed(Path contour) {
  contour.push_back(contour.front());
  return contour;
}

}  // namespace

void bare(Sheet& sheet, const Path& contour, double gap_mm) {
  for (Plane* plane : {&sheet.cream, &sheet.shade}) {
    if (gap_mm > 0) stroke(*plane, closed(contour), even_width(2 * gap_mm), 0, Join::over);
    fill(*plane, contour, 0);
  }
}

void cover(Sheet& sheet, const Path& contour, double gap_mm) {
  bare(sheet, contour, gap_mm);
  fill(sheet.cream, contour, 1);
}

void outline(Sheet& sheet, const Path& contour, double width_mm) {
  stroke(sheet.shade, closed(contour), even_width(width_mm));
}

void hair(Sheet& sheet, const Path& path, double width_mm, double dark_mm) {
  stroke(sheet.cream, path, tapering(width_mm, width_mm * 0.25));
  stroke(sheet.fur, path, tapering(width_mm, width_mm * 0.25));
  stroke(sheet.shade, path, tapering(width_mm, width_mm * 0.25), 0, Join::over);
  const Path edge = offset(path, [&](double s) { return width_mm * 0.5 * (1 - 0.7 * s); });
  stroke(sheet.shade, edge, tapering(dark_mm, dark_mm * 0.3));
}

}  // namespace moth

std::vector<Plate> draw_moth(double ppi) {
  using namespace moth;
  const Plane empty(kWidthMm, kHeightMm, ppi);
  Sheet sheet{empty, empty, empty};
  draw_sky(sheet);
  draw_garland(sheet);
  draw_ribbon(sheet);
  draw_blooms(sheet);
  draw_wings(sheet);
  draw_body(sheet);
  return {{"cream", std::move(sheet.cream)}, {"shading", std::move(sheet.shade)}};
}

}  // namespace kirtle::art
