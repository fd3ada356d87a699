#pragma once
// From a scene to a print: plates read, deposits worked out, the overprint table and the renderer made.
#include "base/diagnostics.h"
#include "job/scene.h"
#include "plate/plate_image.h"
#include "predict/plate_set.h"
#include "print/overprint_table.h"
#include "print/renderer.h"

#include <memory>
#include <string>
#include <vector>

namespace kirtle {

/// Soak at and above which an ink's tints are a dose that wicks flat rather than dots lying on top.
constexpr double kFieldSoak = 0.5;

/// One plate that prints, with the screen it is printed through.
struct PrintingPlate {
  std::string name;
  int scene_plate = 0;  ///< index into Scene::plates
  CoverSettings cover;
  ToneCurve tone;  ///< film to printed
  PlateDots dots;
};

/// A tint of this ink is a dose, not dots.
bool is_field(const Ink& ink);

/// How a tint prints in one pass: screen, spread (none for a dose, whose amount is kept), stencil.
ToneSettings tone_settings_of(const ScenePass& pass);

/// Wet ink of one pass where its plate prints solid.
Um wet_deposit_of(const ScenePass& pass);

/// The first pass of a plate, by index into Scene::plates, and its number among the scene's passes. The plate
/// must have one.
std::size_t first_pass_number(const Scene& scene, int scene_plate);
const ScenePass& first_pass_of(const Scene& scene, int scene_plate);

/// Plates that have a pass, in the order of their first pass. Screen, tone and register are those of that
/// first pass; the ink spread is the largest of the plate's passes.
std::vector<PrintingPlate> printing_plates(const Scene& scene);

/// The stack of a scene; plates numbered as in `plates`.
Stack stack_of(const Scene& scene, const std::vector<PrintingPlate>& plates);

/// Everything but the plates' images: enough for a reading at given coverages. Throws InputError.
struct PrintModel {
  explicit PrintModel(const Scene& scene);
  std::vector<PrintingPlate> plates;
  OverprintTable table;
};

/// The images of a scene's printing_plates(), in their order. What was noticed is added to `notes`. Throws
/// InputError with every fault of every plate.
std::shared_ptr<const PlateSet> read_printing_plates(const Scene& scene, Diagnostics& notes,
                                                     const RowsWanted& rows_wanted = {});

/// A scene with its plates loaded. The scene must outlive it.
class Prediction {
 public:
  /// Reads the plates; all must agree in size and resolution. What was noticed is added to `notes`. Throws
  /// InputError with every fault of every plate. rows_wanted: below them plates may be without ink.
  Prediction(const Scene& scene, Diagnostics& notes, const RowsWanted& rows_wanted = {});
  /// The same with the plates at hand, one for each of printing_plates(scene), in that order, all of one
  /// size; ppi > 0.
  Prediction(const Scene& scene, std::vector<PlateImage> images, double ppi);
  /// The same with plates that several predictions share.
  Prediction(const Scene& scene, std::shared_ptr<const PlateSet> plates);

  const std::shared_ptr<const PlateSet>& plate_set() const { return plates_; }

  const PrintModel& model() const { return *model_; }
  const PrintRenderer& renderer() const { return *renderer_; }
  const std::vector<PlateCover>& covers() const { return covers_; }
  double ppi() const { return ppi_; }
  double width_mm() const { return renderer_->width() / ppi_ * kMmPerInch; }
  double height_mm() const { return renderer_->height() / ppi_ * kMmPerInch; }

 private:
  struct Parts {
    std::unique_ptr<const PrintModel> model;
    std::shared_ptr<const PlateSet> plates;
  };
  static Parts read_parts(const Scene& scene, Diagnostics& notes, const RowsWanted& rows_wanted);
  Prediction(const Scene& scene, Parts parts);

  std::unique_ptr<const PrintModel> model_;
  std::shared_ptr<const PlateSet> plates_;
  std::vector<PlateCover> covers_;
  std::unique_ptr<PrintRenderer> renderer_;
  double ppi_ = 0;
};

}  // namespace kirtle
