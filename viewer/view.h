#pragma once
// Where the eye is: which place of the print lies in the middle of the pane, and how large a millimetre is.
#include <algorithm>

namespace kirtle {

constexpr double kLeastPxPerMm = 0.2, kMostPxPerMm = 400;

struct PointMm {
  double x = 0, y = 0;
};

struct View {
  PointMm centre;        ///< of the pane, mm from the plates' top left corner
  double px_per_mm = 2;  ///< screen pixels, kLeastPxPerMm..kMostPxPerMm

  /// Place of the print under a screen pixel, given from the pane's middle.
  PointMm at(double dx_px, double dy_px) const {
    return {centre.x + dx_px / px_per_mm, centre.y + dy_px / px_per_mm};
  }
  void pan(double dx_px, double dy_px) {
    centre.x -= dx_px / px_per_mm;
    centre.y -= dy_px / px_per_mm;
  }
  /// The place under (dx, dy) stays where it is.
  void zoom(double factor, double dx_px, double dy_px) {
    const PointMm fixed = at(dx_px, dy_px);
    px_per_mm = std::clamp(px_per_mm * factor, kLeastPxPerMm, kMostPxPerMm);
    centre = {fixed.x - dx_px / px_per_mm, fixed.y - dy_px / px_per_mm};
  }
};

}  // namespace kirtle
