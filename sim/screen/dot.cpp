#include "screen/dot.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

namespace kirtle {

using std::numbers::pi;

double dot_threshold(DotShape shape, double u, double v) {
  switch (shape) {
    case DotShape::round:
      return u * u + v * v;
    case DotShape::elliptical:
      return u * u * 0.8 + v * v / 0.8;
    case DotShape::inverting:
      return 1.0 - std::cos(2 * pi * u) - std::cos(2 * pi * v);
    case DotShape::line:
      return std::abs(u);
    case DotShape::square:
      return std::max(std::abs(u), std::abs(v));
  }
  return 0;
}

DotCell::DotCell(DotShape shape, int side) : side_(side), order_(static_cast<std::size_t>(side) * side) {
  std::vector<double> threshold(order_.size());
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      threshold[static_cast<std::size_t>(y) * side + x] =
          dot_threshold(shape, (x + 0.5) / side - 0.5, (y + 0.5) / side - 0.5);
    }
  }
  std::iota(order_.begin(), order_.end(), 0);
  // Ties by index, so that the order is the same with every sort.
  std::sort(order_.begin(), order_.end(),
            [&](int a, int b) { return threshold[a] != threshold[b] ? threshold[a] < threshold[b] : a < b; });
}

std::vector<unsigned char> DotCell::pattern(double coverage) const {
  std::vector<unsigned char> ink(order_.size(), 0);
  const auto n =
      static_cast<std::size_t>(std::lround(std::clamp(coverage, 0.0, 1.0) * static_cast<double>(ink.size())));
  for (std::size_t i = 0; i < n; ++i) ink[order_[i]] = 1;
  return ink;
}

namespace {

/// Lower envelope of parabolas: squared distance along one line, Felzenszwalb & Huttenlocher 2012,
/// doi:10.4086/toc.2012.v008a019.
void distance_line(const std::vector<double>& f, std::vector<double>& d, std::vector<int>& v,
                   std::vector<double>& z) {
  const int n = static_cast<int>(f.size());
  int k = -1;
  for (int q = 0; q < n; ++q) {
    if (!std::isfinite(f[q])) continue;
    double s = -std::numeric_limits<double>::infinity();
    while (k >= 0) {
      s = ((f[q] + q * q) - (f[v[k]] + v[k] * v[k])) / (2.0 * (q - v[k]));
      if (s > z[k]) break;
      --k;
    }
    if (k < 0) s = -std::numeric_limits<double>::infinity();
    ++k;
    v[k] = q;
    z[k] = s;
  }
  if (k < 0) {
    std::fill(d.begin(), d.end(), std::numeric_limits<double>::infinity());
    return;
  }
  int j = 0;
  for (int q = 0; q < n; ++q) {
    while (j < k && z[j + 1] < q) ++j;
    d[q] = (q - v[j]) * (q - v[j]) + f[v[j]];
  }
}

/// Squared distance in samples from every sample of the periodic cell to the nearest sample equal to
/// `target`.
std::vector<double> squared_distance(const std::vector<unsigned char>& ink, int side, unsigned char target) {
  const int wide = 3 * side;  // the period repeated, so that distances wrap round
  std::vector<double> grid(static_cast<std::size_t>(wide) * side);
  std::vector<double> f(wide), d(wide), z(wide + 1);
  std::vector<int> v(wide);
  for (int x = 0; x < side; ++x) {
    for (int y = 0; y < wide; ++y) {
      f[y] = ink[static_cast<std::size_t>(y % side) * side + x] == target
                 ? 0.0
                 : std::numeric_limits<double>::infinity();
    }
    distance_line(f, d, v, z);
    for (int y = 0; y < side; ++y) grid[static_cast<std::size_t>(y) * side + x] = d[y + side];
  }
  std::vector<double> out(static_cast<std::size_t>(side) * side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < wide; ++x) f[x] = grid[static_cast<std::size_t>(y) * side + x % side];
    distance_line(f, d, v, z);
    for (int x = 0; x < side; ++x) out[static_cast<std::size_t>(y) * side + x] = d[x + side];
  }
  return out;
}

}  // namespace

double DotCell::spread_coverage(double coverage, double spread) const {
  const std::vector<unsigned char> ink = pattern(coverage);
  const double area =
      static_cast<double>(std::accumulate(ink.begin(), ink.end(), 0)) / static_cast<double>(ink.size());
  if (area == 0 || area == 1 || spread == 0) return area;
  // Distances run between sample centres; the edge lies about half a sample before the first centre beyond
  // it. The last ring of samples counts by how far the moved edge reaches into it.
  const std::vector<double> d2 = squared_distance(ink, side_, spread > 0 ? 1 : 0);
  const double reach = std::abs(spread) * side_;
  double changed = 0;
  for (std::size_t i = 0; i < ink.size(); ++i) {
    if (d2[i] == 0) continue;
    changed += std::clamp(reach - (std::sqrt(d2[i]) - 0.5) + 0.5, 0.0, 1.0);
  }
  changed /= static_cast<double>(ink.size());
  return spread > 0 ? std::min(1.0, area + changed) : std::max(0.0, area - changed);
}

double round_dot_area(double u) {
  if (!(u > 0)) return 0;
  if (u <= 0.5) return pi * u * u;
  if (u >= std::numbers::sqrt2 / 2) return 1;
  return pi * u * u - 4 * (u * u * std::acos(0.5 / u) - 0.5 * std::sqrt(u * u - 0.25));
}

double round_dot_radius(double area) {
  if (!(area > 0)) return 0;
  if (area >= 1) return std::numbers::sqrt2 / 2;
  double lo = 0, hi = std::numbers::sqrt2 / 2;
  while (hi - lo > 1e-13) {
    const double mid = 0.5 * (lo + hi);
    (round_dot_area(mid) < area ? lo : hi) = mid;
  }
  return 0.5 * (lo + hi);
}

}  // namespace kirtle
