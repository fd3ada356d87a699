#pragma once
// A scene on another press, and as the one sample print that the press is set up by.
#include "job/scene.h"

#include <string>

namespace kirtle {

/// The scene on a press of the shelf: its heads, pallets and what it holds, in place of all that [press] says
/// of the kind; revolutions, seed and a bad pallet stay. It is looked for in the scene's data_folders. Throws
/// InputError: no such press (with those there are), or one on which the passes do not fit.
void use_press(Scene& scene, const std::string& id);

/// Every pass where one sample print has it: the set-up errors that the scene knows of, those drawn for it
/// ([press] draw_setup), and the shrink of its flashes; no pallet, no shirt. The scene itself if it has none.
Scene sample_print(const Scene& scene);

}  // namespace kirtle
