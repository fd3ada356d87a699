#include "print/loupe_plate.h"

#include "base/check.h"
#include "screen/dot_cells.h"

#include <algorithm>
#include <climits>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kLeastSigma = 0.05;  // device pixels: less blurs nothing
constexpr double kBlurReach = 3.5;    // standard deviations
// Device pixels a period: with fewer there is nothing to count, with more the beat is under .2 % uncounted.
constexpr double kCoarsePeriod = 3, kFinePeriod = 64;
constexpr double kMostStretch = 1.02;  // of a period by register, with room

ToneSettings dots_of(const CoverSettings& settings) {
  ToneSettings tone = settings.tone;
  if (settings.field) tone.spread = {0};  // what spreads is not more ink
  return tone;
}

/// Half of a Gaussian, centre first, area means over pixels, summing to 1 with its mirror.
std::vector<float> half_gaussian(double sigma, int half) {
  std::vector<double> w;
  double sum = 0;
  const double s = sigma * std::numbers::sqrt2;
  for (int i = 0; i <= half; ++i) {
    w.push_back(std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s));
    sum += i == 0 ? w.back() : 2 * w.back();
  }
  std::vector<float> out;
  for (const double v : w) out.push_back(static_cast<float>(v / sum));
  return out;
}

/// Blurs (width + 2 half) x (height + 2 half) samples down to width x height. Taps always in the same order.
void blur(std::vector<float>& in, int half, const std::vector<float>& kernel, const DeviceRect& rect,
          std::span<float> out) {
  const std::size_t width = static_cast<std::size_t>(rect.width),
                    wide = width + 2 * static_cast<std::size_t>(half);
  std::vector<float> column(wide);
  for (int y = 0; y < rect.height; ++y) {
    const float* centre = in.data() + static_cast<std::size_t>(y + half) * wide;
    for (std::size_t x = 0; x < wide; ++x) column[x] = kernel[0] * centre[x];
    for (int k = 1; k <= half; ++k) {
      const float w = kernel[static_cast<std::size_t>(k)];
      const float *above = centre - static_cast<std::size_t>(k) * wide,
                  *below = centre + static_cast<std::size_t>(k) * wide;
      for (std::size_t x = 0; x < wide; ++x) column[x] += w * (above[x] + below[x]);
    }
    float* to = out.data() + static_cast<std::size_t>(y) * width;
    const float* from = column.data() + half;
    for (std::size_t x = 0; x < width; ++x) to[x] = kernel[0] * from[x];
    for (int k = 1; k <= half; ++k) {
      const float w = kernel[static_cast<std::size_t>(k)];
      for (std::size_t x = 0; x < width; ++x) to[x] += w * (from[x - k] + from[x + k]);
    }
  }
}

}  // namespace

/// What the plate has at its own places, asked row by row: the four pixels about a place are read once for
/// all device pixels between them.
class LoupePlate::Points {
 public:
  Points(const PlateCover& cover, const PlateBand& band) : cover_(cover), rows_(band.rows) {}

  /// sx, sy: in plate pixels, whole numbers at their centres.
  Point at(double sx, double sy) {
    const int ix = floor_of(sx), iy = floor_of(sy);
    if (ix != ix_ || iy != iy_) read(ix, iy);
    if (same_) return {film_[0], tint_[0], distance_[0] < 0};
    const double fx = sx - ix, fy = sy - iy;
    const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
    const int nearest = (fx >= 0.5 ? 1 : 0) + (fy >= 0.5 ? 2 : 0);
    double film = 0, weight = 0, distance = 0;
    for (int k = 0; k < 4; ++k) {
      film += w[k] * film_[k];
      if (counts_[k]) weight += w[k];
      distance += w[k] * distance_[k];
    }
    if (!tint_[nearest]) return {0, false, distance < 0};
    return {film / weight, true, false};
  }

 private:
  static int floor_of(double x) {
    const int whole = static_cast<int>(x);
    return static_cast<double>(whole) > x ? whole - 1 : whole;
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
  const DistanceRows& rows_;
  int ix_ = -2000000000, iy_ = 0;  // none yet
  double film_[4] = {}, distance_[4] = {};
  bool tint_[4] = {}, counts_[4] = {};
  bool same_ = false;
};

LoupePlate::LoupePlate(const PlateCover& cover, std::uint32_t seed, DotRaster dots)
    : cover_(cover), dots_(dots_of(cover.settings()), seed), raster_(dots) {}

int LoupePlate::margin(double pitch_mm) const {
  const double sigma = cover_.field() ? cover_.settings().wick.v / pitch_mm : 0;
  return sigma > kLeastSigma ? static_cast<int>(std::ceil(kBlurReach * sigma)) : 0;
}

int LoupePlate::period_margin(double pitch_mm) const {
  const double period = kMmPerInch / cover_.settings().tone.halftone.lpi / pitch_mm;
  const bool counted =
      raster_ == DotRaster::counted && dots_.regular() && period >= kCoarsePeriod && period <= kFinePeriod;
  return counted ? static_cast<int>(std::ceil(period * std::numbers::sqrt2 * kMostStretch)) + 1 : 0;
}

PlateBand LoupePlate::band(const DeviceRaster& raster, const DeviceRect& rect) const {
  const double px_per_mm = cover_.ppi() / kMmPerInch;
  const int more = period_margin(raster.pitch_mm);
  double low = 1e30, high = -1e30;
  for (const int x : {rect.x - more, rect.x + rect.width - 1 + more}) {
    for (const int y : {rect.y - more, rect.y + rect.height - 1 + more}) {
      double sx = 0, sy = 0;
      cover_.source_of((raster.x_mm + x * raster.pitch_mm) * px_per_mm - 0.5,
                       (raster.y_mm + y * raster.pitch_mm) * px_per_mm - 0.5, sx, sy);
      low = std::min(low, sy);
      high = std::max(high, sy);
    }
  }
  const int from = static_cast<int>(std::floor(low)) - 1;
  return {contour_distance(cover_.image(), from, static_cast<int>(std::ceil(high)) + 2 - from,
                           cover_.spread_px(), cover_.reach_px())};
}

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

void LoupePlate::states(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                        std::span<std::uint8_t> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const Places places{cover_, raster, rect};
  if (period_margin(raster.pitch_mm) > 0 && any_tint(band, places)) return counted_states(band, places, out);
  Points points(cover_, band);
  std::size_t i = 0;
  for (int y = 0; y < rect.height; ++y) {
    for (int x = 0; x < rect.width; ++x) {
      const Places::Place at = places(x, y);
      const Point p = points.at(at.sx, at.sy);
      const bool ink = p.tint ? dots_.inked(at.x_mm, at.y_mm, p.film) : p.ink;
      out[i++] = static_cast<std::uint8_t>((ink ? kDeviceInk : 0) | (p.tint ? kDeviceTint : 0));
    }
  }
}

PeriodStep LoupePlate::period_step(double pitch_mm) const {
  // Differences on the plate at its top left corner: they do not depend on the rectangle.
  double x0 = 0, y0 = 0, x1 = 0, y1 = 0, x2 = 0, y2 = 0;
  const double px = pitch_mm / kMmPerInch * cover_.ppi(), mm = kMmPerInch / cover_.ppi();
  cover_.source_of(0, 0, x0, y0);
  cover_.source_of(px, 0, x1, y1);
  cover_.source_of(0, px, x2, y2);
  return {dots_.u((x1 - x0) * mm, (y1 - y0) * mm), dots_.u((x2 - x0) * mm, (y2 - y0) * mm),
          dots_.v((x1 - x0) * mm, (y1 - y0) * mm), dots_.v((x2 - x0) * mm, (y2 - y0) * mm)};
}

bool LoupePlate::any_tint(const PlateBand& band, const Places& places) const {
  const PlateImage& image = cover_.image();
  double left = 1e30, right = -1e30, top = 1e30, bottom = -1e30;
  for (const int x : {0, places.rect.width - 1}) {
    for (const int y : {0, places.rect.height - 1}) {
      const Places::Place at = places(x, y);
      left = std::min(left, at.sx);
      right = std::max(right, at.sx);
      top = std::min(top, at.sy);
      bottom = std::max(bottom, at.sy);
    }
  }
  const auto whole = [](double at, int size) { return std::clamp(static_cast<int>(at), 0, size - 1); };
  const int x0 = whole(left - 1, image.width), x1 = whole(right + 2, image.width);
  for (int y = whole(top - 1, image.height); y <= whole(bottom + 2, image.height); ++y) {
    const std::uint8_t* row = band.rows.tint.data() + static_cast<std::size_t>(y - band.rows.y0) *
                                                          static_cast<std::size_t>(band.rows.width);
    if (std::any_of(row + x0, row + x1 + 1, [](std::uint8_t tint) { return tint != 0; })) return true;
  }
  return false;
}

void LoupePlate::counted_states(const PlateBand& band, const Places& places,
                                std::span<std::uint8_t> out) const {
  constexpr std::uint8_t kInkAnyway = 4, kInkIfDot = 8;  // with dots lost and holes filled
  const DeviceRect& rect = places.rect;
  const int more = period_margin(places.raster.pitch_mm);
  const int right = rect.width + more, bottom = rect.height + more;
  const auto index_of = [&](int x, int y) {
    const Places::Place at = places(x, y);
    return PeriodIndex(dots_.u(at.x_mm, at.y_mm), dots_.v(at.x_mm, at.y_mm));
  };
  PeriodRange range{INT_MAX, INT_MAX, INT_MIN, INT_MIN};
  for (const int x : {-more, right - 1}) {
    for (const int y : {-more, bottom - 1}) {
      const PeriodIndex dot = index_of(x, y);
      range = {std::min(range.u0, dot.u), std::min(range.v0, dot.v), std::max(range.u1, dot.u),
               std::max(range.v1, dot.v)};
    }
  }
  const PeriodStep step = period_step(places.raster.pitch_mm);
  DotCells cells(rect.width + 2 * more, rect.height + 2 * more, range, step, dots_.exact_moments());
  // Periods that the rectangle's edge cuts; those wholly inside are read with it. Two pixels deep, so that no
  // corner of a period slips through.
  for (int x = 0; x < rect.width; ++x) {
    for (const int y : {0, 1, rect.height - 2, rect.height - 1}) cells.ask(cells.period(index_of(x, y)));
  }
  for (int y = 0; y < rect.height; ++y) {
    for (const int x : {0, 1, rect.width - 2, rect.width - 1}) cells.ask(cells.period(index_of(x, y)));
  }
  Points points(cover_, band);
  double last_film = -1, last_tone = 0;
  bool losses = false;
  for (int y = -more; y < bottom; ++y) {
    const bool row_inside = y >= 0 && y < rect.height;
    std::uint8_t* row =
        out.data() + (row_inside ? static_cast<std::size_t>(y) * static_cast<std::size_t>(rect.width) : 0);
    DotCells::Row dots(cells, y + more);
    for (int x = -more; x < right; ++x) {
      const bool inside = row_inside && x >= 0 && x < rect.width;
      const Places::Place at = places(x, y);
      const double u = dots_.u(at.x_mm, at.y_mm), v = dots_.v(at.x_mm, at.y_mm);
      const std::uint32_t period = cells.period(PeriodIndex(u, v));
      if (!inside && !cells.asked(period)) continue;
      const Point p = points.at(at.sx, at.sy);
      if (p.tint) {
        if (p.film != last_film) {
          last_film = p.film;
          last_tone = dots_.tone(p.film);
          losses = dots_.losses(p.film);
        }
        dots.tint(period, x + more, u, v, last_tone, dots_.threshold(u, v));
      } else {
        dots.other(period);
      }
      if (!inside) continue;
      std::uint8_t state = p.tint ? kDeviceTint | kInkIfDot : p.ink ? kDeviceInk : 0;
      if (p.tint && losses) {
        state = kDeviceTint;
        if (dots_.with_losses(false, u, v, p.film)) state |= kInkAnyway;
        if (dots_.with_losses(true, u, v, p.film)) state |= kInkIfDot;
      }
      row[x] = state;
    }
    dots.done();
  }
  cells.settle();
  std::size_t i = 0;
  for (int y = 0; y < rect.height; ++y) {
    for (int x = 0; x < rect.width; ++x, ++i) {
      if ((out[i] & kDeviceTint) == 0) continue;
      const bool ink = (out[i] & (cells.inked(x + more, y + more) ? kInkIfDot : kInkAnyway)) != 0;
      out[i] = ink ? kDeviceInk | kDeviceTint : kDeviceTint;
    }
  }
}

void LoupePlate::doses(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                       std::span<float> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const int half = margin(raster.pitch_mm);
  const DeviceRect wide{rect.x - half, rect.y - half, rect.width + 2 * half, rect.height + 2 * half};
  std::vector<std::uint8_t> state(wide.pixels());
  states(band, raster, wide, state);
  std::vector<float> ink(state.size());
  std::transform(state.begin(), state.end(), ink.begin(),
                 [](std::uint8_t s) { return (s & kDeviceInk) != 0 ? 1.0F : 0.0F; });
  if (half == 0) {
    std::copy(ink.begin(), ink.end(), out.begin());
    return;
  }
  blur(ink, half, half_gaussian(cover_.settings().wick.v / raster.pitch_mm, half), rect, out);
}

}  // namespace kirtle
