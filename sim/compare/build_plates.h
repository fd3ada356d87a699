#pragma once
// A build put on plates: the scene's light and dark reshaped, all others as they are, and the scene that
// prints them.
#include "compare/evaluate.h"
#include "plate/reshape/change.h"
#include "predict/prediction.h"

#include <filesystem>
#include <string>
#include <vector>

namespace kirtle {

/// What was done to a plate, for the change list.
struct PlateChange {
  std::string plate;
  std::vector<std::string> done;  ///< one line a step, in shop words; empty = as it arrived
  Change change;
};

struct BuiltPlates {
  BuildKind kind = BuildKind::fade;
  Scene scene;                     ///< as the original, without the dark's passes where it does not print
  std::vector<PlateImage> images;  ///< one for each of printing_plates(scene)
  double ppi = 0;
  std::string compensated;           ///< plate that got a curve here, which is now in the film; may be empty
  std::vector<PlateChange> changes;  ///< one for each plate of the original that prints
};

/// figures: of evaluate_build for the same scene. body: see light_body.
BuiltPlates build_plates(const Scene& scene, const Prediction& arrived, const CompareRoles& roles,
                         const PlateImage& body, const BuildFigures& figures, unsigned threads);

/// What corrected plates are written as.
enum class PlateForm {
  png,        ///< a grey PNG a plate
  tiff,       ///< a grey TIFF a plate
  separated,  ///< one Separated TIFF, an ink a plate
  films,      ///< a 1-bit PNG a plate: dots at 1200 per inch, register marks and a label outside the art
};

/// Writes the plates, a scene for them and the change list into a folder, which is made. The scene's text is
/// the original's with the plates' files in place; its records still come from where the original found them.
/// Files: N-PLATE.png or .tif, or plates.tif; scene.toml; changes.txt. Nothing is left half-written: each
/// file is renamed into place, the scene last. Throws InputError (folder), std::runtime_error (disk).
void write_build(const Scene& original, const BuiltPlates& built, const std::filesystem::path& folder,
                 PlateForm form, unsigned threads);

/// The change list as text.
std::string change_list(const Scene& original, const BuiltPlates& built);

}  // namespace kirtle
