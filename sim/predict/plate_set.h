#pragma once
// The plates of a scene as images: found in their files, checked against each other, read, cut to the art
// box.
#include "job/scene.h"
#include "plate/io/plate_file.h"

#include <functional>
#include <vector>

namespace kirtle {

struct PlateSet {
  std::vector<PlateImage> images;  ///< of the plates asked for, in their order; all of one size
  double ppi = 0;                  ///< > 0
};

/// The entry of a file that a scene's plate means. Throws InputError at the plate's table: no such page or
/// sample, or several that could be meant.
PlateEntry entry_of(const ScenePlate& plate, const std::vector<PlateEntry>& entries);

/// Sets everything outside the box to no ink. Its sides are rounded to whole pixels.
void cut_to_art_box(PlateImage& image, const ArtBox& box, double ppi);

/// How many rows of plates of this size are wanted, from the top; see read_plates. Empty = all.
using RowsWanted = std::function<int(int width, int height, double ppi)>;

/// Reads the plates `which` (indices into Scene::plates). Every file is gone through once. What was noticed
/// is added to notes. Throws InputError with every fault of every plate.
PlateSet read_plate_set(const Scene& scene, const std::vector<int>& which, Diagnostics& notes,
                        const RowsWanted& rows_wanted = {});

}  // namespace kirtle
