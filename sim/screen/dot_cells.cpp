#include "screen/dot_cells.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace kirtle {

namespace {

constexpr double kAside = 1e-6;     // off whole counts
constexpr double kNearPixels = 22;  // wanted on either side of the edge
// Pixels on either side that may change places, and how many pairs do. More changes no more of the beat.
constexpr int kSwapReach = 6, kMostSwaps = 3;
constexpr double kSmallMoment = 0.5;  // pixels times pixels

int floor_of(double x) {
  const int whole = static_cast<int>(x);
  return static_cast<double>(whole) > x ? whole - 1 : whole;
}

/// Inked first: farthest above the threshold, of those alike the uppermost, then the leftmost.
bool before(const EdgePixel& a, const EdgePixel& b) {
  if (a.above != b.above) return a.above > b.above;
  return a.y != b.y ? a.y < b.y : a.x < b.x;
}

}  // namespace

double rounding_share(const PeriodIndex& period) {
  const double r = period.u * 0.7548776662466927 + period.v * 0.5698402909980532;
  return r - std::floor(r);
}

DotCells::DotCells(int width, int height, const PeriodRange& range, double area)
    : width_(width),
      height_(height),
      range_(range),
      across_(range.u1 - range.u0 + 1),
      area_(area),
      near_steps_(static_cast<std::int32_t>(std::min(kNearPixels / area, 0.5) * kAboveSteps)) {
  KIRTLE_CHECK(range.u1, >=, range.u0);
  KIRTLE_CHECK(range.v1, >=, range.v0);
  KIRTLE_CHECK(area, >=, 4);
  const std::size_t pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  const std::size_t periods =
      static_cast<std::size_t>(range.u1 - range.u0 + 1) * static_cast<std::size_t>(range.v1 - range.v0 + 1);
  periods_.resize(periods);
  edges_.resize(periods * kNear);
  pixels_.resize(pixels, {UINT32_MAX, 0});
  ink_.resize(pixels);
}

void DotCells::settle() {
  for (std::size_t at = 0; at < periods_.size(); ++at) {
    const Period& p = periods_[at];
    const bool even = p.most - p.least <= kEvenTone * kToneSteps;
    const bool dots = p.most > 0 && static_cast<double>(p.least) < kToneSteps;
    if (p.whole && even && dots && p.pixels > 0) settle(at);
  }
}

void DotCells::settle(std::size_t at) {
  const Period& p = periods_[at];
  PeriodIndex dot(0, 0);
  dot.u = range_.u0 + static_cast<int>(at) % across_;
  dot.v = range_.v0 + static_cast<int>(at) / across_;
  const double tones = static_cast<double>(p.tone) / kToneSteps;
  const int count = std::clamp(floor_of(tones + rounding_share(dot) + kAside), 0, p.pixels);

  // In order of ink, the pixels about the edge, of which the first `inked` get ink.
  std::vector<EdgePixel> all;
  std::span<EdgePixel> edge;
  int inked = count - (p.ink - p.near_ink);
  const auto enough = [&] {
    const int size = static_cast<int>(edge.size());
    return (inked >= kSwapReach || p.near_ink == p.ink) &&
           (size - inked >= kSwapReach || p.near - p.near_ink == p.pixels - p.ink) && inked >= 0 &&
           inked <= size;
  };
  if (p.near <= kNear) edge = std::span(&edges_[at * kNear], static_cast<std::size_t>(p.near));
  if (p.near > kNear || !enough()) {
    gather(at, all);
    edge = all;
    inked = count;
  }
  const int from = std::max(0, inked - kSwapReach),
            to = std::min(static_cast<int>(edge.size()), inked + kSwapReach);
  std::sort(edge.begin(), edge.end(), before);

  std::int64_t ink_x = p.ink_x, ink_y = p.ink_y;
  for (int i = 0; i < static_cast<int>(edge.size()); ++i) {
    const EdgePixel& e = edge[static_cast<std::size_t>(i)];
    std::uint8_t& ink = ink_[index(e.x, e.y)];
    const int more = (i < inked) - ink;
    ink_x += more * e.x;
    ink_y += more * e.y;
    ink = i < inked;
  }
  // First moments of ink less tone about the middle of the pixels. Whole numbers until the end.
  const double n = p.pixels, excess = count - tones;
  const auto moment = [&](std::int64_t ink, std::int64_t tone, std::int64_t sum, std::int64_t origin) {
    const double ink_here = static_cast<double>(ink - count * origin),
                 tone_here = static_cast<double>(tone - p.tone * origin) / kToneSteps;
    return ink_here - tone_here - excess * static_cast<double>(sum - p.pixels * origin) / n;
  };
  const std::int64_t x0 = p.x / p.pixels, y0 = p.y / p.pixels;
  double mx = moment(ink_x, p.tone_x, p.x, x0), my = moment(ink_y, p.tone_y, p.y, y0);
  for (int swap = 0; swap < kMostSwaps; ++swap) {
    double least = mx * mx + my * my - kSmallMoment;
    EdgePixel *out = nullptr, *in = nullptr;
    for (int a = from; a < inked; ++a) {
      EdgePixel& off = edge[static_cast<std::size_t>(a)];
      if (fixed(off) || ink_[index(off.x, off.y)] == 0) continue;
      for (int b = inked; b < to; ++b) {
        EdgePixel& on = edge[static_cast<std::size_t>(b)];
        const double x = mx + (on.x - off.x), y = my + (on.y - off.y), m = x * x + y * y;
        if (m < least && !fixed(on) && ink_[index(on.x, on.y)] == 0) {
          least = m;
          out = &off;
          in = &on;
        }
      }
    }
    if (out == nullptr) break;
    ink_[index(out->x, out->y)] = 0;
    ink_[index(in->x, in->y)] = 1;
    mx += in->x - out->x;
    my += in->y - out->y;
  }
}

void DotCells::gather(std::size_t at, std::vector<EdgePixel>& pixels) const {
  const Period& p = periods_[at];
  // A square about its middle; stretched by register a little.
  const int reach = static_cast<int>(0.75 * std::sqrt(area_)) + 2;
  const int x = static_cast<int>(p.x / p.pixels), y = static_cast<int>(p.y / p.pixels);
  pixels.reserve(static_cast<std::size_t>(p.pixels));
  for (int j = std::max(0, y - reach); j <= std::min(height_ - 1, y + reach); ++j) {
    for (int i = std::max(0, x - reach); i <= std::min(width_ - 1, x + reach); ++i) {
      const Pixel& pixel = pixels_[index(i, j)];
      if (pixel.period == at) pixels.push_back({pixel.above, i, j});
    }
  }
  KIRTLE_CHECK(pixels.size(), ==, static_cast<std::size_t>(p.pixels));
}

}  // namespace kirtle
