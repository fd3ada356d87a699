#pragma once
// Contours of a plate moved by so many millimetres; tints stay as they are.
//
// Plates come in and go out anti-aliased: a contour is known to a fraction of a pixel (plate/contour.h) and
// its new place is written so that the area is right. `ppi` is always the plate's pixels per inch, > 0;
// `threads`: 0 = default_threads(), and the bytes do not depend on it. A plate of dots (1-bit) comes out none
// or solid. Limits: a contour moves by at most kMostMovePx pixels (60 pixels are 2.5 mm at 600 per inch).
// Throws std::domain_error naming argument, value and range; InternalError if ppi is not > 0.
#include "base/units.h"
#include "plate/reshape/change.h"

namespace kirtle {

constexpr double kMostMovePx = 60;

/// Every contour moved outward by `outward` (spread), inward if negative (choke). Corners: outward they come
/// out round, inward sharp, as by a disc of that radius. Source: Minkowski sum and difference with a disc.
Reshaped move_contours(const PlateImage& plate, Mm outward, double ppi, unsigned threads = 0);

/// Choke that does not eat type: contours move inward by `choke` (>= 0), but no stroke gets narrower than
/// `keep` (>= 0) by it, and one that is narrower already keeps its width. The default is common practice, no
/// source. Limits: what is a stroke is told as in line_widths.h, so that corners are choked.
Reshaped choke_keeping_type(const PlateImage& plate, Mm choke, double ppi, Mm keep = {0.7},
                            unsigned threads = 0);

/// Where the film reaches a level, as a plate of contours alone (16 bit): solid where it does. A contour
/// stays where it is; a step from tint to tint or to solid that straddles the level, too; in a ramp the
/// contour is the ramp's place of that level.
///   level  film, > 0 up to 1
PlateImage where_film_reaches(const PlateImage& plate, double level, unsigned threads = 0);

}  // namespace kirtle
