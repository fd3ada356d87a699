#include "job/read_scene.h"

#include "job/press_plan.h"
#include "job/read_passes.h"
#include "job/read_plate_table.h"
#include "job/read_press.h"
#include "job/records.h"

#include <algorithm>
#include <utility>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

void read_dryer(TableReader& root, DischargeProcess& process) {
  std::optional<TableReader> t = root.table("dryer");
  if (!t) {
    if (!root.has("dryer")) root.assume("dryer");
    return;
  }
  std::vector<TableReader> steps = t->tables("steps", 50);
  t->finish();
  if (steps.empty()) {
    if (!t->has("steps"))
      t->error_here("the dryer has no steps", "add steps = [{ temperature = \"160 C\", seconds = 90 }]");
    return;
  }
  process.dryer.clear();
  for (TableReader& s : steps) {
    DryerStep step;
    step.celsius =
        s.quantity("temperature", Measure::temperature_c, "", {20, 250}, Need::required).value_or(160);
    step.seconds = s.quantity("seconds", Measure::time_s, "s", {0, 3600, true}, Need::required).value_or(60);
    s.finish();
    process.dryer.push_back(step);
  }
}

void read_discharge(TableReader& root, DischargeProcess& process) {
  std::optional<TableReader> t = root.table("discharge");
  if (!t) return;
  process.pot_hours = t->number_or("pot_hours", {0, 200}, process.pot_hours);
  process.pot_life_hours = t->number_or("pot_life_hours", {0, 1000, true}, process.pot_life_hours);
  process.kr_per_s = t->number_or("kr_per_s", {0, 1e4}, process.kr_per_s);
  process.kd_per_s = t->number_or("kd_per_s", {0, 1e4}, process.kd_per_s);
  process.ea_r_kj_mol = t->number_or("ea_r_kj_mol", {0, 500}, process.ea_r_kj_mol);
  process.ea_d_kj_mol = t->number_or("ea_d_kj_mol", {0, 500}, process.ea_d_kj_mol);
  process.t_ref_celsius =
      t->quantity("t_ref", Measure::temperature_c, "", {20, 250}).value_or(process.t_ref_celsius);
  t->finish();
}

void check_light(const std::string& light, const Place& place, const std::string& shown_name,
                 Diagnostics& faults) {
  const std::vector<std::string> known = light_names();
  if (std::find(known.begin(), known.end(), light) != known.end()) return;
  std::string all;
  for (const std::string& l : known) all += (all.empty() ? "" : ", ") + l;
  faults.error(place, shown_name + " is \"" + printable(light, 60) + "\", which is no known light",
               "name one of " + all);
}

void read_view(TableReader& root, Scene& scene, const SceneOptions& options) {
  if (std::optional<TableReader> t = root.table("view")) {
    if (const std::optional<std::string> light = t->text("light")) {
      scene.light = *light;
      check_light(*light, t->place(*t->find("light")), t->name("light"), root.faults());
    }
    scene.observer = read_observer(*t, "observer").value_or(scene.observer);
    scene.surface_light = t->flag_or("surface", scene.surface_light);
    t->finish();
  }
  if (!options.light) return;
  scene.light = *options.light;
  check_light(scene.light, {}, "the light asked for", root.faults());
}

void read_shirts(TableReader& root, Scene& scene, const SceneOptions& options, Library& library) {
  const std::optional<std::string> named = root.id("shirt", options.shirt ? Need::optional : Need::required);
  if (options.shirt) {
    if (const Cloth* shirt = library.shirt(*options.shirt, options.shirt_asked_at, root.faults()))
      scene.shirt = *shirt;
  } else if (named) {
    if (const Cloth* shirt = library.shirt(*named, root.place(*root.find("shirt")), root.faults()))
      scene.shirt = *shirt;
  }
  root.texts("other_shirts", 50);
  const Value* others = root.find("other_shirts");
  if (others == nullptr || others->kind != ValueKind::list) return;
  for (const Value& v : others->items) {
    if (v.kind != ValueKind::text) continue;
    if (const Cloth* shirt = library.shirt(v.text, root.place(v), root.faults()))
      scene.other_shirts.push_back(*shirt);
  }
}

std::vector<fs::path> data_folders(TableReader& root, const fs::path& scene_file,
                                   const SceneOptions& options) {
  std::vector<fs::path> folders = options.data_folders;
  root.texts("data", 10);
  const Value* named = root.find("data");
  if (named == nullptr || named->kind != ValueKind::list) return folders;
  for (const Value& v : named->items) {
    if (v.kind != ValueKind::text) continue;
    const fs::path folder = (scene_file.parent_path() / v.text).lexically_normal();
    std::error_code code;
    if (fs::is_directory(folder, code)) {
      folders.push_back(folder);
    } else {
      root.error(v, "there is no folder " + printable(folder.string()),
                 "data names folders that hold inks/, shirts/, meshes/ or presses/, seen from the scene's "
                 "own folder");
    }
  }
  return folders;
}

void read_compare(TableReader& root, Scene& scene) {
  std::optional<TableReader> t = root.table("compare");
  if (!t) return;
  const auto plate = [&](const char* key) {
    const std::string name = t->text(key).value_or("");
    const bool known = name.empty() || std::any_of(scene.plates.begin(), scene.plates.end(),
                                                   [&](const ScenePlate& p) { return p.name == name; });
    if (!known) {
      std::string all;
      for (const ScenePlate& p : scene.plates) all += (all.empty() ? "" : ", ") + printable(p.name, 60);
      t->error(*t->find(key), "there is no plate \"" + printable(name, 60) + "\"", "the plates are: " + all);
    }
    return name;
  };
  scene.compare.light = plate("light");
  scene.compare.dark = plate("dark");
  if (!scene.compare.light.empty() && scene.compare.light == scene.compare.dark)
    t->error_here("light and dark are one and the same plate", "name two plates");
  if (const std::optional<std::string> art = t->text("art"))
    scene.compare.art = (scene.file.parent_path() / *art).lexically_normal();
  scene.compare.wet_limit_cm3_m2 = t->number("wet_limit_cm3_m2", {0, 1000, true});
  scene.compare.ink_build_limit_um = t->number("ink_build_limit_um", {0, 2000, true});
  t->finish();
}

/// Advice that needs the whole scene.
void look_over(const Scene& scene, TableReader& root) {
  const bool discharges = std::any_of(scene.passes.begin(), scene.passes.end(),
                                      [](const ScenePass& p) { return p.ink.agent_g_cm3 > 0; });
  const int grade = scene.shirt.discharge_grade;
  if (discharges && grade > 0 && grade <= 3) {
    root.faults().warning(root.place(),
                          "shirt \"" + scene.shirt.id + "\" is graded " + std::to_string(grade) +
                              " of 5 for discharge, and an ink of the scene discharges",
                          "test-print this dye lot before the run");
  }
  for (std::size_t i = 0; i < scene.plates.size(); ++i) {
    const bool used = std::any_of(scene.passes.begin(), scene.passes.end(),
                                  [&](const ScenePass& p) { return p.plate == static_cast<int>(i); });
    if (!used && scene.plates[i].role == PlateRole::print) {
      root.faults().warning(root.place(),
                            "plate \"" + printable(scene.plates[i].name) + "\" is printed by no pass",
                            "add a [[pass]] for it, or take the plate out");
    }
  }
}

}  // namespace

Scene read_scene(const fs::path& file, const SceneOptions& options) {
  Diagnostics faults;
  Scene scene;
  scene.file = file;
  const std::optional<Document> document = read_document(file, faults);
  if (!document) throw InputError(std::move(faults));
  TableReader root(*document, document->root, "", faults, &scene.assumed);
  read_schema(root);
  scene.title = root.text("title", Need::required, 200).value_or("");
  scene.note = root.text("note").value_or("");
  Library library = load_library(data_folders(root, file, options), faults);
  scene.data_folders = library.folders();
  read_shirts(root, scene, options, library);
  scene.ppi = root.number("ppi", {10, 5000}).value_or(0);
  if (options.ppi) scene.ppi = *options.ppi;
  scene.art_box = read_art_box(root);
  read_view(root, scene, options);
  read_dryer(root, scene.discharge);
  read_discharge(root, scene.discharge);
  if (std::optional<TableReader> t = root.table("model")) {
    scene.yule_nielsen_n = t->number("yule_nielsen_n", {1, 10});
    t->finish();
  }
  read_plates_and_passes(root, scene, library);
  read_press_settings(root, scene, library);
  read_compare(root, scene);
  root.finish();
  faults.throw_if_errors();
  look_over(scene, root);
  faults.append(place_scene(scene).refusals);
  faults.throw_if_errors();
  scene.notes = faults.all();
  return scene;
}

}  // namespace kirtle
