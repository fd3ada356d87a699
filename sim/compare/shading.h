#pragma once
// What the plates as they arrived say: which of them is the light and which shades it, which tones the
// shading has and how steep it is, and what the art wants it to look like.
#include "compare/ramp.h"
#include "predict/prediction.h"

#include <filesystem>

namespace kirtle {

/// The light and the shading of a scene: as [compare] names them, else found out. The dark is the plate whose
/// solid is darkest on the light; the light, of the plates printed before it that are lighter by 20 in L* or
/// more, the one that shares most area with it (area within 0.5 mm of it, so that plates that butt count).
/// Plates that are flashed before others print are bases, and taken last. Throws InputError, at the scene:
/// no two plates that could be meant; what [compare] names is printed by no pass.
CompareRoles find_roles(const Scene& scene, const Prediction& prediction);

/// Tones of the shading and how they change.
struct Shading {
  std::array<double, kRampSteps>
      weight{};                ///< share of the tints' area at each tone; sums to 1; even if none
  double tint_mm2 = 0;         ///< of the dark's tints, contours left out
  double steepest_per_mm = 0;  ///< 95 % of the tints change by less: film per mm
};
Shading shading_of(const PlateImage& dark, double ppi);

/// Where the light is to lie, as a film plate: the light itself where it already runs under the shading (nine
/// tenths of the dark's tints have solid light below), else the light and all that shades it.
PlateImage light_body(const PlateImage& light, const PlateImage& dark, double ppi, unsigned threads);

/// The intent from the art: the mean colour of its pixels at each tone of the dark over the light's body.
/// Tones that the art does not have lie between their neighbours. Throws InputError: not a PNG, proportions
/// that are not the plates' (2 % allowed), fewer than two tones.
ShadeIntent art_intent(const std::filesystem::path& art, const PlateImage& body, const PlateImage& dark,
                       const PrintModel& model);

}  // namespace kirtle
