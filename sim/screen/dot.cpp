#include "screen/dot.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace kirtle {

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

double round_dot_area(double u) {
  if (!(u > 0)) return 0;
  return ellipse_area(u, u);
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
