#include "screen/dot_cells.h"

#include "base/check.h"
#include "base/simd.h"
#include "screen/threshold.h"

#include <array>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kAside = 1e-6;  // off whole counts
// Within so many degrees of the raster's rows and diagonals what is left of one period adds up with its
// neighbours': there every pair is tried where one by one finds none.
constexpr double kAlongDegrees = 3, kCoarseArea = 32 * 32;
// On either side of the edge, in the mean: those that may change. Few where pixels are fine, so that edges
// stay smooth, unless whole rows of pixels lie on one side.
constexpr double kNearPixels = 60, kNearPixelsFine = 40;
// The same along the raster's rows, a period's side: every pixel that the edge of a dot cuts.
constexpr double kCutBySide = 2.7;
constexpr int kParts = 8;  // along a pixel's side, to see how much of it a dot covers

/// Is the screen turned by a multiple of so many degrees against the raster?
bool turned_by(double degrees, const PeriodStep& step) {
  const double turns = std::atan2(step.u_y, step.u_x) * 180 / std::numbers::pi / degrees;
  return std::abs(turns - std::round(turns)) * degrees < kAlongDegrees;
}

double near_pixels(double area, bool along, bool squared) {
  if (squared) return std::max(kNearPixels, kCutBySide * std::sqrt(area));
  return area < kCoarseArea || along ? kNearPixels : kNearPixelsFine;
}

int floor_of(double x) { return static_cast<int>(std::floor(x)); }

}  // namespace

DotCells::DotCells(int width, int height, const PeriodRange& range, const PeriodStep& step, DotShape shape)
    : width_(width),
      height_(height),
      range_(range),
      across_(range.u1 - range.u0 + 1),
      step_(step),
      area_(step.area()),
      shape_(shape),
      exact_(ExactMoments::of(shape)),
      along_(turned_by(45, step)),
      squared_(turned_by(90, step)),
      near_steps_(static_cast<std::int32_t>(std::min(near_pixels(area_, along_, squared_) / area_, 0.5) *
                                            kAboveSteps)) {
  KIRTLE_CHECK(range.u1, >=, range.u0);
  KIRTLE_CHECK(range.v1, >=, range.v0);
  KIRTLE_CHECK(area_, >=, 4);
  const std::size_t pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  const std::size_t periods =
      static_cast<std::size_t>(across_) * static_cast<std::size_t>(range.v1 - range.v0 + 1);
  periods_.resize(periods);
  near_.resize(periods * kNear);
  above_.resize(pixels);
  period_of_.resize(pixels, UINT32_MAX);
  ink_.resize(pixels);
  tone_.resize(static_cast<std::size_t>(width));
}

KIRTLE_WIDE void DotCells::periods(std::span<const double> u, std::span<const double> v,
                                   std::span<std::uint32_t> out) const {
  const std::size_t n = out.size();
  const double *pu = u.data(), *pv = v.data();
  std::uint32_t* to = out.data();
  const PeriodRange range = range_;
  const int across = across_;
  for (std::size_t i = 0; i < n; ++i) {
    const PeriodIndex dot(pu[i], pv[i]);
    const int du = std::clamp(dot.u, range.u0, range.u1) - range.u0,
              dv = std::clamp(dot.v, range.v0, range.v1) - range.v0;
    to[i] = static_cast<std::uint32_t>(dv * across + du);
  }
}

namespace {

/// Whole steps, and which pixels are ink.
KIRTLE_WIDE void to_steps(const double* tone, const double* threshold, std::size_t n, double tone_steps,
                          double above_steps, std::int32_t* tones, std::int32_t* above, std::uint8_t* ink) {
  for (std::size_t i = 0; i < n; ++i) {
    tones[i] = static_cast<std::int32_t>(tone[i] * tone_steps + 0.5);
    above[i] = static_cast<std::int32_t>((tone[i] - threshold[i]) * above_steps);
  }
  for (std::size_t i = 0; i < n; ++i) ink[i] = threshold[i] < tone[i] ? 1 : 0;
}

struct InkSums {
  int n = 0, x = 0, xx = 0;  ///< x from the first pixel
};
KIRTLE_WIDE InkSums sums_of(const std::uint8_t* ink, int count) {
  int n = 0, x = 0, xx = 0;
  for (int i = 0; i < count; ++i) {
    n += ink[i];
    x += ink[i] * i;
    xx += ink[i] * i * i;
  }
  return {n, x, xx};
}

}  // namespace

void DotCells::row(const RowPart& part, int from, int to) {
  const std::size_t first = index(part.x, part.y), n = part.period.size();
  to_steps(part.tone.data(), part.threshold.data(), n, kToneSteps, kAboveSteps, tone_.data() + part.x,
           above_.data() + first, ink_.data() + first);
  std::copy(part.period.begin(), part.period.end(), period_of_.begin() + static_cast<std::ptrdiff_t>(first));
  for (std::size_t i = 0; i < n;) {
    const std::uint32_t period = part.period[i];
    std::size_t end = i + 1;
    while (end < n && part.period[end] == period) ++end;
    int x0 = part.x + static_cast<int>(i), x1 = part.x + static_cast<int>(end);
    if (!periods_[period].asked) {
      x0 = std::max(x0, from);
      x1 = std::min(x1, to);
    }
    const auto skipped = static_cast<std::size_t>(x0 - part.x);
    if (x0 < x1) add(period, x0, part.y, x1 - x0, part.u[skipped], part.v[skipped]);
    i = end;
  }
}

/// Pixels side by side in one period; their tones are in tone_.
void DotCells::add(std::uint32_t period, int x, int y, int count, double u, double v) {
  Period& p = periods_[period];
  if (p.y < 0) {
    p.x = x;
    p.y = y;
    p.u = u - (range_.u0 + static_cast<int>(period) % across_);
    p.v = v - (range_.v0 + static_cast<int>(period) / across_);
  }
  const std::size_t at = index(x, y);
  const std::int32_t* tones = tone_.data() + x;
  std::int64_t tone = 0;
  for (int i = 0; i < count; ++i) {
    tone += tones[i];
    p.least = std::min(p.least, tones[i]);
    p.most = std::max(p.most, tones[i]);
  }
  p.tone += tone;
  p.whole = p.whole && p.least >= 0;
  const std::int64_t n = count, sum = n * (n - 1) / 2, squares = n * (n - 1) * (2 * n - 1) / 6;
  p.pixels.add_row(n, sum + n * x, squares + 2 * x * sum + n * x * x, y);
  const InkSums ink = sums_of(ink_.data() + at, count);
  p.ink.add_row(ink.n, ink.x + std::int64_t{ink.n} * x,
                ink.xx + 2 * std::int64_t{x} * ink.x + std::int64_t{ink.n} * x * x, y);
  const std::int32_t* above = above_.data() + at;
  std::uint32_t* near = near_.data() + period * std::size_t{kNear};
  int kept = std::min(p.near, kNear - 1);
  for (int i = 0; i < count; ++i) {
    const bool is_near = above[i] > -near_steps_ && above[i] < near_steps_;
    near[kept] = static_cast<std::uint32_t>(at) + static_cast<std::uint32_t>(i);
    p.near += is_near;
    kept = std::min(kept + is_near, kNear - 1);
  }
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
  gather(at, true);
  if (squared_) {
    settle_cut(at);
  } else {
    settle_counted(at);
  }
  for (std::size_t e = 0; e < edge_.order.size(); ++e) ink_[edge_.pixel(e)] = edge_.ink(e);
}

/// As much ink as the tones of the period's pixels add up to.
void DotCells::settle_counted(std::size_t at) {
  const Period& p = periods_[at];
  const int n = static_cast<int>(p.pixels.n);
  const double asked = static_cast<double>(p.tone) / kToneSteps;
  const int count = std::clamp(floor_of(asked + rounding_share(dot(at)) + kAside), 0, n);
  int inked = count - static_cast<int>(p.ink.n);
  for (std::size_t e = 0; e < edge_.order.size(); ++e) inked += ink_[edge_.pixel(e)];
  if (inked < 0 || inked > static_cast<int>(edge_.order.size())) {
    gather(at, false);
    inked = count;
  }
  ink_first(p, inked);
  PixelSums ink = p.ink;
  for (std::size_t e = 0; e < edge_.order.size(); ++e) {
    const int pixel = static_cast<int>(edge_.pixel(e));
    ink.add(pixel % width_, pixel / width_, int{edge_.ink(e)} - int{ink_[edge_.pixel(e)]});
  }
  // Against a dot with exact edges: ink less tone over these pixels.
  const double tone = static_cast<double>(count) / n;
  constexpr double kTwelfth = 1.0 / 12;
  const DotMoments even{0, 0, kTwelfth, 0, kTwelfth};
  balance(inked, moments(p, ink) - moments(p, p.pixels) * tone - (exact_.at(tone) - even * tone) * area_);
}

/// As much ink as the dot covers of the period's pixels. Where borders run along rows of pixels a period is
/// 18 pixels wide here and 19 there: dots that followed would differ in size, and beat.
void DotCells::settle_cut(std::size_t at) {
  const Period& p = periods_[at];
  double covered = 0;
  DotMoments cover;
  for (std::size_t e = 0; e < edge_.order.size(); ++e) {
    cover = cover + covered_part(p, edge_.pixel(e), covered);
  }
  const int inked = floor_of(covered + rounding_share(dot(at)) + kAside);
  ink_first(p, inked);
  DotMoments ink;
  for (std::size_t e = 0; e < edge_.order.size(); ++e) {
    if (edge_.ink(e)) ink = ink + DotMoments::at(edge_.u[e], edge_.v[e]);
  }
  balance(inked, ink - cover);
}

/// Of one pixel what its dot covers: its moments; its area is added to `area`.
DotMoments DotCells::covered_part(const Period& p, std::size_t pixel, double& area) const {
  const auto [u, v] = place(p, pixel);
  const double tone = above_[pixel] / kAboveSteps + dot_threshold(shape_, u, v);
  constexpr double kPart = 1.0 / (kParts * kParts);
  DotMoments sum;
  for (int j = 0; j < kParts; ++j) {
    for (int i = 0; i < kParts; ++i) {
      // No two in a row or column: an edge along the raster passes them one by one.
      const double x = (i + (j + 0.5) / kParts) / kParts - 0.5, y = (j + (i + 0.5) / kParts) / kParts - 0.5;
      const double part_u = u + step_.u_x * x + step_.u_y * y, part_v = v + step_.v_x * x + step_.v_y * y;
      if (dot_threshold(shape_, part_u, part_v) >= tone) continue;
      area += kPart;
      sum = sum + DotMoments::at(part_u, part_v) * kPart;
    }
  }
  return sum;
}

/// Ink first: farthest above the threshold, of those alike the uppermost, then the leftmost.
void DotCells::ink_first(const Period& p, int inked) {
  std::sort(edge_.order.begin(), edge_.order.end());
  edge_.resize(edge_.order.size());
  for (std::size_t e = 0; e < edge_.order.size(); ++e) {
    edge_.set_ink(e, static_cast<int>(e) < inked);
    const auto [u, v] = place(p, edge_.pixel(e));
    edge_.u[e] = u;
    edge_.v[e] = v;
  }
}

PeriodIndex DotCells::dot(std::size_t at) const {
  PeriodIndex dot(0, 0);
  dot.u = range_.u0 + static_cast<int>(at) % across_;
  dot.v = range_.v0 + static_cast<int>(at) / across_;
  return dot;
}

std::array<double, 2> DotCells::place(const Period& p, std::size_t pixel) const {
  const int x = static_cast<int>(pixel) % width_ - p.x, y = static_cast<int>(pixel) / width_ - p.y;
  return {p.u + step_.u_x * x + step_.u_y * y, p.v + step_.v_x * x + step_.v_y * y};
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

/// The period's pixels into edge_.order, all or those that are near its edge.
void DotCells::gather(std::size_t at, bool near_only) {
  const Period& p = periods_[at];
  edge_.order.clear();
  const auto take = [&](std::size_t pixel) {
    const auto below = static_cast<std::uint32_t>(INT32_MAX) - static_cast<std::uint32_t>(above_[pixel]);
    edge_.order.push_back(std::uint64_t{below} << 32 | pixel);
  };
  if (near_only && p.near < kNear) {
    for (int k = 0; k < p.near; ++k) take(near_[at * kNear + static_cast<std::size_t>(k)]);
    return;
  }
  // A square about its middle; stretched by register a little.
  const int reach = static_cast<int>(0.75 * std::sqrt(area_)) + 2;
  const int x = static_cast<int>(p.pixels.x / p.pixels.n), y = static_cast<int>(p.pixels.y / p.pixels.n);
  for (int j = std::max(0, y - reach); j <= std::min(height_ - 1, y + reach); ++j) {
    for (int i = std::max(0, x - reach); i <= std::min(width_ - 1, x + reach); ++i) {
      const std::size_t pixel = index(i, j);
      if (period_of_[pixel] != at) continue;
      if (!near_only || (above_[pixel] > -near_steps_ && above_[pixel] < near_steps_)) take(pixel);
    }
  }
}

}  // namespace kirtle
