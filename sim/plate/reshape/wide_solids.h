#pragma once
// A plate's wide solids: where a plate below may be cut away and leave a rim.
#include "base/units.h"
#include "plate/plate_image.h"

namespace kirtle {

/// The plate where it is solid (film at or above `solid_from`, > 0 up to 1) over parts at least `wide` (> 0)
/// wide, with their own anti-aliased edges; nothing elsewhere. Engraving, type and dense hatching are
/// narrower and go. `ppi` > 0; `threads` as in contours.h. Source: opening by a disc, by exact distance
/// transforms (Felzenszwalb, Huttenlocher 2012, Theory of Computing 8:415, doi:10.4086/toc.2012.v008a019).
/// Limits: what counts as wide is told between pixel centres, to half a pixel; edges stay where they were.
PlateImage wide_solids(const PlateImage& plate, double solid_from, Mm wide, double ppi, unsigned threads = 0);

}  // namespace kirtle
