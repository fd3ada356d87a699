#pragma once
// Where misregister can show something that the print in register does not: every stretch of contour at which
// one plate stops and another carries on, with how far they overlap there.
//
// From a point on a plate's contour a line goes inward, along the normal, over the other plates. Those that
// cover just outside the contour end under the plate at a depth, their overlap; when they have moved away by
// more, a gap opens between their edges. At a contour with nothing outside, a base that begins at a depth
// peeks out when it has moved by more. Depths are to the printed contours, moved by the ink spread, so that
// spread counts as overlap. Source: closed forms in press/gap_theory.h for straight edges; the search is our
// own.
#include "base/progress.h"
#include "plate/plate_image.h"
#include "press/register.h"
#include "screen/tone.h"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// One plate as the search sees it.
struct EdgePlate {
  const PlateImage* image = nullptr;
  const ToneCurve* tone = nullptr;  ///< film to printed; none = prints as on film
  Um spread{0};                     ///< outward movement of its contours; 0 for a soaked field
  bool base = false;                ///< lies under the others and is not to be seen beside them
};

/// A further plate whose edge bounds the same gap.
struct EdgeBound {
  std::int8_t plate = -1;  ///< -1 = none
  bool outer = false;      ///< covers from outside up to the depth (as plate_b), else from the depth inward
  float depth_mm = 0;
};

constexpr int kShirtShows = -1;

/// A stretch of contour of plate_a. Its gap is bounded inside by plate_a, outside by plate_b; the gap is as
/// wide as plate_b moved away from plate_a along the normal, less t. Positions in mm from the print's top
/// left corner, x to the right, y down.
struct EdgePair {
  float x_mm = 0, y_mm = 0;
  float nx = 0, ny = 0;  ///< outward normal of plate_a, length 1
  float bx = 0, by = 0;  ///< the same side's normal of plate_b's edge; both must have moved (corners)
  /// Corners: normals of plate_a's sides, a pixel and a half to either hand; equal to the normal where the
  /// contour is smooth. Across a corner a gap counts as no wider than along the better of its sides.
  float s1x = 0, s1y = 0, s2x = 0, s2y = 0;
  float length_mm = 0;  ///< of contour that it stands for
  float t_mm = 0;       ///< overlap along (nx, ny), 0..reach_mm
  float widest_mm = 0;  ///< no gap here gets wider: plate_b comes again, or is no wider itself
  std::int8_t plate_a = 0, plate_b = 0;
  std::int8_t shows = kShirtShows;  ///< what a gap shows: the shirt, or the number of a base plate
  std::array<EdgeBound, 2> also;    ///< the nearest two of further plates that bound the gap
};

struct EdgeSearch {
  double ppi = 0;              ///< of the plates, > 0
  double reach_mm = 1.5;       ///< overlaps beyond this never open
  double spacing_mm = 0.15;    ///< about one pair for so much contour, > 0
  double covering_tone = 0.5;  ///< a tint covers where it prints more than this, 0..1
  unsigned threads = 0;        ///< 0 = default_threads(); the result does not depend on it
  Progress progress;
};

/// plates in print order, up to 12, all of one size. Pairs come in the order of rows of 256 pixels, plate_a,
/// then position.
/// Limits: contours are those of solids. A tint's own end opens nothing, but a tint can lie beside or under a
/// solid. Where plates leave a hairline of up to 0.05 mm between them they count as touching. Wicking is not
/// in it: a soaked field ends at its film contour.
/// Throws Cancelled; InternalError if sizes differ or a figure is out of range.
std::vector<EdgePair> find_edge_pairs(std::span<const EdgePlate> plates, const EdgeSearch& search);

/// How far a register offset moves the point (x_mm, y_mm) of a print of width_mm x height_mm: shift, and turn
/// and stretch about the centre.
struct Moved {
  double dx_mm = 0, dy_mm = 0;
};
Moved moved_by(const RegisterOffset& offset, double x_mm, double y_mm, double width_mm, double height_mm);

}  // namespace kirtle
