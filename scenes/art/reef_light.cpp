#include "art/reef_light.h"

namespace kirtle::art::reef {

Cells cells(double x, double y, std::uint32_t seed, double jitter) {
  const int ix = static_cast<int>(std::floor(x)), iy = static_cast<int>(std::floor(y));
  Cells best{9, 9, 0, {}};
  for (int j = iy - 1; j <= iy + 1; ++j)
    for (int i = ix - 1; i <= ix + 1; ++i) {
      const std::uint32_t h = hash(static_cast<std::uint32_t>(i), static_cast<std::uint32_t>(j), seed);
      const Vec to{x - (i + 0.5 + jitter * ((h & 0xFFFFU) / 65536.0 - 0.5)),
                   y - (j + 0.5 + jitter * ((h >> 16) / 65536.0 - 0.5))};
      const double d2 = dot(to, to);
      if (d2 < best.nearest) {
        best.second = best.nearest;
        best.nearest = d2;
        best.id = h;
        best.to = to;
      } else if (d2 < best.second) {
        best.second = d2;
      }
    }
  best.nearest = std::sqrt(best.nearest);
  best.second = std::sqrt(best.second);
  return best;
}

Rgb lit(Vec at, Vec3 n, Rgb colour, const Skin& skin) {
  static const Vec3 to_moon = unit({0.34, -0.80, 0.50});
  static const Vec3 half_way = unit({0.34, -0.80, 1.50});
  const double depth = 1 - 0.62 * smooth(215, 372, at.y);  // the foot of the reef sinks into the shirt
  const double facing = dot(n, to_moon);
  const double key = std::max(0.0, (facing + skin.soft) / (1 + skin.soft));
  const double edge_on = 1 - std::max(0.0, n.z);
  // The jellyfish hangs in front of the reef's middle and above it.
  const Vec to_jelly = Vec{128, 128} - at;
  const double far = length(to_jelly);
  const Vec3 lamp = unit({to_jelly.x, to_jelly.y, 45});
  const double warm = std::max(0.0, dot(n, lamp)) / (1 + far * far / (95.0 * 95.0));
  const double shine = std::pow(std::max(0.0, dot(n, half_way)), 40.0) * skin.gloss;
  const double rim = edge_on * edge_on * edge_on * clamp01(0.15 - 0.9 * n.y + 0.45 * n.x) * skin.rim;
  const Rgb light = Rgb{0.86, 0.95, 1.0} * (1.15 * key * key + 0.12 * key) +
                    Rgb{0.06, 0.09, 0.20} * (0.6 - 0.4 * n.y) + Rgb{1.0, 0.62, 0.36} * (0.75 * warm);
  return (colour * light + colour * skin.own + (colour * 0.5 + Rgb{0.25, 0.80, 0.85}) * (1.25 * rim) +
          Rgb{0.9, 1.0, 1.0} * shine) *
         depth;
}

}  // namespace kirtle::art::reef
