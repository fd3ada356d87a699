#pragma once
// What a scene asks of its press, in the words of sim/press.
#include "job/scene.h"
#include "press/placement.h"
#include "press/register_run.h"

#include <vector>

namespace kirtle {

/// How the scene's press moves its plates: a pass of the model is a pass of the scene, with its offset, turn
/// and stretch as the known set-up error. `seed` of the scene.
RegisterModel register_model(const Scene& scene);

/// Passes for place_passes. Those of one plate, mesh and ink share a screen.
std::vector<PressPass> press_passes(const Scene& scene);

PressLimits press_limits(const Scene& scene);

/// Places the scene's passes. A press that the scene names is an order: what does not fit is an error. A
/// press that was only assumed gives a warning.
PlacedPasses place_scene(const Scene& scene);

}  // namespace kirtle
