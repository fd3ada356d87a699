#pragma once
// A possible reflectance for a colour of which only XYZ is known. One of many: metamers of it exist, so
// whatever is built on it is "estimated".
#include "light/weights.h"

namespace kirtle {

/// Bounds of every recovered band: real surfaces neither swallow nor return all light.
constexpr double kLeastReflectance = 0.002;
constexpr double kMostReflectance = 0.995;

struct RecoveredReflectance {
  Spectrum reflectance;  ///< each band within the bounds above
  bool exact = false;    ///< its XYZ is the one asked for, to 1e-8 of Y = 100
  double de00 = 0;       ///< CIEDE2000 between asked and given under the weights' light; 0 if exact
};

/// The smoothest reflectance with this XYZ: R = 0.002 + 0.993 (tanh z + 1) / 2 with the least sum of squared
/// steps of z from band to band. A grey comes back flat. If no reflectance within the bounds has that XYZ
/// (black below 0.2 %, a colour purer than any surface), a smooth one near the closest by CIELAB distance,
/// with exact = false.
///   xyz      Y = 100 scale, seen under the weights' light by its observer
/// Source: Burns 2020, Color Res. Appl. 45(1):8, doi:10.1002/col.22437 ("least hyperbolic tangent slope
/// squared"),
///         with bounds moved in from 0 and 1; solved by Newton steps along the line from grey to the colour.
/// Throws InternalError if xyz is not finite.
RecoveredReflectance recover_reflectance(const XYZ& xyz, const ViewingWeights& weights);

/// The reflectance alone.
Spectrum smooth_reflectance(const XYZ& xyz, const ViewingWeights& weights);

}  // namespace kirtle
