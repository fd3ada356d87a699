#include "screen/dot_cells.h"

#include "base/check.h"

#include <array>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kAside = 1e-6;  // off whole counts
// Pairs that change places: a few among the nearest to the edge, then among all that may.
constexpr int kFewReach = 6, kFewSwaps = 3, kMostSwaps = 64;
// Within so many degrees of the raster's rows and diagonals what is left of one period adds up with its
// neighbours': there every pair is tried where one by one finds none, unless pixels are fine anyway.
constexpr double kAlongDegrees = 3, kCoarseArea = 32 * 32;
// On either side of the edge, in the mean: those that may change. Few where pixels are fine, so that edges
// stay smooth.
constexpr double kNearPixels = 60, kNearPixelsFine = 40;
constexpr double kNothing = 1e300;
constexpr double kWorthIt = 0.999;  // a swap leaves so much of the lack's energy or less
// Balance that is good enough: in pixels times periods, share of a period.
constexpr double kLeastLack = 0.005, kLackShare = 0.00004;

/// Does the screen run along the raster's rows or diagonals?
bool runs_along(const PeriodStep& step) {
  const double turns = std::atan2(step.u_y, step.u_x) / (std::numbers::pi / 4);
  return std::abs(turns - std::round(turns)) * 45 < kAlongDegrees;
}

int floor_of(double x) { return static_cast<int>(std::floor(x)); }

}  // namespace

DotCells::DotCells(int width, int height, const PeriodRange& range, const PeriodStep& step,
                   const ExactMoments& exact)
    : width_(width),
      height_(height),
      range_(range),
      across_(range.u1 - range.u0 + 1),
      step_(step),
      area_(step.area()),
      exact_(exact),
      along_(area_ < kCoarseArea && runs_along(step)),
      near_steps_(static_cast<std::int32_t>(
          std::min((area_ < kCoarseArea ? kNearPixels : kNearPixelsFine) / area_, 0.5) * kAboveSteps)) {
  KIRTLE_CHECK(range.u1, >=, range.u0);
  KIRTLE_CHECK(range.v1, >=, range.v0);
  KIRTLE_CHECK(area_, >=, 4);
  const std::size_t pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  const std::size_t periods =
      static_cast<std::size_t>(across_) * static_cast<std::size_t>(range.v1 - range.v0 + 1);
  periods_.resize(periods);
  near_.resize(periods * kNear);
  pixels_.resize(pixels, {UINT32_MAX, 0});
  ink_.resize(pixels);
}

void DotCells::start(std::uint32_t period, int x, int y, double u, double v) {
  Period& p = periods_[period];
  if (p.y >= 0) return;
  p.x = x;
  p.y = y;
  p.u = u - (range_.u0 + static_cast<int>(period) % across_);
  p.v = v - (range_.v0 + static_cast<int>(period) / across_);
}

void DotCells::add(std::uint32_t period, const Run& run, int y) {
  Period& p = periods_[period];
  p.pixels.add_row(run.pixels, run.x, run.xx, y);
  p.ink.add_row(run.ink, run.ink_x, run.ink_xx, y);
  p.tone += run.tone;
  p.least = std::min(p.least, run.least);
  p.most = std::max(p.most, run.most);
}

void DotCells::settle() {
  for (std::size_t at = 0; at < periods_.size(); ++at) {
    const Period& p = periods_[at];
    const bool even = p.most - p.least <= kEvenTone * kToneSteps;
    const bool dots = p.least > 0 && static_cast<double>(p.most) < kToneSteps;
    if (p.whole && even && dots && p.pixels.n > 0) settle(at);
  }
}

void DotCells::settle(std::size_t at) {
  const Period& p = periods_[at];
  PeriodIndex dot(0, 0);
  dot.u = range_.u0 + static_cast<int>(at) % across_;
  dot.v = range_.v0 + static_cast<int>(at) / across_;
  const int n = static_cast<int>(p.pixels.n);
  const int count =
      std::clamp(floor_of(static_cast<double>(p.tone) / kToneSteps + rounding_share(dot) + kAside), 0, n);
  gather(at, true);
  const auto inked_here = [&] {
    return static_cast<int>(
        std::count_if(edge_.begin(), edge_.end(), [](const EdgePixel& e) { return e.ink; }));
  };
  int inked = count - static_cast<int>(p.ink.n) + inked_here();
  if (inked < 0 || inked > static_cast<int>(edge_.size())) {
    gather(at, false);
    inked = count;
  }
  // Ink first: farthest above the threshold, of those alike the uppermost, then the leftmost.
  std::sort(edge_.begin(), edge_.end(), [](const EdgePixel& a, const EdgePixel& b) {
    if (a.above != b.above) return a.above > b.above;
    return a.y != b.y ? a.y < b.y : a.x < b.x;
  });
  PixelSums ink = p.ink;
  for (int i = 0; i < static_cast<int>(edge_.size()); ++i) {
    EdgePixel& e = edge_[static_cast<std::size_t>(i)];
    ink.add(e.x, e.y, (i < inked) - e.ink);
    e.ink = i < inked;
  }
  // Against a dot with exact edges: ink less tone over these pixels.
  const double tone = static_cast<double>(count) / n;
  constexpr double kTwelfth = 1.0 / 12;
  const DotMoments even{0, 0, kTwelfth, 0, kTwelfth};
  balance(inked, moments(p, ink) - moments(p, p.pixels) * tone - (exact_.at(tone) - even * tone) * area_);
  for (const EdgePixel& e : edge_) ink_[index(e.x, e.y)] = e.ink;
}

/// About the dot's middle.
DotMoments DotCells::moments(const Period& p, const PixelSums& sums) const {
  const PixelSums s = sums.from(p.x, p.y);
  const auto [n, x, y, xx, xy, yy] =
      std::array{static_cast<double>(s.n),  static_cast<double>(s.x),  static_cast<double>(s.y),
                 static_cast<double>(s.xx), static_cast<double>(s.xy), static_cast<double>(s.yy)};
  const double u = step_.u_x * x + step_.u_y * y, v = step_.v_x * x + step_.v_y * y;
  const double uu = step_.u_x * step_.u_x * xx + 2 * step_.u_x * step_.u_y * xy + step_.u_y * step_.u_y * yy;
  const double vv = step_.v_x * step_.v_x * xx + 2 * step_.v_x * step_.v_y * xy + step_.v_y * step_.v_y * yy;
  const double uv = step_.u_x * step_.v_x * xx + (step_.u_x * step_.v_y + step_.u_y * step_.v_x) * xy +
                    step_.u_y * step_.v_y * yy;
  return {u + n * p.u, v + n * p.v, uu + 2 * p.u * u + n * p.u * p.u, uv + p.u * v + p.v * u + n * p.u * p.v,
          vv + 2 * p.v * v + n * p.v * p.v};
}

/// edge_ in order, the first `inked` of them ink; lack: of balance, as they are.
void DotCells::balance(int inked, DotMoments lack) {
  const double enough = std::max(kLeastLack, kLackShare * area_);
  const int size = static_cast<int>(edge_.size());
  // What changes place so that least is lacking: of those alike the first, whatever the last bits say.
  const auto best = [&](int from, int to, bool ink, const DotMoments& before, double& least) {
    EdgePixel* found = nullptr;
    for (int i = from; i < to; ++i) {
      EdgePixel& e = edge_[static_cast<std::size_t>(i)];
      if (e.ink != ink) continue;
      const double then = (ink ? before - e.moments : before + e.moments).energy();
      if (then < least - 1e-9) {
        least = then;
        found = &e;
      }
    }
    return found;
  };
  EdgePixel *out = nullptr, *in = nullptr;
  double least = 0;
  const auto try_pair = [&](EdgePixel* off, EdgePixel* on) {
    if (off != nullptr && on != nullptr) out = off, in = on;
  };
  const auto try_every_pair = [&](int reach) {
    const int from = std::max(0, inked - reach), to = std::min(size, inked + reach);
    for (int a = from; a < to; ++a) {
      EdgePixel& off = edge_[static_cast<std::size_t>(a)];
      if (off.ink) try_pair(&off, best(from, to, false, lack - off.moments, least));
    }
  };
  // One, then what goes best with it; either may be the first.
  const auto try_one_by_one = [&] {
    double alone = kNothing;
    if (EdgePixel* off = best(0, size, true, lack, alone))
      try_pair(off, best(0, size, false, lack - off->moments, least));
    alone = kNothing;
    if (EdgePixel* on = best(0, size, false, lack, alone))
      try_pair(best(0, size, true, lack + on->moments, least), on);
  };
  for (int swap = 0; swap < kMostSwaps; ++swap) {
    const double now = lack.energy();
    if (now < enough * enough && swap > 0) return;
    least = now * kWorthIt;
    out = in = nullptr;
    if (swap < kFewSwaps) try_every_pair(kFewReach);
    if (out == nullptr) try_one_by_one();
    if (out == nullptr && along_) try_every_pair(size);
    if (out == nullptr) return;
    lack = lack - out->moments + in->moments;
    out->ink = false;
    in->ink = true;
  }
}

void DotCells::gather(std::size_t at, bool near_only) {
  const Period& p = periods_[at];
  edge_.clear();
  const auto take = [&](int x, int y) {
    const std::size_t i = index(x, y);
    const double u = p.u + step_.u_x * (x - p.x) + step_.u_y * (y - p.y),
                 v = p.v + step_.v_x * (x - p.x) + step_.v_y * (y - p.y);
    edge_.push_back({pixels_[i].above, x, y, DotMoments::at(u, v), ink_[i] != 0});
  };
  if (near_only && p.near <= kNear) {
    for (int k = 0; k < p.near; ++k) {
      const int i = static_cast<int>(near_[at * kNear + static_cast<std::size_t>(k)]);
      take(i % width_, i / width_);
    }
    return;
  }
  // A square about its middle; stretched by register a little.
  const int reach = static_cast<int>(0.75 * std::sqrt(area_)) + 2;
  const int x = static_cast<int>(p.pixels.x / p.pixels.n), y = static_cast<int>(p.pixels.y / p.pixels.n);
  for (int j = std::max(0, y - reach); j <= std::min(height_ - 1, y + reach); ++j) {
    for (int i = std::max(0, x - reach); i <= std::min(width_ - 1, x + reach); ++i) {
      const Pixel& pixel = pixels_[index(i, j)];
      if (pixel.period != at) continue;
      if (!near_only || (pixel.above > -near_steps_ && pixel.above < near_steps_)) take(i, j);
    }
  }
}

}  // namespace kirtle
