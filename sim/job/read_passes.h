#pragma once
#include "job/library.h"
#include "job/scene.h"
#include "job/table_reader.h"

namespace kirtle {

/// Fills Scene::plates and Scene::passes from [[plate]] and [[pass]]. Without [[pass]], a plate carries the
/// keys of its one pass, and the passes print in the order of the plates.
void read_plates_and_passes(TableReader& root, Scene& scene, Library& library);

}  // namespace kirtle
