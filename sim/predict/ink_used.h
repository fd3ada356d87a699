#pragma once
// Ink that shirts take, and what to mix for an order: counted once, for every page that says it.
#include "predict/prediction.h"

#include <vector>

namespace kirtle {

/// Covered area of each plate of the model on one shirt, as printed: spread counted, tints at their share
/// [mm2]. The numbers do not depend on threads (0 = default_threads()).
std::vector<double> covered_mm2(const Prediction& prediction, unsigned threads);

/// Wet ink that a pass leaves on `mm2` of a shirt [g].
double wet_grams(const ScenePass& pass, double mm2);

/// Ink to mix for one screen [g]: shirts x grams plus 10 %, and 150 to 250 g to fill the screen (common
/// practice, no source).
struct InkToMix {
  double low_g = 0, high_g = 0;
  double middle_g() const { return (low_g + high_g) / 2; }
};
InkToMix ink_to_mix(double grams_a_shirt, int shirts);

}  // namespace kirtle
