#pragma once
// The samples of a plate as contours look at them. Internal to contour.cpp.
#include "plate/plate_image.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace kirtle::detail {

/// One plate's samples with the thresholds of none and solid.
template <class Sample>
class PlateSamples {
 public:
  PlateSamples(const PlateImage& plate, const Sample* samples)
      : width_(plate.width),
        height_(plate.height),
        max_(plate.max()),
        lo_(max_ / 255),
        hi_(max_ - lo_),
        samples_(samples) {}

  int width() const { return width_; }
  int height() const { return height_; }
  int max() const { return max_; }
  int highest_none() const { return lo_; }
  int least_solid() const { return hi_; }
  bool none(int v) const { return v <= lo_; }
  bool solid(int v) const { return v >= hi_; }

  /// Beyond the plate: what its border has.
  int at(int x, int y) const {
    return *pointer_to(std::clamp(x, 0, width_ - 1), std::clamp(y, 0, height_ - 1));
  }
  const Sample* pointer_to(int x, int y) const {
    return samples_ + static_cast<std::ptrdiff_t>(y) * width_ + x;
  }
  /// True if at least `border` pixels lie between (x, y) and the plate's border.
  bool well_inside(int x, int y, int border) const {
    return x >= border && y >= border && x + border < width_ && y + border < height_;
  }
  /// work(value(i, j)), value giving the sample i to the right of and j below (x, y); border: the furthest
  /// asked for.
  template <class Work>
  auto around(int x, int y, int border, const Work& work) const {
    if (well_inside(x, y, border)) {
      const Sample* here = pointer_to(x, y);
      return work([&](int i, int j) -> int { return here[static_cast<std::ptrdiff_t>(j) * width_ + i]; });
    }
    return work([&](int i, int j) -> int { return at(x + i, y + j); });
  }

  /// Slope of the ink at a pixel (Sobel), in code values.
  void slope(int x, int y, int& gx, int& gy) const {
    around(x, y, 1, [&](const auto& value) {
      const int a = value(-1, -1), b = value(0, -1), c = value(1, -1);
      const int d = value(-1, 0), f = value(1, 0);
      const int g = value(-1, 1), h = value(0, 1), i = value(1, 1);
      gx = (c + 2 * f + i) - (a + 2 * d + g);
      gy = (g + 2 * h + i) - (a + 2 * b + c);
    });
  }
  /// Outward unit normal of the ink at a pixel. False where there is no slope.
  bool normal(int x, int y, double& nx, double& ny) const {
    int gx = 0, gy = 0;
    slope(x, y, gx, gy);
    if (gx == 0 && gy == 0) return false;
    unit_normal(gx, gy, nx, ny);
    return true;
  }
  static void unit_normal(int gx, int gy, double& nx, double& ny) {
    const double sx = gx, sy = gy, length = std::sqrt(sx * sx + sy * sy);
    nx = -sx / length;
    ny = -sy / length;
  }

 private:
  int width_, height_, max_, lo_, hi_;
  const Sample* samples_;
};

}  // namespace kirtle::detail
