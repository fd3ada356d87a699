#include "predict/prediction.h"

#include "base/check.h"
#include "base/parallel.h"
#include "screen/deposit.h"

#include <algorithm>
#include <cmath>
#include <exception>
#include <fmt/format.h>
#include <stdexcept>
#include <utility>

namespace kirtle {

std::size_t first_pass_number(const Scene& scene, int scene_plate) {
  const auto first = std::find_if(scene.passes.begin(), scene.passes.end(),
                                  [scene_plate](const ScenePass& pass) { return pass.plate == scene_plate; });
  const auto number = static_cast<std::size_t>(first - scene.passes.begin());
  KIRTLE_CHECK(number, <, scene.passes.size());
  return number;
}

const ScenePass& first_pass_of(const Scene& scene, int scene_plate) {
  return scene.passes[first_pass_number(scene, scene_plate)];
}

Um wet_deposit_of(const ScenePass& pass) {
  if (pass.wet_deposit) return {pass.wet_deposit->v * (1.0 + kFurtherStroke * (pass.strokes - 1))};
  return wet_deposit(pass.mesh, pass.transfer, pass.strokes);
}

bool is_field(const Ink& ink) { return ink.soak >= kFieldSoak && !ink.flat_reflectance; }

ToneSettings tone_settings_of(const ScenePass& pass) {
  // A field keeps its amount of ink: what spreads sideways is the wicking, not more ink.
  const Um spread = is_field(pass.ink) ? Um{0} : pass.ink_spread.value_or(pass.ink.ink_spread);
  return {pass.halftone, spread, smallest_dot(pass.mesh), pass.steps, pass.curve};
}

std::vector<PrintingPlate> printing_plates(const Scene& scene) {
  std::vector<PrintingPlate> out;
  for (const ScenePass& pass : scene.passes) {
    const Um spread = pass.ink_spread.value_or(pass.ink.ink_spread);
    const auto known = std::find_if(out.begin(), out.end(),
                                    [&](const PrintingPlate& p) { return p.scene_plate == pass.plate; });
    if (known != out.end()) {
      if (!known->cover.field && spread > known->cover.tone.spread) {
        known->cover.tone.spread = spread;
        known->tone = ToneCurve(known->cover.tone);
      }
      continue;
    }
    CoverSettings cover;
    cover.field = is_field(pass.ink);
    cover.tone = tone_settings_of(pass);
    cover.wick = pass.ink.wick;
    cover.offset = pass.offset;
    const std::string& name = scene.plates[static_cast<std::size_t>(pass.plate)].name;
    out.push_back({name,
                   pass.plate,
                   cover,
                   ToneCurve(cover.tone),
                   {pass.halftone, cover.field, pass.offset.dx, pass.offset.dy}});
  }
  return out;
}

Stack stack_of(const Scene& scene, const std::vector<PrintingPlate>& plates) {
  std::vector<StackPass> passes;
  for (const ScenePass& pass : scene.passes) {
    const auto plate = std::find_if(plates.begin(), plates.end(),
                                    [&](const PrintingPlate& p) { return p.scene_plate == pass.plate; });
    passes.push_back(
        {static_cast<int>(plate - plates.begin()), pass.ink, wet_deposit_of(pass), pass.flash_after});
  }
  StackSettings settings;
  settings.wet_trapping = scene.press.wet_trapping;
  settings.wet_pickup = scene.press.wet_pickup;
  settings.surface_light = scene.surface_light;
  return Stack(scene.shirt, std::move(passes), static_cast<int>(plates.size()), scene.discharge, settings);
}

namespace {

std::vector<PlateDots> dots_of(const std::vector<PrintingPlate>& plates) {
  std::vector<PlateDots> out;
  for (const PrintingPlate& plate : plates) out.push_back(plate.dots);
  return out;
}

OverprintTable table_of(const Scene& scene, const std::vector<PrintingPlate>& plates) {
  try {
    return OverprintTable(stack_of(scene, plates), dots_of(plates),
                          {viewing_weights(scene.light, scene.observer), scene.yule_nielsen_n});
  } catch (const std::domain_error& e) {
    throw InputError({scene.file.string(), 0, 0}, e.what());
  }
}

}  // namespace

PrintModel::PrintModel(const Scene& scene) : plates(printing_plates(scene)), table(table_of(scene, plates)) {}

std::shared_ptr<const PlateSet> read_printing_plates(const Scene& scene, Diagnostics& notes,
                                                     const RowsWanted& rows_wanted) {
  std::vector<int> which;
  for (const PrintingPlate& plate : printing_plates(scene)) which.push_back(plate.scene_plate);
  return std::make_shared<const PlateSet>(read_plate_set(scene, which, notes, rows_wanted));
}

/// The model is worked out while the plates are read. Of faults, those of the plates come first.
Prediction::Parts Prediction::read_parts(const Scene& scene, Diagnostics& notes,
                                         const RowsWanted& rows_wanted) {
  Parts out;
  std::exception_ptr plates_fault, model_fault;
  parallel_for(2, 0, [&](std::size_t item, unsigned) {
    std::exception_ptr& fault = item == 0 ? plates_fault : model_fault;
    try {
      if (item == 0) {
        out.plates = read_printing_plates(scene, notes, rows_wanted);
      } else {
        out.model = std::make_unique<const PrintModel>(scene);
      }
    } catch (...) {
      fault = std::current_exception();
    }
  });
  for (const std::exception_ptr& fault : {plates_fault, model_fault}) {
    if (fault) std::rethrow_exception(fault);
  }
  return out;
}

Prediction::Prediction(const Scene& scene, Diagnostics& notes, const RowsWanted& rows_wanted)
    : Prediction(scene, read_parts(scene, notes, rows_wanted)) {}

Prediction::Prediction(const Scene& scene, std::vector<PlateImage> images, double ppi)
    : Prediction(scene, std::make_shared<const PlateSet>(PlateSet{std::move(images), ppi})) {}

Prediction::Prediction(const Scene& scene, std::shared_ptr<const PlateSet> plates)
    : Prediction(scene, Parts{std::make_unique<const PrintModel>(scene), std::move(plates)}) {}

Prediction::Prediction(const Scene& scene, Parts parts)
    : model_(std::move(parts.model)), plates_(std::move(parts.plates)), ppi_(plates_->ppi) {
  KIRTLE_CHECK(plates_->images.size(), ==, model_->plates.size());
  KIRTLE_CHECK(ppi_, >, 0);
  for (const PrintingPlate& plate : model_->plates) {
    const double spread_px = plate.cover.tone.spread.v / kUmPerInch * ppi_;
    if (std::abs(spread_px) <= kMostSpreadPx) continue;
    throw InputError(
        {scene.file.string(), 0, 0},
        fmt::format(
            "plate \"{}\": an ink spread of {:g} um is {:.0f} pixels at {:g} pixels per inch; at most "
            "{:g} are allowed",
            plate.name, plate.cover.tone.spread.v, spread_px, ppi_, kMostSpreadPx),
        "check ink_spread_um, or ppi: plates of films at printing size have 200 to 1200");
  }
  covers_.reserve(model_->plates.size());
  for (std::size_t i = 0; i < model_->plates.size(); ++i)
    covers_.emplace_back(plates_->images[i], ppi_, model_->plates[i].cover);
  renderer_ = std::make_unique<PrintRenderer>(model_->table, covers_);
}

}  // namespace kirtle
