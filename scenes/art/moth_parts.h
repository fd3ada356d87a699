#pragma once
// Parts of the night moth print. Page in mm, 300 x 350; the moth's axis is x = 150.
#include "art/canvas.h"

#include <functional>

namespace kirtle::art::moth {

constexpr double kWidthMm = 300, kHeightMm = 350;
constexpr double kAxisX = 150;
constexpr Vec kThorax{150, 153};
constexpr Vec kRingCentre{150, 158};
constexpr double kRingRadius = 137;

/// Both plates while they are drawn.
struct Sheet {
  Plane cream, shade;
  Plane fur;  // where hairs were drawn since it was last blanked: the mask of their soft shading
};

/// Half the width of a blade at share s of its spine, mm.
using HalfWidth = std::function<double(double s)>;
/// Closed outline of a petal, leaf or ribbon along its spine.
Path blade(const Path& spine, const HalfWidth& half_mm);

/// A shape in front of all that is there: leaves a bare gap round it on both plates, then solid cream, no
/// shading.
void cover(Sheet& sheet, const Path& contour, double gap_mm);
/// Bare gap and bare cloth inside.
void bare(Sheet& sheet, const Path& contour, double gap_mm);
/// Closed outline drawn on the shading plate.
void outline(Sheet& sheet, const Path& contour, double width_mm);
/// One hair: a cream stroke in front, with its own dark lower edge.
void hair(Sheet& sheet, const Path& path, double width_mm, double dark_mm);

void draw_sky(Sheet& sheet);
void draw_garland(Sheet& sheet);
void draw_blooms(Sheet& sheet);
void draw_ribbon(Sheet& sheet);
void draw_wings(Sheet& sheet);
void draw_body(Sheet& sheet);
/// Eye spot of a wing, outer radius r, seen as an ellipse turned by `turn`.
void draw_eye_spot(Sheet& sheet, Vec centre, double r_mm, double squash, double turn, bool grand,
                   std::uint32_t seed);
/// Words along a path, capital height h; only the letters that the print needs exist.
void letter(Plane& plane, const char* words, const Path& baseline, double height_mm, double spacing_mm);

}  // namespace kirtle::art::moth
