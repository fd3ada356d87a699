#pragma once
// Shapes of halftone dots: one period of the pattern, and how much of it is ink.
#include "screen/threshold.h"

#include <vector>

namespace kirtle {

/// A raster of one period in which exactly the asked share is ink. For spectra and for resolved dots.
class DotCell {
 public:
  /// shape: not noise, which has no period. side: samples per period, 16..1024.
  DotCell(DotShape shape, int side);
  int side() const { return side_; }
  /// 1 where ink, row by row; round(coverage * side^2) samples are ink.
  std::vector<unsigned char> pattern(double coverage) const;

 private:
  int side_;
  std::vector<int> order_;  ///< sample indices from first inked to last
};

/// Share of the unit cell covered by a disc of radius u periods, overlaps of neighbours counted once: 0..1.
/// Source: closed form; pi u^2 up to u = 0.5, then less four circle segments, 1 beyond sqrt(1/2).
double round_dot_area(double u);
/// Inverse of round_dot_area, by bisection to 1e-12. area in 0..1.
double round_dot_radius(double area);

}  // namespace kirtle
