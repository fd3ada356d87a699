#include "print/scatter.h"

#include "print/plane_fourier.h"
#include "screen/dot.h"
#include "screen/noise_dots.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {
constexpr int kTable = 241;
constexpr double kLowest = 1e-3, kHighest = 1e3;  // mean radius in periods

/// A raster that repeats, so many pitches of the screen wide.
struct Pattern {
  Plane ink;  ///< side * side
  int side = 0, pitches = 1;
};

Pattern pattern_of(DotShape shape, double tone) {
  constexpr int kPeriod = 128, kPerDot = 6;  // samples
  if (shape == DotShape::noise) {
    Pattern out{{}, kPerDot * NoiseTile::kSide, NoiseTile::kSide};
    for (int y = 0; y < out.side; ++y)
      for (int x = 0; x < out.side; ++x)
        out.ink.push_back(NoiseTile::instance().at(x / kPerDot, y / kPerDot) < tone ? 1.0F : 0.0F);
    return out;
  }
  const std::vector<unsigned char> ink = DotCell(shape, kPeriod).pattern(tone);
  return {{ink.begin(), ink.end()}, kPeriod, 1};
}
}  // namespace

double mean_scatter_um(KS ks) {
  return 1.2 / std::max(0.65 * ks.s + std::sqrt(ks.k * (ks.k + 2 * ks.s)), 1e-9);
}

double scatter_transfer(double cycles_per_um, double mean_um) {
  const double x = 2 * std::numbers::pi * cycles_per_um * mean_um;
  return 1 / std::sqrt(1 + x * x);
}

ScatterShare::ScatterShare(DotShape shape, double tone) : table_(kTable) {
  const Pattern pattern = pattern_of(shape, tone);
  const int side = pattern.side, middle = side / 2;
  Spectrum8 spectrum;
  PlaneFourier(side, side).forward(pattern.ink, spectrum);
  // Power by squared distance from the origin, in cycles over the whole raster. Of the spectrum's other half,
  // which is this one's mirror image, each row counts once more.
  std::vector<double> power_at(static_cast<std::size_t>(2 * middle * middle + 1), 0.0);
  for (int y = 0; y <= middle; ++y) {
    const double times = y == 0 || y == middle ? 1 : 2;
    for (int x = 0; x < side; ++x) {
      const int fx = std::min(x, side - x);
      const FourierPair& h = spectrum[static_cast<std::size_t>(y / 8 * side + x)];
      const double re = static_cast<double>(h.re[y % 8]), im = static_cast<double>(h.im[y % 8]);
      power_at[static_cast<std::size_t>(fx * fx + y * y)] += times * (re * re + im * im);
    }
  }
  std::vector<double> radius, power;
  double total = 0;
  for (std::size_t i = 1; i < power_at.size(); ++i) {
    if (!(power_at[i] > 0)) continue;
    radius.push_back(std::sqrt(static_cast<double>(i)) / pattern.pitches);
    power.push_back(power_at[i]);
    total += power_at[i];
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
