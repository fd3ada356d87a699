#pragma once
// What the reshaping functions share: bands of rows, pixels by film value, two edges in one pixel. Internal.
#include "base/check.h"
#include "base/parallel.h"
#include "base/units.h"
#include "plate/contour.h"
#include "plate/reshape/change.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace kirtle::detail {

constexpr int kBandRows = 128;
constexpr double kEdgeReach = 2.25;  // pixels round a contour in which a pixel can be cut by it

/// work(y0, rows) for each band of a plate's rows.
template <class Work>
void for_bands(int height, unsigned threads, const Work& work) {
  const std::size_t bands = static_cast<std::size_t>((height + kBandRows - 1) / kBandRows);
  parallel_for(bands, threads, [&](std::size_t band, unsigned) {
    const int y0 = static_cast<int>(band) * kBandRows;
    work(y0, std::min(kBandRows, height - y0));
  });
}

inline std::size_t index_of(const PlateImage& p, int x, int y) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(p.width) + static_cast<std::size_t>(x);
}

inline int code_at(const PlateImage& p, std::size_t i) { return p.bits == 8 ? p.ink8[i] : p.ink16[i]; }
inline double film_of(const PlateImage& p, std::size_t i) {
  return code_at(p, i) / static_cast<double>(p.max());
}

/// film 0..1 to the nearest code; of a plate of dots none or solid.
inline void put_film(PlateImage& p, std::size_t i, double film) {
  if (p.dots) film = film < 0.5 ? 0 : 1;
  const long code = std::lround(std::clamp(film, 0.0, 1.0) * p.max());
  if (p.bits == 8) {
    p.ink8[i] = static_cast<std::uint8_t>(code);
  } else {
    p.ink16[i] = static_cast<std::uint16_t>(code);
  }
}

/// The same pixels without ink.
PlateImage blank_like(const PlateImage& plate, int bits);

/// The same film in 8 or 16 bits.
PlateImage with_bits(PlateImage plate, int bits);

/// The plate with its change from `before` (nullptr: from no ink).
Reshaped with_change(const PlateImage* before, PlateImage after, double ppi, unsigned threads);

/// Pixels for a length. Throws std::domain_error if it is not within lowest..kMostMovePx (pixels).
double length_px(const char* what, Mm length, double ppi, double lowest_px);

/// Throws std::domain_error unless lowest <= value <= highest (lowest < value if `above`).
void check_range(const char* what, double value, double lowest, double highest, bool above = false);

void check_same_size(const PlateImage& a, const PlateImage& b);

/// contour_distance() whose tints are tints: a pixel with fewer than three of them around is the corner of a
/// shape, which no run of pixels shows as an edge.
DistanceRows contours_of(const PlateImage& plate, int y0, int rows, double spread, double reach);

/// Outward normal of the ink at a pixel, not scaled; zero where it is flat.
struct Slope {
  double x = 0, y = 0;
};
Slope slope_at(const PlateImage& plate, int x, int y);

/// Film between pixel centres (whole numbers), linear; beyond the plate that of its border.
double film_between(const PlateImage& p, double x, double y);

/// The cosine between two slopes; 0 if one is flat.
double cosine(Slope a, Slope b);

/// Share of a pixel that two half planes share: a, b their shares, cosine that between their outward normals.
/// Exact for edges that are parallel; for edges at a right angle what independence gives.
inline double both(double a, double b, double cos) {
  constexpr double kParallel = 0.95;  // slopes are known no better, and a seam's two sides must make a whole
  cos = std::clamp(cos / kParallel, -1.0, 1.0);
  const double apart = a * b;
  return cos >= 0 ? apart + cos * (std::min(a, b) - apart) : apart - cos * (std::max(0.0, a + b - 1) - apart);
}

inline bool fractional(double share) { return share > 0 && share < 1; }

/// `from` less what `by` covers: contours by how they lie in the pixel, tints by share.
PlateImage less(const PlateImage& from, const PlateImage& by, unsigned threads);
/// Two plates of contours together.
PlateImage together(const PlateImage& a, const PlateImage& b, unsigned threads);
/// Contours moved outward by `px`.
PlateImage moved(const PlateImage& plate, double px, unsigned threads);

/// A run of pixels of an island of ink (or of a hole in solid) smaller than was asked. An island's area is
/// the sum of its ink (of a hole: of what lacks) over its strongest pixel, so that a tint counts whole and an
/// edge by its coverage. Corners touch.
struct IslandRun {
  int y, from, to;  ///< pixels from <= x < to
  double area_px;   ///< of the island
};
std::vector<IslandRun> island_runs(const PlateImage& plate, double area_px, bool holes);

/// Removes the islands (fills the holes) smaller than `area_px`.
void drop_islands(PlateImage& plate, double area_px, bool holes);
/// Pixels in a disc of that diameter.
double disc_px(Mm diameter, double ppi);

}  // namespace kirtle::detail
