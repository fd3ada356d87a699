#pragma once
// The predicted print as pixels, and a drawn T-shirt with that print on it: our own drawing, to scale. Cut
// and folds of the shirt are a drawing's; only the print and the cloth's colour are predicted.
#include "job/read_order.h"
#include "predict/prediction.h"
#include "proof/page.h"

#include <array>
#include <optional>
#include <vector>

namespace kirtle {

/// Where the ink lies on the plates.
struct InkBox {
  int x0 = 0, y0 = 0, x1 = 0, y1 = 0;  ///< plate pixels, x1 and y1 beyond the last; all 0 = no ink at all
  int width() const { return x1 - x0; }
  int height() const { return y1 - y0; }
};
/// Pixels with more than 2 % ink on film, of any plate that prints.
InkBox ink_box(const Prediction& prediction);

/// Linear sRGB pixels of the print or a part of it.
struct PrintPixels {
  int width = 0, height = 0;
  double px_per_mm = 1;
  std::vector<std::array<float, 3>> rgb;
};
/// The part of the print in `box`, each pixel the mean of the plate pixels under it. px_per_mm > 0; more than
/// the plates have gives what they have.
PrintPixels print_pixels(const Prediction& prediction, const InkBox& box, double px_per_mm, unsigned threads);

/// The pixels as they are, opaque, with the cloth's knit laid over them lightly if they are fine enough to
/// show it.
PagePicture close_up(const PrintPixels& pixels);

/// A window of at most width_mm x height_mm where most happens, within the ink. px_per_mm of `coarse` about
/// 0.5 to 2.
InkBox busiest_window(const PrintPixels& coarse, const InkBox& ink, double plate_px_per_mm, double width_mm,
                      double height_mm);

enum class GarmentView { front, back };
constexpr GarmentView view_of(PrintLocation location) {
  return location == PrintLocation::back || location == PrintLocation::nape ? GarmentView::back
                                                                            : GarmentView::front;
}

struct Garment {
  double chest_mm = 500, length_mm = 720;
  std::array<float, 3> cloth{};  ///< linear sRGB
  PrintLocation location = PrintLocation::front;
  double drop_mm = 75;  ///< collar to print (sleeve: hem to print)
  double print_width_mm = 300, print_height_mm = 340;
};

/// Where things stand on a garment, mm from the picture's top left corner at true size.
struct GarmentLayout {
  double width_mm = 0, height_mm = 0;  ///< of the picture, sleeves and all
  PageBox print;                       ///< the print upright; on a sleeve its middle, turned
  double turn_deg = 0;                 ///< of a print on a sleeve, clockwise
  double collar_y_mm = 0;              ///< lower edge of the collar at the middle
};
GarmentLayout lay_garment(const Garment& garment);

/// A part of a drawn garment, pixels from its picture's top left corner; it may reach beyond the picture.
struct GarmentWindow {
  int x0 = 0, y0 = 0, width = 0, height = 0;
};

/// The garment with the print at px_per_mm, see-through round it; the window alone if one is given. The print
/// is stretched to its stated size.
PagePicture draw_garment(const Garment& garment, const PrintPixels& print, double px_per_mm,
                         const std::optional<GarmentWindow>& window = {});

}  // namespace kirtle
