#pragma once
// CIEDE2000 of many pairs of colours at once, in single precision.
#include "light/colour.h"

#include <array>
#include <cstddef>

namespace kirtle {

/// Opponent channels (spatial_lab.h) of `count` pixels, one array a channel.
using OpponentRow = std::array<const float*, 3>;

/// delta_e_2000() of each pixel as it is and with a change added. The formula's angles are kept as their
/// cosines and sines, and what it needs of roots and powers is worked out by polynomials, so that pixels lie
/// side by side in registers. Within 1e-3 + 0.1 % of the double one for differences up to 100.
class DeltaERow {
 public:
  explicit DeltaERow(const XYZ& white);  ///< of the light, Y > 0
  /// out: count values, >= 0
  void operator()(const OpponentRow& picture, const OpponentRow& change, std::size_t count, float* out) const;

 private:
  std::array<float, 9> to_xyz_;  ///< from opponent channels, relative to white; row by row
};

}  // namespace kirtle
