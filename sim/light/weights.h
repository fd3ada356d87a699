#pragma once
// From a reflectance to XYZ under one light for one observer: 36 weights each for X, Y, Z.
#include "light/colour.h"
#include "light/spectrum.h"

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

enum class Observer { cie1931_2deg, cie1964_10deg };

/// XYZ = sum over bands of reflectance * w. `white` is that sum for R = 1, so that R = 1 gives L* = 100, a* =
/// b* = 0 exactly. Smooth lights: plain 10 nm sum (CIE 15). Narrow-band lamps (F-series): the reflectance is
/// interpolated linearly to 5 nm, summed there, and the sum folded back into 36 weights.
struct ViewingWeights {
  std::string light;  ///< as light_names() spells it, for example "D50"
  Observer observer = Observer::cie1931_2deg;
  std::array<std::array<double, 3>, kBands> w{};
  XYZ white;
};

/// Weights for a light by name; capital or small letters. White Y = 100. Source: CIE 15 (tables.h names each
/// table). Limits: 380..730 nm; beyond that nothing is added, which moves the whites by less than 0.08
/// (against ASTM E308). Throws InputError listing light_names() if unknown.
ViewingWeights viewing_weights(std::string_view light, Observer observer);

/// Names accepted by viewing_weights: "D50", "D65", "A", "F1".."F12", "LED-B3".
std::vector<std::string> light_names();

XYZ xyz_from_reflectance(const Spectrum& reflectance, const ViewingWeights& weights);
Lab lab_from_reflectance(const Spectrum& reflectance, const ViewingWeights& weights);

/// Many at once: 36 floats a reflectance in, X Y Z out, summed in double. Equal to xyz_from_reflectance of
/// the same values, rounded to float. Throws InternalError if the sizes do not belong together.
void xyz_from_reflectances(std::span<const float> reflectances, const ViewingWeights& weights,
                           std::span<float> xyz);

}  // namespace kirtle
