#include "print/scatter.h"

#include "screen/dot.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>

namespace kirtle {

namespace {
constexpr int kSide = 128;
constexpr int kTable = 241;
constexpr double kLowest = 1e-3, kHighest = 1e3;  // mean radius in periods
}  // namespace

double mean_scatter_um(KS ks) {
  return 1.2 / std::max(0.65 * ks.s + std::sqrt(ks.k * (ks.k + 2 * ks.s)), 1e-9);
}

double scatter_transfer(double cycles_per_um, double mean_um) {
  const double x = 2 * std::numbers::pi * cycles_per_um * mean_um;
  return 1 / std::sqrt(1 + x * x);
}

ScatterShare::ScatterShare(DotShape shape, double tone) : table_(kTable) {
  const std::vector<unsigned char> ink = DotCell(shape, kSide).pattern(tone);
  cv::Mat pattern(kSide, kSide, CV_64F);
  for (int i = 0; i < kSide * kSide; ++i) pattern.at<double>(i / kSide, i % kSide) = ink[i];
  cv::Mat spectrum;
  cv::dft(pattern, spectrum, cv::DFT_COMPLEX_OUTPUT);
  // Power by distance from the origin, in cycles per period.
  std::vector<double> radius, power;
  double total = 0;
  for (int y = 0; y < kSide; ++y) {
    for (int x = 0; x < kSide; ++x) {
      if (x == 0 && y == 0) continue;
      const auto& h = spectrum.at<cv::Vec2d>(y, x);
      radius.push_back(std::hypot(std::min(x, kSide - x), std::min(y, kSide - y)));
      power.push_back(h[0] * h[0] + h[1] * h[1]);
      total += power.back();
    }
  }
  for (int t = 0; t < kTable; ++t) {
    const double mean = kLowest * std::pow(kHighest / kLowest, t / (kTable - 1.0));
    double kept = 0;
    for (std::size_t i = 0; i < radius.size(); ++i) kept += power[i] * scatter_transfer(radius[i], mean);
    table_[t] = total > 0 ? 1 - kept / total : 1;
  }
}

double ScatterShare::at(double mean_radius_periods) const {
  if (!(mean_radius_periods > kLowest)) return table_.front() * std::max(mean_radius_periods, 0.0) / kLowest;
  const double at = std::log(mean_radius_periods / kLowest) / std::log(kHighest / kLowest) * (kTable - 1);
  const int i = std::clamp(static_cast<int>(at), 0, kTable - 2);
  return table_[i] + (table_[i + 1] - table_[i]) * std::clamp(at - i, 0.0, 1.0);
}

}  // namespace kirtle
