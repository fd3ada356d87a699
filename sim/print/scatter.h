#pragma once
// How much of a dot pattern the sideways scatter of light in the ground removes.
#include "layer/ks.h"
#include "screen/screen.h"

#include <vector>

namespace kirtle {

/// Mean sideways travel of light in an endlessly thick Kubelka-Munk ground [um], > 0.
///   ks  of the ground [1/um]
/// Source: 1.2 / (0.65 S + sqrt(K (K + 2 S))), our own fit to Monte Carlo runs, within 12 % (20 % on a 30 um
/// white).
double mean_scatter_um(KS ks);

/// Transform of the point spread exp(-r/L)/r (mean radius L) at a frequency: 1 / sqrt(1 + (2 pi f L)^2).
///   cycles_per_um, mean_um  >= 0
double scatter_transfer(double cycles_per_um, double mean_um);

/// The share m of a dot pattern that scatter removes, 0 (none) to 1 (the pattern is gone):
///   m = 1 - sum_{k != 0} |h_k|^2 P(k) / sum_{k != 0} |h_k|^2, h the spectrum of the pattern, P the transform
///   above.
class ScatterShare {
 public:
  /// For dots of one shape at one printed tone, 0 < tone < 1. Of noise: the dots as on film.
  explicit ScatterShare(DotShape shape, double tone = 0.5);
  /// mean_radius in periods of the screen (dot_pitch; of noise, sides of a dot), >= 0.
  double at(double mean_radius_periods) const;

 private:
  std::vector<double> table_;  ///< at equal steps of log(mean radius)
};

}  // namespace kirtle
