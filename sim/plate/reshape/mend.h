#pragma once
// Mending: dust, pinholes, tones below the smallest dot, lines too thin to print.
// `ppi`, `threads` and what is thrown: as in contours.h.
#include "base/units.h"
#include "plate/holdings.h"
#include "plate/reshape/change.h"

#include <vector>

namespace kirtle {

enum class FaintTones { leave, raise, clear };

/// What to mend; a size of 0 leaves that alone.
struct Mend {
  Mm dust{0};                            ///< islands of ink smaller than a disc of this diameter go
  Mm pinholes{0};                        ///< holes in solid smaller than a disc of this diameter are filled
  FaintTones faint = FaintTones::leave;  ///< tints below smallest_tone, and above largest_tone
  double smallest_tone = 0;              ///< film, 0..1
  double largest_tone = 1;               ///< film; clear makes solid of what lies above, raise brings it down
  Mm thinnest_line{0};                   ///< thinner lines are thickened to this
  Mm thinnest_gap{0};                    ///< thinner gaps are opened to this
};

struct MendReport {
  std::size_t specks = 0, pinholes = 0;          ///< how many went
  double faint_mm2 = 0, dense_mm2 = 0;           ///< area of tints that were changed
  double thin_line_mm = 0, thin_gap_mm = 0;      ///< length of what was thickened or opened, within a fifth
  PlateSpot speck_at, pinhole_at, thin_line_at;  ///< the first of each from the top
};

struct Mended {
  Reshaped plate;
  MendReport report;
};

Mended mend_plate(const PlateImage& plate, const Mend& what, double ppi, unsigned threads = 0);

}  // namespace kirtle
