#include "print/mixing.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace kirtle {

namespace {
constexpr std::size_t kMostMixed = 12;
}

std::vector<double> demichel(std::span<const double> coverage) {
  KIRTLE_CHECK(coverage.size(), <=, kMostMixed);
  std::vector<double> w(std::size_t{1} << coverage.size());
  w[0] = 1;
  std::size_t filled = 1;
  for (const double a : coverage) {
    for (std::size_t i = 0; i < filled; ++i) {
      w[filled + i] = w[i] * a;
      w[i] *= 1 - a;
    }
    filled *= 2;
  }
  return w;
}

std::vector<double> nested(std::span<const double> coverage) {
  KIRTLE_CHECK(coverage.size(), <=, kMostMixed);
  std::vector<double> w(std::size_t{1} << coverage.size());
  std::vector<std::size_t> order(coverage.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](auto i, auto j) { return coverage[i] > coverage[j]; });
  double above = 1;
  std::size_t present = 0;
  for (const std::size_t plate : order) {
    w[present] += above - coverage[plate];
    above = coverage[plate];
    present |= std::size_t{1} << plate;
  }
  w[present] += above;
  return w;
}

double yule_nielsen(std::span<const double> weights, std::span<const double> values, double n) {
  KIRTLE_CHECK(weights.size(), ==, values.size());
  double sum = 0;
  for (std::size_t i = 0; i < weights.size(); ++i) sum += weights[i] * std::pow(values[i], 1 / n);
  return std::pow(sum, n);
}

double scatter_mix(std::span<const double> weights, std::span<const double> values, double m) {
  KIRTLE_CHECK(weights.size(), ==, values.size());
  double area = 0, root = 0;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    area += weights[i] * values[i];
    root += weights[i] * std::sqrt(values[i]);
  }
  return (1 - m) * area + m * root * root;
}

double coverage_murray_davies(double paper, double solid, double tint) {
  if (paper == solid) throw std::domain_error("coverage_murray_davies: solid and ground are alike");
  return (paper - tint) / (paper - solid);
}

double clapper_yule(std::span<const double> coverage, std::span<const double> transmittance, double r_s,
                    double r_i, double r_g) {
  KIRTLE_CHECK(coverage.size(), ==, transmittance.size());
  double t1 = 0, t2 = 0;
  for (std::size_t i = 0; i < coverage.size(); ++i) {
    t1 += coverage[i] * transmittance[i];
    t2 += coverage[i] * transmittance[i] * transmittance[i];
  }
  return r_s + (1 - r_s) * (1 - r_i) * r_g * t1 * t1 / (1 - r_i * r_g * t2);
}

}  // namespace kirtle
