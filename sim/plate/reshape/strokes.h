#pragma once
// The thin lines and gaps of a plate, and the pixels round their middles. Internal.
#include "plate/line_widths.h"
#include "plate/plate_image.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace kirtle::detail {

/// Lines and gaps of a plate's contours no wider than `widest` pixels, from the top.
std::vector<ThinPiece> strokes_of(const PlateImage& plate, double widest, unsigned threads);

/// work(piece) for those that come nearer than `margin` pixels to a band of rows.
template <class Work>
void for_strokes_near(const std::vector<ThinPiece>& pieces, int y0, int rows, double margin,
                      const Work& work) {
  // A piece is about a pixel long (two where it slants), so its top says where it ends.
  const auto first = std::lower_bound(pieces.begin(), pieces.end(), y0 - margin - 2,
                                      [](const ThinPiece& p, double y) { return std::min(p.y0, p.y1) < y; });
  for (auto p = first; p != pieces.end() && std::min(p->y0, p->y1) <= y0 + rows + margin; ++p) work(*p);
}

/// work(x, y, distance) for each pixel of rows y0 .. y0 + rows - 1 whose centre is at most `reach` pixels
/// from the piece, made longer by `longer` at both ends.
template <class Work>
void for_pixels_round(const ThinPiece& p, double longer, double reach, int width, int y0, int rows,
                      const Work& work) {
  const double length = std::hypot(p.x1 - p.x0, p.y1 - p.y0);
  const double tx = length > 0 ? (p.x1 - p.x0) / length : 0, ty = length > 0 ? (p.y1 - p.y0) / length : 0;
  const double ax = p.x0 - longer * tx, ay = p.y0 - longer * ty;
  const double whole = length > 0 ? length + 2 * longer : 0;
  const double bx = ax + whole * tx, by = ay + whole * ty;
  const int x_from = std::max(0, static_cast<int>(std::floor(std::min(ax, bx) - reach - 0.5)));
  const int x_to = std::min(width - 1, static_cast<int>(std::ceil(std::max(ax, bx) + reach - 0.5)));
  const int y_from = std::max(y0, static_cast<int>(std::floor(std::min(ay, by) - reach - 0.5)));
  const int y_to = std::min(y0 + rows - 1, static_cast<int>(std::ceil(std::max(ay, by) + reach - 0.5)));
  for (int y = y_from; y <= y_to; ++y) {
    for (int x = x_from; x <= x_to; ++x) {
      const double dx = x + 0.5 - ax, dy = y + 0.5 - ay;
      const double along = std::clamp(dx * tx + dy * ty, 0.0, whole);
      const double distance = std::hypot(dx - along * tx, dy - along * ty);
      if (distance <= reach) work(x, y, distance);
    }
  }
}

}  // namespace kirtle::detail
