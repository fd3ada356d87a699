#pragma once
// What stands at one point of the print: colour, stack, deposits, and how well it is known.
#include "light/srgb.h"
#include "predict/prediction.h"

#include <string>
#include <vector>

namespace kirtle {

/// One plate at the point.
struct PlateReading {
  std::string plate;
  double film = 0;     ///< 0..1; NaN if the point was given as printed coverage
  double printed = 0;  ///< 0..1: share covered, or dose of a soaked field
  bool field = false;
};

/// One line of the stack, from the top down.
struct StackLine {
  std::string what;  ///< "surface", an ink's name, "cloth, inked", "cloth, below"
  double um = 0;     ///< thickness, or for soaked ink its dry volume (um = cm3/m2)
  double share = 1;  ///< of the area that it covers at this point
  std::string note;  ///< "mixed wet", "soaked in, 1/e at 60 um", "dye left 12 %"
};

struct PointReading {
  std::vector<PlateReading> plates;
  Spectrum reflectance;
  XYZ xyz;
  Lab lab;
  SrgbColour srgb;
  std::string hex;
  std::vector<StackLine> stack;         ///< where every plate that prints here lies
  double wet_load_cm3_m2 = 0;           ///< mean over the tints
  double ink_build_um = 0;              ///< mean film on top of the cloth
  double soaked_um = 0;                 ///< mean dry ink in the cloth
  double agent_g_m2 = 0;                ///< mean
  bool not_predicted = false;           ///< an ink outside the model lies here
  std::vector<std::string> provenance;  ///< one line a record: what it is and how far to trust it
};

/// At printed coverages (or doses), one a plate of the model, 0..1.
PointReading read_printed(const Scene& scene, const PrintModel& model, const std::vector<double>& printed);
/// At film values, one a plate, 0..1: through each plate's tone curve.
PointReading read_film(const Scene& scene, const PrintModel& model, const std::vector<double>& film);
/// At a place of the print, mm from its top left corner. Throws InputError if outside. The colour is the
/// pixel's.
PointReading read_place(const Scene& scene, const Prediction& prediction, Mm x, Mm y);
/// The rows of the plates that read_place hangs on, for a Prediction that is asked for nothing else.
RowsWanted rows_for_place(const Scene& scene, Mm x, Mm y);

}  // namespace kirtle
