#pragma once
// Frequency-modulated tints: dots of one size, scattered evenly without a pattern (blue noise).
#include "base/units.h"

#include <cstdint>
#include <vector>

namespace kirtle {

/// A square of thresholds that repeats without a seam. Its points below any level are spread as evenly as
/// they can be without falling into rows. Source: void and cluster, Ulichney 1993, doi:10.1117/12.152707;
/// Gaussian of 1.5 samples, ties by index,
///   whole numbers, so that every machine makes the same square.
class NoiseTile {
 public:
  static constexpr int kSide = 128;
  /// Made on the first call (about half a second), then kept.
  static const NoiseTile& instance();
  /// Threshold at a sample, any indices: in (0, 1), each of kSide * kSide values once.
  double at(int x, int y) const;

 private:
  NoiseTile();
  std::vector<std::uint16_t> rank_;
};

/// Is there ink at this place of the plate where the film's tone is `film`, 0..1? Dots are squares of side
/// `dot`, > 0, in line with the plate's edges.
/// Limits: as on film, neither ink spread nor lost dots; what prints is in noise_print.h.
bool noise_inked(double x_mm, double y_mm, double film, Um dot);

}  // namespace kirtle
