#pragma once
// Plates of plain shapes, anti-aliased by area, and runs of normal offsets, for the tests of register.
#include "plate/plate_image.h"
#include "press/random.h"
#include "verdict/showing.h"

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

namespace kirtle::test {

/// Signed distance to a shape's outline in mm, negative inside. Shapes are far larger than a pixel.
using Shape = std::function<double(double x_mm, double y_mm)>;

/// 8 or 16 bit; each pixel the area share inside, from 40 x 40 points where the outline can cut it.
inline PlateImage draw(double width_mm, double height_mm, double ppi, const Shape& shape, int bits = 8) {
  PlateImage plate;
  plate.ppi = ppi;
  plate.bits = bits;
  plate.width = static_cast<int>(std::lround(width_mm / kMmPerInch * ppi));
  plate.height = static_cast<int>(std::lround(height_mm / kMmPerInch * ppi));
  const double px = kMmPerInch / ppi;
  constexpr int kPoints = 40;
  for (int y = 0; y < plate.height; ++y) {
    for (int x = 0; x < plate.width; ++x) {
      const double centre = shape((x + 0.5) * px, (y + 0.5) * px);
      double share = centre < 0 ? 1 : 0;
      if (std::abs(centre) < 0.75 * px) {
        int hits = 0;
        for (int j = 0; j < kPoints; ++j) {
          for (int i = 0; i < kPoints; ++i) {
            hits += shape((x + (i + 0.5) / kPoints) * px, (y + (j + 0.5) / kPoints) * px) < 0;
          }
        }
        share = hits / static_cast<double>(kPoints * kPoints);
      }
      if (bits == 8) {
        plate.ink8.push_back(static_cast<std::uint8_t>(std::lround(share * 255)));
      } else {
        plate.ink16.push_back(static_cast<std::uint16_t>(std::lround(share * 65535)));
      }
    }
  }
  return plate;
}

inline Shape disc(double x, double y, double radius) {
  return [=](double px, double py) { return std::hypot(px - x, py - y) - radius; };
}
inline Shape rectangle(double x0, double y0, double x1, double y1) {
  return [=](double px, double py) {
    const double dx = std::max(x0 - px, px - x1), dy = std::max(y0 - py, py - y1);
    return dx > 0 && dy > 0 ? std::hypot(dx, dy) : std::max(dx, dy);
  };
}
/// All to the side of the line through (x, y) that (nx, ny) points away from.
inline Shape half_plane(double x, double y, double angle_deg) {
  const double nx = std::cos(angle_deg * std::numbers::pi / 180),
               ny = std::sin(angle_deg * std::numbers::pi / 180);
  return [=](double px, double py) { return (px - x) * nx + (py - y) * ny; };
}
inline Shape outside(const Shape& shape) {
  return [=](double x, double y) { return -shape(x, y); };
}
inline Shape both(const Shape& a, const Shape& b) {
  return [=](double x, double y) { return std::max(a(x, y), b(x, y)); };
}

/// Normal shifts of two plates so that between them they have `sigma_mm` per axis.
inline std::vector<RegisterOffset> pair_offsets(std::uint64_t seed, int shirt, double sigma_mm,
                                                int plates = 2) {
  std::vector<RegisterOffset> out(static_cast<std::size_t>(plates));
  for (std::size_t p = 0; p < out.size(); ++p) {
    const auto number = static_cast<std::uint32_t>(shirt), head = static_cast<std::uint32_t>(p);
    const double s = sigma_mm / std::numbers::sqrt2;
    out[p].dx = {s * normal_number({seed, number, head, DrawnFor::shift_across})};
    out[p].dy = {s * normal_number({seed, number, head, DrawnFor::shift_down})};
  }
  return out;
}

}  // namespace kirtle::test
