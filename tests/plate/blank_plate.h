#pragma once
// Plates to draw on.
#include "plate/plate_image.h"

namespace kirtle::test {

/// Without ink; bits: 8 or 16.
inline PlateImage blank_plate(int width, int height, double ppi, int bits) {
  PlateImage plate;
  plate.width = width;
  plate.height = height;
  plate.ppi = ppi;
  plate.bits = bits;
  if (bits == 8) {
    plate.ink8.assign(plate.pixels(), 0);
  } else {
    plate.ink16.assign(plate.pixels(), 0);
  }
  return plate;
}

}  // namespace kirtle::test
