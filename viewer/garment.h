#pragma once
// A drawn garment to lay prints on: our own outline of a T-shirt, mm, the middle of the collar's front at (0,
// 0).
#include <vector>

namespace kirtle {

struct GarmentDrawing {
  double left_mm = 0, top_mm = 0, width_mm = 0, height_mm = 0;
  int columns = 0, rows = 0;
  std::vector<float> distance;  ///< two a sample: to the outline, inside > 0, and to the nearest seam; mm
};

/// An adult's shirt, about 540 mm across the chest. Made once.
const GarmentDrawing& garment_drawing();

}  // namespace kirtle
