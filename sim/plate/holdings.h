#pragma once
// What a plate holds: how much ink, which tones, the smallest dot, the thinnest line and gap.
//
// Edges are contours (contour.h): an anti-aliased value at an edge is no tint. A 1-bit plate has no tints;
// its dots are measured as shapes.
#include "base/units.h"
#include "plate/plate_image.h"

#include <optional>

namespace kirtle {

/// A measured place on the plate, mm from its top left corner.
struct PlateSpot {
  Mm x{0}, y{0};
};

/// All of one plate. Tones are film per cent of tints (not of edges).
struct PlateHoldings {
  double coverage = 0;  ///< mean film coverage, 0..1
  double solid_share = 0, tint_share = 0,
         none_share = 0;                            ///< of the area, 0..1; edges count to solid by coverage
  std::optional<double> lowest_tint, highest_tint;  ///< 0..1; the 0.1 and 99.9 percentile of tint area
  /// Of solids, up to 2 mm, else empty: the mean width of the thinnest stretch of 0.5 mm. Within half a
  /// pixel.
  std::optional<Mm> thinnest_line, thinnest_gap;
  PlateSpot thinnest_line_at, thinnest_gap_at;
  std::optional<Mm> smallest_dot;  ///< diameter of the disc of equal area of the smallest island without tint
  PlateSpot smallest_dot_at;
  bool border_inked = false;   ///< ink on the outermost pixels
  PlateSpot ink_from, ink_to;  ///< box of all ink; zero if there is none
  bool empty = false;          ///< no ink at all
};

/// `threads`: 0 = default_threads(); the figures do not depend on it. Throws InternalError if ppi is not > 0.
PlateHoldings measure_plate(const PlateImage& plate, double ppi, unsigned threads = 0);

}  // namespace kirtle
