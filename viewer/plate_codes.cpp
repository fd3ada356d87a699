#include "plate_codes.h"

#include "base/parallel.h"
#include "plate/contour.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>

namespace kirtle {

namespace {

constexpr int kBandRows = 192;

std::uint16_t encode(float distance, bool tint, double film, double reach) {
  const double d = static_cast<double>(distance);
  if (!tint && std::abs(d) < reach) {
    const double at = (d + reach) / (2 * reach);
    return static_cast<std::uint16_t>(kCodeDistance + std::lround(at * kCodeDistanceSteps));
  }
  if (!tint && film <= 0) return kCodeNone;
  if (!tint && film >= 1) return kCodeSolid;
  return static_cast<std::uint16_t>(kCodeTint + std::lround(film * kCodeTintSteps));
}

}  // namespace

DecodedPixel decode(const PlateCodes& plate, std::uint16_t code) {
  if (code == kCodeNone) return {false, false, 0, plate.reach_px};
  if (code == kCodeSolid) return {false, false, 1, -plate.reach_px};
  if (code < kCodeDistance)
    return {true, false, static_cast<double>(code - kCodeTint) / kCodeTintSteps, plate.reach_px};
  const double at = static_cast<double>(code - kCodeDistance) / kCodeDistanceSteps;
  const double d = (2 * at - 1) * plate.reach_px;
  return {false, true, std::clamp(0.5 - (d + plate.spread_px), 0.0, 1.0), d};
}

std::shared_ptr<const PlateCodes> make_plate_codes(const PlateImage& image, double ppi,
                                                   CoverSettings settings, unsigned threads,
                                                   const Progress& progress) {
  settings.offset = {};
  const PlateCover cover(image, ppi, settings);
  auto out = std::make_shared<PlateCodes>();
  out->width = image.width;
  out->height = image.height;
  out->reach_px = cover.reach_px();
  out->spread_px = cover.spread_px();
  out->field = cover.field();
  const std::size_t width = static_cast<std::size_t>(image.width);
  out->code.resize(image.pixels());
  if (cover.field()) out->dose.resize(image.pixels());
  const int bands = (image.height + kBandRows - 1) / kBandRows;
  std::mutex mutex;
  int done = 0;
  std::atomic<bool> stop{false};
  parallel_for(static_cast<std::size_t>(bands), threads, [&](std::size_t band, unsigned) {
    if (stop) return;
    const int y0 = static_cast<int>(band) * kBandRows, rows = std::min(kBandRows, image.height - y0);
    const DistanceRows d = contour_distance(image, y0, rows, cover.spread_px(), cover.reach_px());
    for (int y = 0; y < rows; ++y) {
      const std::size_t from = static_cast<std::size_t>(y) * width;
      std::uint16_t* to = out->code.data() + static_cast<std::size_t>(y0 + y) * width;
      for (std::size_t x = 0; x < width; ++x) {
        to[x] = encode(d.distance[from + x], d.tint[from + x] != 0, image.film(static_cast<int>(x), y0 + y),
                       cover.reach_px());
      }
    }
    if (cover.field()) {
      const CoverRows doses = cover.rows(y0, rows);
      std::copy(doses.cover.begin(), doses.cover.end(),
                out->dose.begin() + static_cast<std::ptrdiff_t>(static_cast<std::size_t>(y0) * width));
    }
    const std::lock_guard lock(mutex);
    ++done;
    if (progress && !progress(static_cast<double>(done) / bands)) stop = true;
  });
  if (stop) throw Cancelled();
  return out;
}

}  // namespace kirtle
