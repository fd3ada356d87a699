#include "predict/run_press.h"

#include "job/library.h"
#include "job/press_plan.h"

#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>

namespace kirtle {

void use_press(Scene& scene, const std::string& id) {
  Diagnostics faults;
  Library library(scene.data_folders);
  const std::vector<std::string> ids = library.ids("presses");
  if (std::find(ids.begin(), ids.end(), id) == ids.end()) {
    const std::string near = nearest_name(id, ids);
    throw InputError({}, fmt::format("--press \"{}\": there is no such press", printable(id)),
                     fmt::format("use one of {}{}", fmt::join(ids, ", "),
                                 near.empty() ? "" : fmt::format("; perhaps you mean {}", near)));
  }
  const PressPreset* press = library.press(id, {}, faults);
  faults.throw_if_errors();
  scene.press.preset = *press;
  scene.press.holds.reset();
  scene.press.named = true;
  scene.press.place = {"--press " + id, 0, 0};
  if (scene.press.bad_pallet && scene.press.bad_pallet->pallet > press->pallets) {
    throw InputError(scene.press.place,
                     fmt::format("the scene's bad pallet is number {}, and this press has {}",
                                 scene.press.bad_pallet->pallet, press->pallets),
                     "change [press] bad_pallet in the scene, or name another press");
  }
  place_scene(scene).refusals.throw_if_errors();
}

Scene sample_print(const Scene& scene) {
  const RegisterRun press(register_model(scene));
  Scene out = scene;
  for (std::size_t i = 0; i < out.passes.size(); ++i)
    out.passes[i].offset = press.fixed_of(static_cast<int>(i));
  return out;
}

}  // namespace kirtle
