#include "job/press_plan.h"

#include <algorithm>
#include <utility>

namespace kirtle {

std::vector<PressPass> press_passes(const Scene& scene) {
  std::vector<PressPass> passes;
  for (std::size_t i = 0; i < scene.passes.size(); ++i) {
    const ScenePass& pass = scene.passes[i];
    const auto same = [&](const ScenePass& other) {
      return other.plate == pass.plate && other.ink.id == pass.ink.id && other.mesh.id == pass.mesh.id &&
             other.mesh.threads_per_cm == pass.mesh.threads_per_cm && other.mesh.thread == pass.mesh.thread;
    };
    const auto first = std::find_if(scene.passes.begin(), scene.passes.end(), same);
    passes.push_back({static_cast<int>(first - scene.passes.begin()), pass.flash_after, pass.cool_down});
  }
  return passes;
}

RegisterModel register_model(const Scene& scene) {
  const PressSettings& press = scene.press;
  const std::vector<PressPass> placed = press_passes(scene);
  std::vector<RegisterPass> passes;
  for (std::size_t i = 0; i < scene.passes.size(); ++i)
    passes.push_back({placed[i].screen, scene.passes[i].offset, scene.passes[i].flash_shrink});
  RegisterModel model = press.holds
                            ? register_model(press.preset, *press.holds, std::move(passes), press.seed)
                            : register_model(press.preset, std::move(passes), press.seed, press.draw_setup);
  if (press.bad_pallet) model.pallet_biases.push_back(*press.bad_pallet);
  return model;
}

PressLimits press_limits(const Scene& scene) {
  return press_limits(scene.press.preset, scene.press.revolutions);
}

PlacedPasses place_scene(const Scene& scene) {
  PlacedPasses placed = place_passes(press_passes(scene), press_limits(scene), scene.press.place);
  if (scene.press.named) return placed;
  Diagnostics softer;
  for (const Diagnostic& d : placed.refusals.all())
    softer.warning(d.place, d.message, "say in [press] which press prints it; " + d.remedy);
  placed.refusals = std::move(softer);
  return placed;
}

}  // namespace kirtle
