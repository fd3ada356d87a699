#pragma once
// The [press] table of a scene.
#include "job/library.h"
#include "job/scene.h"
#include "job/table_reader.h"

namespace kirtle {

/// Reads [press]. To be called after the passes: a bad pallet names one of them.
void read_press_settings(TableReader& root, Scene& scene, Library& library);

}  // namespace kirtle
