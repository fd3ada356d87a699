#include "print/loupe_plate.h"

#include "base/check.h"
#include "print/loupe_points.h"

#include <algorithm>
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
  double low = 1e30, high = -1e30, left = 1e30, right = -1e30;
  for (const int x : {rect.x - more, rect.x + rect.width - 1 + more}) {
    for (const int y : {rect.y - more, rect.y + rect.height - 1 + more}) {
      double sx = 0, sy = 0;
      cover_.source_of((raster.x_mm + x * raster.pitch_mm) * px_per_mm - 0.5,
                       (raster.y_mm + y * raster.pitch_mm) * px_per_mm - 0.5, sx, sy);
      low = std::min(low, sy);
      high = std::max(high, sy);
      left = std::min(left, sx);
      right = std::max(right, sx);
    }
  }
  const int from = static_cast<int>(std::floor(low)) - 1;
  PlateBand out{contour_distance(cover_.image(), from, static_cast<int>(std::ceil(high)) + 2 - from,
                                 cover_.spread_px(), cover_.reach_px()),
                {},
                0,
                0};
  find_squares(left, right, out);
  return out;
}

void LoupePlate::find_squares(double left, double right, PlateBand& band) const {
  const PlateImage& image = cover_.image();
  const DistanceRows& rows = band.rows;
  band.x0 = static_cast<int>(std::floor(left));
  band.columns = static_cast<int>(std::floor(right)) + 1 - band.x0;
  const auto columns = static_cast<std::size_t>(band.columns);
  band.squares.resize(columns * static_cast<std::size_t>(rows.rows - 1));
  std::vector<std::int32_t> above, below(columns + 1);
  for (int row = 0; row < rows.rows; ++row) {
    const int y = rows.y0 + row;
    std::swap(above, below);
    below.assign(columns + 1, PlateBand::kBandPaper);
    const int x0 = std::max(band.x0, 0), x1 = std::min(band.x0 + band.columns + 1, image.width);
    for (int x = x0; x < x1 && y >= 0 && y < image.height; ++x) {
      const auto i =
          static_cast<std::size_t>(row) * static_cast<std::size_t>(rows.width) + static_cast<std::size_t>(x);
      const auto value =
          static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) + static_cast<std::size_t>(x);
      below[static_cast<std::size_t>(x - band.x0)] =
          rows.tint[i] != 0
              ? PlateBand::kBandTint + (image.bits == 8 ? image.ink8[value] : image.ink16[value])
          : rows.distance[i] < 0 ? PlateBand::kBandInk
                                 : PlateBand::kBandPaper;
    }
    if (row == 0) continue;
    std::int32_t* to = band.squares.data() + static_cast<std::size_t>(row - 1) * columns;
    for (std::size_t c = 0; c < columns; ++c) {
      const bool same = above[c] == above[c + 1] && above[c] == below[c] && above[c] == below[c + 1];
      to[c] = same ? above[c] : PlateBand::kBandMixed;
    }
  }
}

void LoupePlate::states(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                        std::span<std::uint8_t> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const Places places{cover_, raster, rect};
  if (period_margin(raster.pitch_mm) > 0 && counted_states(band, places, out)) return;
  Points points(cover_, band);
  std::vector<double> film(static_cast<std::size_t>(rect.width));
  std::uint8_t* to = out.data();
  for (int y = 0; y < rect.height; ++y) {
    points.row(places, y, 0, rect.width, film.data());
    for (int x = 0; x < rect.width; ++x) {
      const double value = film[static_cast<std::size_t>(x)];
      if (value > DotCells::kNoTint) {
        const Places::Place at = places(x, y);
        const bool ink = dots_.inked(at.x_mm, at.y_mm, value);
        *to++ = ink ? kDeviceInk | kDeviceTint : kDeviceTint;
      } else {
        *to++ = value == Points::kInk ? kDeviceInk : 0;
      }
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
