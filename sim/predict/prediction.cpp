#include "predict/prediction.h"

#include "plate/io/read_plate.h"
#include "screen/deposit.h"

#include <algorithm>
#include <fmt/format.h>
#include <optional>
#include <stdexcept>

namespace kirtle {

Um wet_deposit_of(const ScenePass& pass) {
  if (pass.wet_deposit) return {pass.wet_deposit->v * (1.0 + kFurtherStroke * (pass.strokes - 1))};
  return wet_deposit(pass.mesh, pass.transfer, pass.strokes);
}

std::vector<PrintingPlate> printing_plates(const Scene& scene) {
  std::vector<PrintingPlate> out;
  for (const ScenePass& pass : scene.passes) {
    const Um spread = pass.ink_spread.value_or(pass.ink.ink_spread);
    const auto known = std::find_if(out.begin(), out.end(),
                                    [&](const PrintingPlate& p) { return p.scene_plate == pass.plate; });
    if (known != out.end()) {
      if (spread > known->cover.tone.spread) {
        known->cover.tone.spread = spread;
        known->tone = ToneCurve(known->cover.tone);
      }
      continue;
    }
    CoverSettings cover;
    cover.field = pass.ink.soak >= kFieldSoak && !pass.ink.flat_reflectance;
    // A field keeps its amount of ink: what spreads sideways is the wicking, not more ink.
    cover.tone = {pass.halftone, cover.field ? Um{0} : spread, smallest_dot(pass.mesh), pass.steps,
                  pass.curve};
    cover.wick = pass.ink.wick;
    cover.offset = pass.offset;
    const std::string& name = scene.plates[static_cast<std::size_t>(pass.plate)].name;
    out.push_back({name, pass.plate, cover, ToneCurve(cover.tone), {pass.halftone, cover.field}});
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

/// Reads every printing plate; all faults together.
std::vector<PlateImage> read_images(const Scene& scene, const std::vector<PrintingPlate>& plates, double& ppi,
                                    Diagnostics& notes) {
  Diagnostics faults;
  std::vector<std::optional<PlateHeader>> headers;
  const auto file_of = [&](std::size_t i) {
    return scene.plates[static_cast<std::size_t>(plates[i].scene_plate)].file;
  };
  for (std::size_t i = 0; i < plates.size(); ++i) {
    try {
      headers.emplace_back(read_plate_header(file_of(i)));
    } catch (const InputError& e) {
      headers.emplace_back();
      faults.append(e.diagnostics());
    }
  }
  std::size_t first = plates.size();
  ppi = scene.ppi;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    if (!headers[i]) continue;
    if (first == plates.size()) first = i;
    const PlateHeader &a = *headers[first], &b = *headers[i];
    const Place place{file_of(i).string(), 0, 0};
    if (a.width != b.width || a.height != b.height) {
      faults.error(
          place,
          fmt::format(
              "plate \"{}\" is {} x {} pixels, but plate \"{}\" is {} x {}; the plates of one set must "
              "have the same size",
              plates[i].name, b.width, b.height, plates[first].name, a.width, a.height),
          "export all plates of the set from the same document at the same size");
    }
    if (scene.ppi > 0 || b.ppi == 0) continue;
    if (ppi == 0) ppi = b.ppi;
    if (std::abs(ppi - b.ppi) > 0.01 * ppi) {
      faults.error(
          place,
          fmt::format(
              "plate \"{}\" says {:.4g} pixels per inch, but an earlier plate of the set says {:.4g}; "
              "the plates of one set must agree",
              plates[i].name, b.ppi, ppi),
          "export all plates at one resolution, or write ppi = ... into the scene");
    }
  }
  if (first < plates.size() && ppi == 0 && !faults.has_errors()) {
    faults.error({scene.file.string(), 0, 0}, "no plate says its resolution, and the scene has no ppi",
                 "write ppi = 300 (pixels per inch of the plates at print size) into the scene");
  }
  faults.throw_if_errors();
  std::vector<PlateImage> images;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    try {
      const ScenePlate& plate = scene.plates[static_cast<std::size_t>(plates[i].scene_plate)];
      images.push_back(read_plate(plate.file, plate.polarity, notes));
    } catch (const InputError& e) {
      faults.append(e.diagnostics());
    }
  }
  faults.throw_if_errors();
  return images;
}

}  // namespace

PrintModel::PrintModel(const Scene& scene) : plates(printing_plates(scene)), table(table_of(scene, plates)) {}

Prediction::Prediction(const Scene& scene, Diagnostics& notes) : model_(scene) {
  images_ = read_images(scene, model_.plates, ppi_, notes);
  covers_.reserve(images_.size());
  for (std::size_t i = 0; i < images_.size(); ++i)
    covers_.emplace_back(images_[i], ppi_, model_.plates[i].cover);
  renderer_ = std::make_unique<PrintRenderer>(model_.table, covers_);
}

}  // namespace kirtle
