#pragma once
#include "light/colour.h"

namespace kirtle {

/// CIEDE2000 colour difference, kL = kC = kH = 1. >= 0.
/// Source: ISO/CIE 11664-6; Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1):21, doi:10.1002/col.20070.
/// Limits: hue differences within 1e-9 degree of 180 count as 180, so that the sign of the mean hue does not
/// hang on
///         the last bit of atan2. NaN in, NaN out.
double delta_e_2000(const Lab& x, const Lab& y);

}  // namespace kirtle
