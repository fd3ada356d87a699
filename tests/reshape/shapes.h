#pragma once
// Plates of shapes that are known in closed form, drawn by area at any resolution.
#include "base/units.h"
#include "plate/plate_image.h"

#include <algorithm>
#include <cmath>
#include <functional>

namespace kirtle::test {

constexpr double kSide = 8;        // mm, of every plate
constexpr double kWithin = 0.010;  // mm

/// Signed distance in mm, negative inside.
using Shape = std::function<double(double x_mm, double y_mm)>;

inline Shape disc(double cx, double cy, double r) {
  return [=](double x, double y) { return std::hypot(x - cx, y - cy) - r; };
}

/// A rectangle of half sides hx, hy, turned by `angle` (radians), its corners rounded outward by `round`.
inline Shape box(double cx, double cy, double hx, double hy, double angle, double round = 0) {
  return [=](double x, double y) {
    const double c = std::cos(angle), s = std::sin(angle);
    const double u = std::abs(c * (x - cx) + s * (y - cy)) - hx,
                 v = std::abs(c * (y - cy) - s * (x - cx)) - hy;
    return std::hypot(std::max(u, 0.0), std::max(v, 0.0)) + std::min(std::max(u, v), 0.0) - round;
  };
}

inline Shape outside(const Shape& shape) {
  return [=](double x, double y) { return -shape(x, y); };
}
inline Shape either(const Shape& a, const Shape& b) {
  return [=](double x, double y) { return std::min(a(x, y), b(x, y)); };
}
inline Shape common(const Shape& a, const Shape& b) {
  return [=](double x, double y) { return std::max(a(x, y), b(x, y)); };
}

inline PlateImage empty_plate(double side_mm, double ppi, int bits) {
  PlateImage p;
  p.width = p.height = static_cast<int>(std::lround(side_mm / kMmPerInch * ppi));
  p.ppi = ppi;
  p.bits = bits;
  if (bits == 8) {
    p.ink8.resize(p.pixels());
  } else {
    p.ink16.resize(p.pixels());
  }
  return p;
}

inline void put(PlateImage& p, int x, int y, double film) {
  const std::size_t i =
      static_cast<std::size_t>(y) * static_cast<std::size_t>(p.width) + static_cast<std::size_t>(x);
  const long v = std::lround(std::clamp(film, 0.0, 1.0) * p.max());
  if (p.bits == 8) {
    p.ink8[i] = static_cast<std::uint8_t>(v);
  } else {
    p.ink16[i] = static_cast<std::uint16_t>(v);
  }
}

/// Film as a function of the place in mm, at pixel centres.
inline PlateImage field(double side_mm, double ppi, int bits,
                        const std::function<double(double, double)>& film) {
  PlateImage p = empty_plate(side_mm, ppi, bits);
  const double mm = kMmPerInch / ppi;
  for (int y = 0; y < p.height; ++y) {
    for (int x = 0; x < p.width; ++x) put(p, x, y, film((x + 0.5) * mm, (y + 0.5) * mm));
  }
  return p;
}

/// Each pixel the area share of the shape, on 16 x 16 points where its outline may pass, times `film`.
inline PlateImage drawn(double side_mm, double ppi, int bits, const Shape& shape, double film = 1) {
  const double mm = kMmPerInch / ppi;
  return field(side_mm, ppi, bits, [&](double x, double y) {
    const double d = shape(x, y);
    if (std::abs(d) > mm) return d < 0 ? film : 0.0;
    int hits = 0;
    for (int j = 0; j < 16; ++j) {
      for (int i = 0; i < 16; ++i)
        hits += shape(x + mm * ((i + 0.5) / 16 - 0.5), y + mm * ((j + 0.5) / 16 - 0.5)) < 0;
    }
    return film * hits / 256.0;
  });
}

/// Ink on film, mm2, in part of the plate.
inline double area_mm2(const PlateImage& p, const std::function<bool(double, double)>& where = {}) {
  const double mm = kMmPerInch / p.ppi;
  double sum = 0;
  for (int y = 0; y < p.height; ++y) {
    for (int x = 0; x < p.width; ++x) {
      if (!where || where((x + 0.5) * mm, (y + 0.5) * mm)) sum += p.film(x, y);
    }
  }
  return sum * mm * mm;
}

inline double worst_difference(const PlateImage& a, const PlateImage& b) {
  double worst = 0;
  for (int y = 0; y < a.height; ++y) {
    for (int x = 0; x < a.width; ++x) worst = std::max(worst, std::abs(a.film(x, y) - b.film(x, y)));
  }
  return worst;
}

}  // namespace kirtle::test
