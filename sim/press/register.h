#pragma once
// Where a plate lands on the cloth, and what a press is known for.
#include "base/provenance.h"
#include "base/units.h"

#include <string>

namespace kirtle {

/// Register error of one plate: turn and stretch about the centre of the print, then shift.
/// x to the right, y downward, in the plane of the print as seen.
struct RegisterOffset {
  Mm dx{0}, dy{0};
  double turn_deg = 0;                  ///< clockwise as seen
  double stretch_x = 0, stretch_y = 0;  ///< relative, 0.001 = 0.1 % longer
  bool operator==(const RegisterOffset&) const = default;
  bool is_zero() const { return dx.v == 0 && dy.v == 0 && turn_deg == 0 && stretch_x == 0 && stretch_y == 0; }
};

/// A press as its record gives it. Figures without a stated source are common practice or invented; the
/// record's provenance says which.
struct PressPreset {
  std::string id;
  std::string name;
  Provenance provenance;
  Mm pair_sigma{0};  ///< shirt-to-shirt shift between a pair of plates, per axis, 1 s.d.
  int heads = 0;
  bool automatic = false;
  bool flash_takes_head = true;  ///< a flash unit, and a cool-down, stands where a screen could hang
  int flashes = 1;               ///< flash units at hand
  int pallets = 1;               ///< shirt n lies on pallet 1 + (n - 1) mod pallets
  Mm pallet_width{0}, pallet_height{0};
  Mm image_width{0}, image_height{0};  ///< largest image
  Mm setup_sigma{0};                   ///< error left after set-up between a pair of plates, per axis, 1 s.d.
  double setup_turn_sigma_deg = 0;     ///< the same, turn of a plate
  double turn_sigma_deg = 0;           ///< turn of a plate from shirt to shirt, 1 s.d.
};

}  // namespace kirtle
