#pragma once
// Parts of the fruit garden print. Page in mm, 280 x 330. Three transparent inks; where shapes overlap the
// inks mix.
#include "art/canvas.h"

#include <array>

namespace kirtle::art::botanical {

constexpr double kWidthMm = 280, kHeightMm = 330;

/// The plates while they are drawn.
struct Inks {
  std::array<Plane, 3> plane;  // yellow, red, blue
};

/// How much yellow, red and blue, 0..1.
using Mix = std::array<double, 3>;
constexpr Mix kBare{0, 0, 0};
constexpr Mix blend(Mix a, Mix b, double t) {
  return {mix(a[0], b[0], t), mix(a[1], b[1], t), mix(a[2], b[2], t)};
}

/// A mix at a place.
using Colour = std::function<Mix(Vec)>;
inline Colour even(Mix m) {
  return [m](Vec) { return m; };
}

/// Fills a closed contour on all three plates.
void paint(Inks& inks, const Path& contour, const Colour& colour, Join join = Join::over);
/// A line on all three plates; a bare line cuts through all inks, as a gouge does in lino.
void line(Inks& inks, const Path& path, const Width& width, Mix mix, Join join = Join::over);
inline void gouge(Inks& inks, const Path& path, const Width& width) { line(inks, path, width, kBare); }
/// Bare cloth inside the contour and in a gap round it, so that what comes next stands free.
void clear(Inks& inks, const Path& contour, double gap_mm);
/// A glaze: what is cut into the block `cut` prints in `colour` over what lies there, mixing with it.
void glaze(Inks& inks, const Plane& cut, const Colour& colour);

/// Closed outline along a spine; half(s) is half the width in mm.
Path blade(const Path& spine, const std::function<double(double)>& half_mm);
/// The same with points gathered towards the tip, for blades with round ends.
Path round_blade(const Path& spine, const std::function<double(double)>& half_mm);
Path closed(Path contour);
/// Share along the spine and signed distance from it in mm at a place.
struct Along {
  double s, side_mm;
};
Along along(const Path& spine, Vec p);

struct LeafLook {
  Mix foot, tip;
  double far_side;  // ink of the half in shade relative to the other
};

void big_leaf(Inks& inks, const Path& spine, double half_mm, const LeafLook& look, std::uint32_t seed);
/// Feathered leaf; leaflets begin at share `from` of the spine.
void frond(Inks& inks, const Path& spine, double reach_mm, int pairs, double from, const LeafLook& look,
           std::uint32_t seed);
void split_leaf(Inks& inks, Vec foot, double angle, double size_mm, const LeafLook& look, std::uint32_t seed);
/// A small leaf in front: stands free of what is behind.
void small_leaf(Inks& inks, Vec foot, double angle, double length_mm, double bend, const LeafLook& look);

struct CitrusLook {
  Mix peel, flesh_heart, flesh_rim;
};
void citrus_slice(Inks& inks, Vec centre, double r_mm, double squash, double turn, const CitrusLook& look,
                  std::uint32_t seed);
void citrus_whole(Inks& inks, Vec centre, double r_mm, double turn, Mix light, Mix deep, std::uint32_t seed);
void pomegranate(Inks& inks, Vec centre, double r_mm, double turn, bool cut, std::uint32_t seed);
void berries(Inks& inks, Vec root, double angle, double size_mm, Mix light, Mix deep, std::uint32_t seed);

void blossom(Inks& inks, Vec centre, double r_mm, double turn, double squash, Mix heart, Mix rim,
             std::uint32_t seed);
void blossom_bud(Inks& inks, Vec foot, double angle, double length_mm, Mix heart, Mix rim);

void draw_branch(Inks& inks);
void draw_bird(Inks& inks);

}  // namespace kirtle::art::botanical
