#pragma once
// The inside of a plate's wide solids: where a plate below may be cut away and leave a rim.
#include "base/units.h"
#include "plate/plate_image.h"

namespace kirtle {

/// Film, 1 inside: solid (film at or above `solid_from`, > 0 up to 1) that lies at least `rim` (>= 0) within
/// its edge and belongs to a part at least `least` (> 0) wide once the rim is taken off. Engraving, type and
/// dense hatching are narrower and give nothing. `ppi` > 0; `threads` as in contours.h.
/// Source: opening by a disc, by exact distance transforms (Felzenszwalb, Huttenlocher 2012, Theory of
/// Computing 8:415, doi:10.4086/toc.2012.v008a019).
/// Limits: distances are between pixel centres: places are right to half a pixel.
PlateImage solid_core(const PlateImage& plate, double solid_from, Mm rim, Mm least, double ppi,
                      unsigned threads = 0);

/// A plate less another: film a (1 - b), pixel by pixel.
PlateImage film_without(const PlateImage& a, const PlateImage& b);

}  // namespace kirtle
