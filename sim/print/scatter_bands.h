#pragma once
// Scatter under the loupe band by band (the model: loupe_scatter.h).
#include "print/loupe_scatter.h"

#include <functional>
#include <span>
#include <vector>

namespace kirtle {

/// Spreads a plane of the piece by a mean radius, in place, with the transform of scatter.h.
using SpreadPlane = std::function<void(std::vector<float>& plane, double mean_um)>;

/// Adds the difference to xyz. Light is followed until less than `tolerance` of reflectance is missing (root
/// mean square).
void add_scatter_by_bands(const LoupePiece& piece, std::span<const double> fibre_shares,
                          const SpreadPlane& spread, double tolerance, std::span<XYZf> xyz);

}  // namespace kirtle
