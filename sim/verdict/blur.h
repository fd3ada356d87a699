#pragma once
// Gaussian blur of one plane of floats, as wide as one likes: the eye's blur at a viewing distance.
//
// Pixels are area means, so a weight is the Gaussian's share of a pixel. A wide Gaussian is worked out on a
// coarser raster (box means down, linear up) whose own blur is taken off the Gaussian's variance. Beyond the
// border the border pixel goes on.
#include <span>

namespace kirtle {

/// out += weight * blur of in. Both width * height, row by row. The values do not depend on `threads`.
///   sigma_px  1 s.d. in pixels, >= 0; under 0.05 nothing is blurred
/// Limits: against the full sum the relative error is under 2e-3 of the plane's contrast.
void add_blurred(std::span<const float> in, int width, int height, double sigma_px, double weight,
                 std::span<float> out, unsigned threads);

/// One value of the same blur, summed over the whole plane in double: the slow twin. Beyond 6 s.d. and the
/// border no term is left out that matters (1e-8).
double blurred_at(std::span<const float> in, int width, int height, double sigma_px, int x, int y);

}  // namespace kirtle
