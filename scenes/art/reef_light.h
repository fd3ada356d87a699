#pragma once
// Colour, direction, scattered cells and the night's light on a surface.
#include "art/geometry.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace kirtle::art::reef {

using art::dot;
using art::mix;
using art::unit;

inline Vec heading(double degrees) { return polar(1, -rad(degrees)); }  ///< 0 = right, 90 = up the film

struct Vec3 {
  double x = 0, y = 0, z = 0;  ///< right, down the film, towards the viewer
};
inline double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 unit(Vec3 a) {
  const double k = 1 / std::sqrt(std::max(1e-12, dot(a, a)));
  return {a.x * k, a.y * k, a.z * k};
}

struct Rgb {
  double r = 0, g = 0, b = 0;  ///< linear light, 1 = the white of the base
};
inline Rgb operator+(Rgb a, Rgb b) { return {a.r + b.r, a.g + b.g, a.b + b.b}; }
inline Rgb operator*(Rgb a, double k) { return {a.r * k, a.g * k, a.b * k}; }
inline Rgb operator*(Rgb a, Rgb b) { return {a.r * b.r, a.g * b.g, a.b * b.b}; }
inline Rgb mix(Rgb a, Rgb b, double t) { return a * (1 - t) + b * t; }

struct Cells {
  double nearest, second;  ///< distances to the two nearest scattered seeds, seeds about 1 apart
  std::uint32_t id;        ///< of the nearest
  Vec to;                  ///< from its seed to the place
};
Cells cells(double x, double y, std::uint32_t seed, double jitter = 0.9);

struct Skin {
  double gloss = 0.3;  ///< strength of the moon's glint
  double rim = 0.5;    ///< cold light along the upper edge
  double soft = 0.35;  ///< how far light creeps round into the shade
  double own = 0.04;   ///< light of its own
};
/// What the night shows of a surface: moon from above, blue water all round, the jellyfish's warm lamp.
Rgb lit(Vec at, Vec3 normal, Rgb colour, const Skin& skin);

}  // namespace kirtle::art::reef
