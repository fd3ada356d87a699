#pragma once
// What a reshaping changed, for the change list that goes with every plate.
#include "plate/plate_image.h"

namespace kirtle {

/// Film area of a plate: what came to it, what went, out of how much.
struct Change {
  double before_mm2 = 0;   ///< ink on film before: sum of film coverage times area
  double after_mm2 = 0;    ///< and after
  double added_mm2 = 0;    ///< sum of what rose, pixel by pixel; >= 0
  double removed_mm2 = 0;  ///< sum of what fell; >= 0
  double plate_mm2 = 0;    ///< the whole plate

  bool none() const { return !(added_mm2 > 0) && !(removed_mm2 > 0); }
  /// Share of the plate's area that changed, 0..1.
  double share() const { return plate_mm2 > 0 ? (added_mm2 + removed_mm2) / plate_mm2 : 0; }
};

/// A plate as reshaped: same pixels, resolution and bits as the one it came from.
struct Reshaped {
  PlateImage plate;
  Change change;
};

/// From one plate to another of the same size; their bits may differ. `ppi` > 0. `threads`: 0 =
/// default_threads(). Throws InternalError if sizes differ.
Change change_between(const PlateImage& before, const PlateImage& after, double ppi, unsigned threads = 0);

}  // namespace kirtle
