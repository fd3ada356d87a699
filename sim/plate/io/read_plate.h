#pragma once
// Plates from files. Grey PNG (1, 2, 4, 8, 16 bit) and grey TIFF (8, 16 bit). Nothing is allocated before the
// header has passed the limits.
#include "base/diagnostics.h"
#include "plate/plate_image.h"

#include <filesystem>

namespace kirtle {

/// Limits, enforced from the header. Chosen to let a 700 x 1000 mm print at 600 ppi through (16535 x 23622)
/// and no more.
constexpr int kMaxPlateSide = 65000;
constexpr std::size_t kMaxPlatePixels = 400'000'000;

/// What the header says.
struct PlateHeader {
  int width = 0, height = 0, bits = 8;
  double ppi = 0;  ///< 0 = not stated. Unequal x and y resolution is an error.
};

/// Reads the header alone. Throws InputError.
PlateHeader read_plate_header(const std::filesystem::path& file);

/// Reads the plate. `polarity` is how the file's numbers say ink (for TIFF: after its photometric tag has
/// been honoured, so that MinIsWhite and MinIsBlack files that look the same read the same). Notices (ignored
/// alpha, gamma, profile; R=G=B accepted) are added to `notes`. Throws InputError: file, what was found, what
/// is allowed, remedy.
PlateImage read_plate(const std::filesystem::path& file, Polarity polarity, Diagnostics& notes);

}  // namespace kirtle
