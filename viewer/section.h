#pragma once
// The stack at a point as a drawing: films on top and the cloth below, to scale, each part in about its own
// colour.
#include "build.h"
#include "predict/reading.h"

#include <string>
#include <vector>

namespace kirtle {

/// A band of the drawing. Colours are those of an endless layer of the same K and S: what the stuff looks
/// like by itself. They are there to tell layers apart; the prediction does not use them.
struct SectionBand {
  double top_um = 0, bottom_um = 0;  ///< below the cloth's face; films lie above, so below 0
  Rgb8 colour{};
  std::string what;  ///< "Scarlet", "cloth"
};

/// Part of the width: where the same dots lie.
struct SectionColumn {
  double left = 0, right = 1;  ///< 0..1 of the width
  std::vector<SectionBand> bands;
};

struct Section {
  std::vector<SectionColumn> columns;
  double build_um = 0, cloth_um = 0;  ///< the tallest film; the ply
  /// Dye left and soaked ink down the ply, for the curve beside it: at depth_um.
  std::vector<double> depth_um, dye_left, ink_share;
  bool has_dye = false;
};

Section make_section(const Build& build, const PointReading& reading);

/// Colour of an endless layer of K and S under D50.
Rgb8 endless_colour(const Spectrum& k, const Spectrum& s);

}  // namespace kirtle
