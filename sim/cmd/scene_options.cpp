#include "cmd/scene_options.h"

#include "base/units.h"

#include <cstdio>
#include <fmt/format.h>

namespace kirtle {

void SceneArguments::add_to(CLI::App& command) {
  command.add_option("SCENE", scene, "Scene file (docs/formats.md)")->required();
  command.add_option("--light", light,
                     "Light to see it under: D50, D65, A, F1 to F12, LED-B3 (scene: [view] light)");
  command.add_option("--shirt", shirt, "Another shirt, by id (kirtle shirts lists them)");
  command.add_option("--data", data, "Further folder of inks, shirts, meshes; may be given more than once");
}

Scene SceneArguments::read() const {
  SceneOptions options;
  if (!light.empty()) options.light = light;
  if (!shirt.empty()) options.shirt = shirt;
  for (const std::string& folder : data) options.data_folders.emplace_back(folder);
  Scene out = read_scene(scene, options);
  print_notes(out.notes);
  return out;
}

void print_notes(const std::vector<Diagnostic>& notes) {
  for (const Diagnostic& d : notes) fmt::print(stderr, "{}\n", to_string(d));
}

std::string mesh_text(double threads_per_cm) {
  return fmt::format("{:.4g} threads/cm ({:.0f}/in)", threads_per_cm,
                     threads_per_inch_from_per_cm(threads_per_cm));
}

std::string length_text(double mm) { return fmt::format("{:.1f} mm ({:.2f} in)", mm, mm / kMmPerInch); }

}  // namespace kirtle
