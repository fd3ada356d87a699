#include "predict/ink_used.h"

#include "base/parallel.h"

#include <algorithm>
#include <cstdint>

namespace kirtle {

namespace {
// Common practice, no source.
constexpr double kFillLow_g = 150, kFillHigh_g = 250, kSpare = 1.1;
}  // namespace

std::vector<double> covered_mm2(const Prediction& prediction, unsigned threads) {
  constexpr int kBand = 64;
  const int height = prediction.renderer().height();
  const auto bands = static_cast<std::size_t>((height + kBand - 1) / kBand);
  const double px_mm = kMmPerInch / prediction.ppi();
  std::vector<double> out;
  for (const PlateCover& cover : prediction.covers()) {
    std::vector<std::uint64_t> sums(bands);
    parallel_for(bands, threads, [&](std::size_t band, unsigned) {
      const int y = static_cast<int>(band) * kBand;
      for (const std::uint16_t c : cover.rows(y, std::min(kBand, height - y)).cover) sums[band] += c;
    });
    std::uint64_t sum = 0;
    for (const std::uint64_t s : sums) sum += s;
    out.push_back(static_cast<double>(sum) / 65535 * px_mm * px_mm);
  }
  return out;
}

double wet_grams(const ScenePass& pass, double mm2) {
  // um of film on mm2 is 1e-3 mm3 = 1e-6 cm3.
  return wet_deposit_of(pass).v * mm2 * 1e-6 * pass.ink.density_g_cm3;
}

InkToMix ink_to_mix(double grams_a_shirt, int shirts) {
  const double printed = kSpare * grams_a_shirt * shirts;
  return {printed + kFillLow_g, printed + kFillHigh_g};
}

}  // namespace kirtle
