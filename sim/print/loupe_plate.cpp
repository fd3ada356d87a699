#include "print/loupe_plate.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kLeastSigma = 0.05;  // device pixels: less blurs nothing
constexpr double kBlurReach = 3.5;    // standard deviations

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

LoupePlate::LoupePlate(const PlateCover& cover, std::uint32_t seed)
    : cover_(cover), dots_(dots_of(cover.settings()), seed) {}

int LoupePlate::margin(double pitch_mm) const {
  const double sigma = cover_.field() ? cover_.settings().wick.v / pitch_mm : 0;
  return sigma > kLeastSigma ? static_cast<int>(std::ceil(kBlurReach * sigma)) : 0;
}

PlateBand LoupePlate::band(const DeviceRaster& raster, const DeviceRect& rect) const {
  const double px_per_mm = cover_.ppi() / kMmPerInch;
  double low = 1e30, high = -1e30;
  for (const int x : {rect.x, rect.x + rect.width - 1}) {
    for (const int y : {rect.y, rect.y + rect.height - 1}) {
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

std::uint8_t LoupePlate::state(const PlateBand& band, double sx, double sy) const {
  const PlateImage& image = cover_.image();
  const DistanceRows& rows = band.rows;
  const int ix = static_cast<int>(std::floor(sx)), iy = static_cast<int>(std::floor(sy));
  const double fx = sx - ix, fy = sy - iy;
  const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
  const int nearest = (fx >= 0.5 ? 1 : 0) + (fy >= 0.5 ? 2 : 0);
  double distance = 0, film = 0, film_weight = 0;
  bool tint_here = false;
  for (int k = 0; k < 4; ++k) {
    const int px = ix + k % 2, py = iy + k / 2;
    bool tint = false;
    if (px >= 0 && px < image.width && py >= 0 && py < image.height) {
      const std::size_t i = static_cast<std::size_t>(py - rows.y0) * static_cast<std::size_t>(rows.width) +
                            static_cast<std::size_t>(px);
      tint = rows.tint[i] != 0;
      const double value = image.film(px, py);
      if (tint || value == 0 || value == 1) {  // not the fraction of an edge
        film += w[k] * value;
        film_weight += w[k];
      }
      if (!tint) distance += w[k] * static_cast<double>(rows.distance[i]);
    } else {
      film_weight += w[k];
      distance += w[k] * cover_.reach_px();
    }
    if (k == nearest) tint_here = tint;
  }
  if (!tint_here) return distance < 0 ? kDeviceInk : 0;
  const double mm_per_px = kMmPerInch / cover_.ppi();
  const bool ink = dots_.inked((sx + 0.5) * mm_per_px, (sy + 0.5) * mm_per_px, film / film_weight);
  return ink ? kDeviceInk | kDeviceTint : kDeviceTint;
}

void LoupePlate::states(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                        std::span<std::uint8_t> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const double px_per_mm = cover_.ppi() / kMmPerInch;
  std::size_t i = 0;
  for (int y = 0; y < rect.height; ++y) {
    const double py = (raster.y_mm + (rect.y + y) * raster.pitch_mm) * px_per_mm - 0.5;
    for (int x = 0; x < rect.width; ++x) {
      double sx = 0, sy = 0;
      cover_.source_of((raster.x_mm + (rect.x + x) * raster.pitch_mm) * px_per_mm - 0.5, py, sx, sy);
      out[i++] = state(band, sx, sy);
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
