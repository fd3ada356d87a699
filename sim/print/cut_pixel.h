#pragma once
// A pixel that contours cut, as the renderer sees it: which plates cut it, and which of its 8 x 8 points lie
// inside each. Internal to those who go over pixels.
#include "print/cover.h"

#include <cmath>
#include <cstdint>

namespace kirtle::detail {

constexpr int kCutGrid = 8;  ///< points a pixel side where several contours cut it

inline bool is_edge(const CoverRows& rows, std::size_t i) {
  return !rows.distance.empty() && std::abs(rows.distance[i]) < kEdgeHalfWidth;
}

/// Which of the 8 x 8 points of a pixel lie inside a plate's contour. d: distance at the centre, (gx, gy) its
/// slope.
std::uint64_t points_inside(float d, float gx, float gy);

/// Slope of the distance within the print, kept to a length of 1 at the most (beyond the band it jumps).
/// height: of the print; row: among the rows given, which hold its neighbours, too.
void slope(const CoverRows& rows, int height, int x, int row, float& gx, float& gy);

}  // namespace kirtle::detail
