#pragma once
#include "job/scene.h"
#include "job/table_reader.h"

namespace kirtle {

/// Everything of a [[plate]] but the keys of its pass. Which plate of the file it is can only be said when
/// the file is read (predict/plate_set.h).
ScenePlate read_plate_table(TableReader& t, const Scene& scene);

/// [art]: box = ["x mm", "y mm", "width mm", "height mm"].
std::optional<ArtBox> read_art_box(TableReader& root);

}  // namespace kirtle
