#pragma once
// Inside LoupePlate: where device pixels lie on the plate, and what it has there.
#include "base/check.h"
#include "print/loupe_plate.h"
#include "screen/dot_cells.h"

#include <algorithm>

namespace kirtle {

/// Device pixels of a rectangle on the plate and on its screen.
struct LoupePlate::Places {
  struct Place {
    double sx, sy;      ///< plate pixels, whole numbers at their centres
    double x_mm, y_mm;  ///< on the plate
  };
  Place operator()(int x, int y) const {
    Place p{};
    cover.source_of((raster.x_mm + (rect.x + x) * raster.pitch_mm) * px_per_mm - 0.5,
                    (raster.y_mm + (rect.y + y) * raster.pitch_mm) * px_per_mm - 0.5, p.sx, p.sy);
    p.x_mm = (p.sx + 0.5) * mm_per_px;
    p.y_mm = (p.sy + 0.5) * mm_per_px;
    return p;
  }

  const PlateCover& cover;
  const DeviceRaster& raster;
  const DeviceRect& rect;
  double px_per_mm = cover.ppi() / kMmPerInch, mm_per_px = kMmPerInch / cover.ppi();
};

/// What the plate has at its own places, asked row by row: the four pixels about a place are read once for
/// all device pixels between them.
class LoupePlate::Points {
 public:
  static constexpr double kPaper = DotCells::kNoTint, kInk = DotCells::kNoTint - 1;

  Points(const PlateCover& cover, const PlateBand& band) : cover_(cover), band_(band), rows_(band.rows) {}

  /// The film's tone within a tint, else kPaper or kInk by the contour: of pixels from .. to - 1 of a row.
  void row(const Places& places, int y, int from, int to, double* out) {
    double step = 0;  // plate pixels a device pixel
    {
      const Places::Place a = places(0, y), b = places(1, y);
      step = b.sx - a.sx;
    }
    for (const int end : {from, to - 1}) check_rows(floor_of(places(end, y).sy));
    for (int x = from; x < to;) {
      const Places::Place first = places(x, y);
      const int ix = floor_of(first.sx), iy = floor_of(first.sy);
      const std::int32_t square = band_.square(ix, iy);
      if (square == PlateBand::kBandMixed) {
        *out++ = at(first.sx, first.sy);
        ++x;
        continue;
      }
      int last = ix;  // of the squares alike
      const int most = ix + static_cast<int>((to - x) * step) + 1;
      while (last < most && band_.square(last + 1, iy) == square) ++last;
      int n = std::clamp(static_cast<int>((last + 1 - first.sx) / step), 1, to - x);
      for (; n > 1; n = (n + 1) / 2) {
        const Places::Place end = places(x + n - 1, y);
        if (floor_of(end.sx) <= last && floor_of(end.sy) == iy) break;
        if (n == 2) {
          n = 1;
          break;
        }
      }
      const double film = square == PlateBand::kBandPaper ? kPaper
                          : square == PlateBand::kBandInk ? kInk
                                                          : cover_.image().film(ix, iy);
      std::fill_n(out, n, film);
      out += n;
      x += n;
    }
  }

 private:
  static int floor_of(double x) {
    const int whole = static_cast<int>(x);
    return static_cast<double>(whole) > x ? whole - 1 : whole;
  }

  /// What of plate rows iy and iy + 1 lies on the plate must be in the band.
  void check_rows(int iy) const {
    const int first = std::max(iy, 0), last = std::min(iy + 1, cover_.image().height - 1);
    if (first > last) return;
    KIRTLE_CHECK(first, >=, rows_.y0);
    KIRTLE_CHECK(last, <, rows_.y0 + rows_.rows);
  }

  double at(double sx, double sy) {
    const int ix = floor_of(sx), iy = floor_of(sy);
    if (ix != ix_ || iy != iy_) read(ix, iy);
    if (same_) return tint_[0] ? film_[0] : distance_[0] < 0 ? kInk : kPaper;
    const double fx = sx - ix, fy = sy - iy;
    const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
    const int nearest = (fx >= 0.5 ? 1 : 0) + (fy >= 0.5 ? 2 : 0);
    double film = 0, weight = 0, distance = 0;
    for (int k = 0; k < 4; ++k) {
      film += w[k] * film_[k];
      if (counts_[k]) weight += w[k];
      distance += w[k] * distance_[k];
    }
    if (!tint_[nearest]) return distance < 0 ? kInk : kPaper;
    return film / weight;
  }

  void read(int ix, int iy) {
    const PlateImage& image = cover_.image();
    ix_ = ix;
    iy_ = iy;
    for (int k = 0; k < 4; ++k) {
      const int px = ix + k % 2, py = iy + k / 2;
      film_[k] = 0;
      distance_[k] = cover_.reach_px();
      tint_[k] = false;
      counts_[k] = true;
      if (px < 0 || px >= image.width || py < 0 || py >= image.height) continue;
      const std::size_t i = static_cast<std::size_t>(py - rows_.y0) * static_cast<std::size_t>(rows_.width) +
                            static_cast<std::size_t>(px);
      const double value = image.film(px, py);
      tint_[k] = rows_.tint[i] != 0;
      counts_[k] = tint_[k] || value == 0 || value == 1;  // not the fraction of an edge
      if (counts_[k]) film_[k] = value;
      distance_[k] = tint_[k] ? 0 : static_cast<double>(rows_.distance[i]);
    }
    same_ = true;
    for (int k = 1; k < 4; ++k)
      same_ =
          same_ && tint_[k] == tint_[0] && (tint_[0] ? film_[k] == film_[0] : distance_[k] == distance_[0]);
  }

  const PlateCover& cover_;
  const PlateBand& band_;
  const DistanceRows& rows_;
  int ix_ = -2000000000, iy_ = 0;  // none yet
  double film_[4] = {}, distance_[4] = {};
  bool tint_[4] = {}, counts_[4] = {};
  bool same_ = false;
};

}  // namespace kirtle
