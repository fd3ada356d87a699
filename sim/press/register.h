#pragma once
// Where a plate lands on the cloth. physics 7.1.
#include "base/provenance.h"
#include "base/units.h"

#include <string>

namespace kirtle {

/// Fixed register error of one plate: shift, then turn and stretch about the centre of the print.
/// x to the right, y downward, in the plane of the print as seen.
struct RegisterOffset {
  Mm dx{0}, dy{0};
  double turn_deg = 0;                  ///< clockwise as seen
  double stretch_x = 0, stretch_y = 0;  ///< relative, 0.001 = 0.1 % longer
  bool is_zero() const { return dx.v == 0 && dy.v == 0 && turn_deg == 0 && stretch_x == 0 && stretch_y == 0; }
};

/// What a press holds. pair_sigma is the shift between a pair of plates, per axis, 1 s.d. (shop.md, common
/// practice).
struct PressPreset {
  std::string id;
  std::string name;
  Provenance provenance;
  Mm pair_sigma{0};
  int heads = 0;
  bool automatic = false;
};

}  // namespace kirtle
