// Light that fades out as the dark comes in.
#include "plate/reshape/builds.h"
#include "plate/reshape/rows.h"

#include <numbers>

namespace kirtle {

namespace {

using detail::index_of;

/// The least film within a radius: downhill where the film is a plane, else on circles of that radius and
/// half.
double least_round(const PlateImage& p, int x, int y, double radius) {
  const double here = detail::film_of(p, index_of(p, x, y));
  const detail::Slope s = detail::slope_at(p, x, y);
  const double length = std::hypot(s.x, s.y);
  const auto at = [&](double dx, double dy) {
    return detail::film_between(p, x + radius * dx, y + radius * dy);
  };
  if (length > 0) {
    constexpr double kPlane = 0.004;  // film, one code of 8 bits
    const double dx = s.x / length, dy = s.y / length;
    const double down = at(dx, dy), up = at(-dx, -dy);
    if (std::abs(down + up - 2 * here) <= kPlane && std::abs(at(-dy, dx) - here) <= kPlane &&
        std::abs(at(dy, -dx) - here) <= kPlane) {
      return std::min(down, here);
    }
  }
  double least = here;
  constexpr int kWays = 32;
  for (int k = 0; k < kWays; ++k) {
    const double angle = 2 * std::numbers::pi * k / kWays, dx = std::cos(angle), dy = std::sin(angle);
    least = std::min({least, at(dx, dy), at(0.5 * dx, 0.5 * dy)});
  }
  return length > 0 ? std::min(least, at(s.x / length, s.y / length)) : least;
}

/// 1 where one of the pixels within `half` of it, in a square, is a tint.
std::vector<std::uint8_t> near_tints(const PlateImage& p, int y0, int rows, int half) {
  const DistanceRows d = detail::contours_of(p, y0 - half, rows + 2 * half, 0, detail::kEdgeReach);
  const int width = p.width;
  std::vector<std::uint8_t> out(static_cast<std::size_t>(rows) * static_cast<std::size_t>(width), 0);
  std::vector<int> last(static_cast<std::size_t>(width), -1);  // row of the last tint near, by column
  for (int j = 0; j < rows + 2 * half; ++j) {
    const std::uint8_t* tint = d.tint.data() + static_cast<std::size_t>(j) * static_cast<std::size_t>(width);
    for (int x = 0, until = -1; x < width + half; ++x) {
      if (x < width && tint[x] != 0) until = x + 2 * half;
      if (x >= half && x <= until) last[static_cast<std::size_t>(x - half)] = j;
    }
    const int y = j - 2 * half;  // its window ends here
    if (y < 0) continue;
    for (int x = 0; x < width; ++x) {
      out[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)] =
          last[static_cast<std::size_t>(x)] >= y;
    }
  }
  return out;
}

/// The least film within a distance: contours move inward, tints fall to their least.
PlateImage least_within(const PlateImage& dark, double px, unsigned threads) {
  PlateImage out = detail::moved(dark, -px, threads);
  if (dark.dots) return out;
  const int half = static_cast<int>(std::ceil(px)) + 1;
  detail::for_bands(dark.height, threads, [&](int y0, int rows) {
    const std::vector<std::uint8_t> near = near_tints(dark, y0, rows, half);
    const std::size_t from = index_of(dark, 0, y0);
    for (std::size_t k = 0; k < near.size(); ++k) {
      if (near[k] == 0 || detail::code_at(dark, from + k) == 0) continue;
      const int x = static_cast<int>(k % static_cast<std::size_t>(dark.width));
      const int y = y0 + static_cast<int>(k / static_cast<std::size_t>(dark.width));
      detail::put_film(out, from + k, least_round(dark, x, y, px));
    }
  });
  return out;
}

}  // namespace

Reshaped fade_out(const PlateImage& light, const PlateImage& dark, Mm trap, double ppi, unsigned threads) {
  detail::check_same_size(light, dark);
  const double px = detail::length_px("trap", trap, ppi, 0);
  PlateImage out = px > 0 ? detail::less(light, least_within(dark, px, threads), threads)
                          : detail::less(light, dark, threads);
  return detail::with_change(&light, std::move(out), ppi, threads);
}

}  // namespace kirtle
