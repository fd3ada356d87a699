#pragma once
// A file that holds one plate. Wrappers over plate_file.h, which reads the others too.
#include "plate/io/plate_file.h"

namespace kirtle {

/// What the header says.
struct PlateHeader {
  int width = 0, height = 0;
  int bits = 8;    ///< of the plate in memory, 8 or 16
  double ppi = 0;  ///< 0 = not stated. Unequal x and y resolution is an error.
};

/// Reads the header alone. Throws InputError, also if the file holds several plates.
PlateHeader read_plate_header(const std::filesystem::path& file);

/// read_plates() of the file's only plate. Throws InputError, also if the file holds several plates.
PlateImage read_plate(const std::filesystem::path& file, Polarity polarity, Diagnostics& notes);

}  // namespace kirtle
