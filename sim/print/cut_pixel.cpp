#include "print/cut_pixel.h"

#include <algorithm>

namespace kirtle::detail {

std::uint64_t points_inside(float d, float gx, float gy) {
  std::uint64_t mask = 0;
  for (int j = 0; j < kCutGrid; ++j) {
    for (int i = 0; i < kCutGrid; ++i) {
      const float ox = (static_cast<float>(i) + 0.5F) / kCutGrid - 0.5F,
                  oy = (static_cast<float>(j) + 0.5F) / kCutGrid - 0.5F;
      if (d + gx * ox + gy * oy < 0) mask |= std::uint64_t{1} << (j * kCutGrid + i);
    }
  }
  return mask;
}

void slope(const CoverRows& rows, int height, int x, int row, float& gx, float& gy) {
  const std::size_t width = static_cast<std::size_t>(rows.width),
                    at = static_cast<std::size_t>(row) * width + x;
  const float* d = rows.distance.data();
  const int left = std::max(x - 1, 0), right = std::min(x + 1, rows.width - 1);
  gx = (d[at + (right - x)] - d[at - (x - left)]) / static_cast<float>(std::max(right - left, 1));
  const int up = rows.y0 + row > 0 ? row - 1 : row, down = rows.y0 + row < height - 1 ? row + 1 : row;
  gy = (d[at + (down - row) * width] - d[at - (row - up) * width]) /
       static_cast<float>(std::max(down - up, 1));
  const float length = std::hypot(gx, gy);
  if (length > 1) {
    gx /= length;
    gy /= length;
  }
}

}  // namespace kirtle::detail
