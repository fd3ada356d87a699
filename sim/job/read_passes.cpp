#include "job/read_passes.h"

#include "job/read_plate_table.h"
#include "job/read_scene.h"
#include "job/records.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace kirtle {

namespace {

/// What a number without its unit may mean: "156/in", which is "61/cm".
std::string remedy_of_bare_count(const std::string& number) {
  const double per_cm = quantity_from(number + "/in", Measure::mesh_per_cm).value_or(0);
  return "write \"" + number + "/in\", which is \"" + shown(std::round(per_cm)) + "/cm\"; or \"" + number +
         "/cm\", if it is to the cm";
}

/// "61-64": an id. "156/in": the one mesh of the library within 3 % of that count.
const Mesh* mesh_by_name(TableReader& t, const Value& v, Library& library) {
  const std::optional<double> count = quantity_from(v.text, Measure::mesh_per_cm);
  if (!count && is_bare_number(v.text)) {
    t.error(v,
            t.name("mesh") + " is " + shown(v) + "; a count must say whether it is to the inch or to the cm",
            remedy_of_bare_count(v.text));
    return nullptr;
  }
  if (!count) return library.mesh(v.text, t.place(v), t.faults());
  if (!(*count > 0)) {
    t.error(v, t.name("mesh") + " is " + shown(v) + "; a count must be above 0",
            "write threads to the cm or to the inch, such as \"61/cm\" or \"156/in\"");
    return nullptr;
  }
  std::vector<std::string> near, known;
  std::string nearest;
  double apart = std::numeric_limits<double>::infinity();
  for (const Mesh& mesh : library.all_meshes(t.faults())) {
    known.push_back(mesh.id);
    const double off = std::abs(mesh.threads_per_cm / *count - 1);
    if (off <= 0.03) near.push_back(mesh.id);
    if (off < apart || nearest.empty()) {
      apart = off;
      nearest = mesh.id;
    }
  }
  if (near.size() == 1) return library.mesh(near[0], t.place(v), t.faults());
  std::string ids;
  for (const std::string& id : near.empty() ? known : near) ids += (ids.empty() ? "" : ", ") + id;
  t.error(v,
          t.name("mesh") + " is " + shown(v) + ", and " + std::to_string(near.size()) +
              " known meshes have that count",
          (near.empty() ? "the nearest is " + nearest + "; known meshes: " : "name one of ") + ids +
              " (threads per cm - thread in um)");
  return nullptr;
}

void read_mesh_of_pass(TableReader& t, ScenePass& pass, Library& library) {
  const Value* v = t.find("mesh", Need::required,
                          "a mesh: an id such as \"61-64\", a count such as \"156/in\", or a table");
  if (v == nullptr) return;
  if (v->kind == ValueKind::table) {
    std::optional<TableReader> inline_mesh = t.table("mesh");
    pass.mesh.id = "given in the scene";
    pass.mesh.provenance.source = "the scene";
    read_mesh_geometry(*inline_mesh, pass.mesh);
    inline_mesh->finish();
  } else if (v->kind != ValueKind::text) {
    t.error(*v,
            t.name("mesh") + " is " + shown(*v) +
                "; it must be an id such as \"61-64\", a count such as \"156/in\", or a table",
            is_bare_number(shown(*v)) ? remedy_of_bare_count(shown(*v)) : std::string());
  } else if (const Mesh* mesh = mesh_by_name(t, *v, library)) {
    pass.mesh = *mesh;
  }
}

/// [[asked %, prints %], ...], rising, 2 to 101 rows; 0 prints 0 and 100 prints 100 are added where they are
/// left out.
std::optional<StepTable> read_steps(TableReader& t) {
  const Value* v = t.find("steps");
  if (v == nullptr) return std::nullopt;
  const std::string rule = "a list of 1 to 101 pairs [asked %, prints %], each 0..100";
  const auto is_pair = [](const Value& row) {
    return row.kind == ValueKind::list && row.items.size() == 2 &&
           std::all_of(row.items.begin(), row.items.end(), [](const Value& x) {
             return (x.kind == ValueKind::number || x.kind == ValueKind::integer) &&
                    Range{0, 100}.holds(x.number);
           });
  };
  if (v->kind != ValueKind::list || v->items.empty() || v->items.size() > 101) {
    t.error(*v, t.name("steps") + " is " + shown(*v) + "; it must be " + rule);
    return std::nullopt;
  }
  StepTable table;
  if (!is_pair(v->items[0]) || v->items[0].items[0].number > 0) {
    table.asked.push_back(0);
    table.printed.push_back(0);
  }
  for (std::size_t i = 0; i < v->items.size(); ++i) {
    const Value& row = v->items[i];
    const std::string name = t.name("steps") + '[' + std::to_string(i) + ']';
    if (!is_pair(row)) {
      t.error(row, name + " is " + shown(row) + "; it must be one pair [asked %, prints %], each 0..100");
      return std::nullopt;
    }
    const double asked = row.items[0].number / 100, printed = row.items[1].number / 100;
    const bool end_fits = (asked > 0 || printed == 0) && (asked < 1 || printed == 1);
    const bool rises = table.asked.empty() || (asked > table.asked.back() && printed >= table.printed.back());
    if (!end_fits || !rises) {
      t.error(row, name + " is [" + shown(100 * asked) + ", " + shown(100 * printed) + "]; " +
                       (end_fits ? "asked must rise from row to row and prints must not fall"
                                 : "0 must print 0 and 100 must print 100"));
      return std::nullopt;
    }
    table.asked.push_back(asked);
    table.printed.push_back(printed);
  }
  if (table.asked.back() < 1) {
    table.asked.push_back(1);
    table.printed.push_back(1);
  }
  return table;
}

/// Dots in rows have lines and an angle; dots of noise have a size instead.
void read_halftone(TableReader& t, HalftoneScreen& halftone) {
  halftone.shape = t.choice<DotShape>("dot", {{"round", DotShape::round},
                                              {"elliptical", DotShape::elliptical},
                                              {"inverting", DotShape::inverting},
                                              {"line", DotShape::line},
                                              {"square", DotShape::square},
                                              {"noise", DotShape::noise}})
                       .value_or(DotShape::round);
  if (halftone.shape == DotShape::noise) {
    const auto um = t.quantity("dot_size_um", Measure::length_um, "um", {20, 1000}, Need::required);
    halftone.dot = {um.value_or(150)};
    for (const char* key : {"lpi", "angle"}) {
      if (const Value* v = t.find(key)) {
        t.error(*v, t.name(key) + " is given, but dots of noise stand in no rows",
                "take it out, or take another dot; the dots' size is dot_size_um");
      }
    }
    return;
  }
  if (const Value* v = t.find("dot_size_um")) {
    t.error(*v, t.name("dot_size_um") + " is given, but only dots of noise have one size",
            "say dot = \"noise\", or take dot_size_um out: lpi and the tone make the size of other dots");
  }
  halftone.lpi = t.number_or("lpi", {5, 200}, halftone.lpi);
  halftone.angle_deg = t.number_or("angle", {-180, 180}, halftone.angle_deg);
  if (!t.has("dot")) t.assume("dot");
}

RegisterOffset read_offset(TableReader& t) {
  RegisterOffset o;
  if (const Value* v = t.find("offset")) {
    if (v->kind != ValueKind::list || v->items.size() != 2) {
      t.error(*v, t.name("offset") + " is " + shown(*v) + "; it must be a list of 2 lengths, right and down");
    } else {
      const Range range{-50, 50};
      o.dx = {t.quantity(v->items[0], t.name("offset") + "[0]", Measure::length_mm, "mm", range).value_or(0)};
      o.dy = {t.quantity(v->items[1], t.name("offset") + "[1]", Measure::length_mm, "mm", range).value_or(0)};
    }
  }
  o.turn_deg = t.number("turn_deg", {-10, 10}).value_or(0);
  const std::vector<double> stretch = t.numbers("stretch_percent", {-5, 5}, 2, 2);
  if (!stretch.empty()) {
    o.stretch_x = stretch[0] / 100;
    o.stretch_y = stretch[1] / 100;
  }
  return o;
}

/// Everything of a pass but its plate.
ScenePass read_pass(TableReader& t, Library& library) {
  ScenePass pass;
  const std::optional<std::string> ink = t.id("ink", Need::required);
  if (ink) {
    if (const Ink* found = library.ink(*ink, t.place(*t.find("ink")), t.faults())) pass.ink = *found;
  }
  read_mesh_of_pass(t, pass, library);
  read_halftone(t, pass.halftone);
  pass.strokes = t.whole("strokes", 1, 4).value_or(1);
  pass.flash_after = t.flag_or("flash", false);
  pass.cool_down = t.flag_or("cool_down", false);
  if (pass.cool_down && !pass.flash_after) {
    t.error(*t.find("cool_down"), t.name("cool_down") + " is true, but the pass is not flashed",
            "add flash = true, or take cool_down out");
  }
  pass.flash_shrink = t.number("flash_shrink_percent", {0, 5}).value_or(0) / 100;
  if (pass.flash_shrink > 0 && !pass.flash_after) {
    t.error(*t.find("flash_shrink_percent"),
            t.name("flash_shrink_percent") + " is given, but the pass is not flashed",
            "add flash = true, or take flash_shrink_percent out");
  }
  pass.wet_deposit = std::nullopt;
  if (const auto um = t.quantity("wet_deposit_um", Measure::length_um, "um", {0, 2000, true}))
    pass.wet_deposit = Um{*um};
  if (t.has("wet_deposit_um")) {
    if (const Value* v = t.find("transfer")) {
      t.error(*v, t.name("transfer") + " is given beside wet_deposit_um, which makes it void",
              "keep one of the two");
    }
  } else {
    pass.transfer = t.number_or("transfer", {0.3, 1}, pass.transfer);
  }
  if (const auto um = t.quantity("ink_spread_um", Measure::length_um, "um", {-100, 500}))
    pass.ink_spread = Um{*um};
  pass.steps = read_steps(t);
  pass.curve =
      t.choice<CurveAt>("curve_on_film",
                        {{"none", CurveAt::none}, {"plates", CurveAt::plates}, {"output", CurveAt::output}})
          .value_or(CurveAt::none);
  pass.offset = read_offset(t);
  return pass;
}

/// Passes of plates that lay no ink are left out, with a notice, so that a plate can be switched off by its
/// role.
void drop_passes_without_ink(TableReader& root, Scene& scene) {
  for (std::size_t i = 0; i < scene.plates.size(); ++i) {
    const ScenePlate& plate = scene.plates[i];
    if (plate.role == PlateRole::print) continue;
    const std::size_t dropped =
        std::erase_if(scene.passes, [&](const ScenePass& pass) { return pass.plate == static_cast<int>(i); });
    if (dropped == 0) continue;
    root.faults().notice(plate.place, "plate \"" + printable(plate.name) + "\" has the role \"" +
                                          (plate.role == PlateRole::shirt ? "shirt" : "ignore") +
                                          "\": its pass is left out");
  }
  if (!scene.passes.empty() || scene.plates.empty() || root.faults().has_errors()) return;
  root.error_here("no plate of the scene prints", "give one of them role = \"print\" and a pass");
}

bool same_screen(const ScenePass& a, const ScenePass& b) {
  const RegisterOffset &p = a.offset, &q = b.offset;
  return a.halftone.lpi == b.halftone.lpi && a.halftone.angle_deg == b.halftone.angle_deg &&
         a.halftone.shape == b.halftone.shape && a.halftone.dot == b.halftone.dot && a.curve == b.curve &&
         a.steps.has_value() == b.steps.has_value() && p.dx == q.dx && p.dy == q.dy &&
         p.turn_deg == q.turn_deg && p.stretch_x == q.stretch_x && p.stretch_y == q.stretch_y;
}

/// A plate that prints twice is predicted with the dots and the register of its first pass.
void warn_of_second_screens(TableReader& root, const Scene& scene) {
  for (std::size_t i = 0; i < scene.passes.size(); ++i) {
    const auto first = std::find_if(scene.passes.begin(), scene.passes.end(), [&](const ScenePass& pass) {
      return pass.plate == scene.passes[i].plate;
    });
    if (same_screen(*first, scene.passes[i])) continue;
    const ScenePlate& plate = scene.plates[static_cast<std::size_t>(first->plate)];
    root.faults().warning(
        plate.place,
        "plate \"" + printable(plate.name) +
            "\" prints more than once, and its passes differ in lpi, angle, dot, dot size, steps, curve or "
            "offset: those of its first pass count for all",
        "give its passes the same, or use a plate of its own for the other screen");
  }
}

}  // namespace

void read_plates_and_passes(TableReader& root, Scene& scene, Library& library) {
  std::vector<TableReader> plates = root.tables("plate", kMaxPlates);
  std::vector<TableReader> passes = root.tables("pass", kMaxPasses);
  const bool long_form = root.has("pass");
  if (plates.empty()) {
    const Value* v = root.find("plate");
    if (v == nullptr || v->kind != ValueKind::list || v->items.empty()) {
      root.error_here("the scene has no plate; 1 to 12 are allowed", "add a [[plate]] table for each plate");
    }
  }
  if (long_form && passes.empty()) {
    const Value* v = root.find("pass");
    if (v->kind == ValueKind::list && v->items.empty())
      root.error(*v, "the scene has no pass", "add a [[pass]] table");
  }
  for (TableReader& t : plates) {
    scene.plates.push_back(read_plate_table(t, scene));
    const bool prints = scene.plates.back().role == PlateRole::print;
    if (!long_form && (prints || t.has("ink") || t.has("mesh"))) {
      scene.passes.push_back(read_pass(t, library));
      scene.passes.back().plate = static_cast<int>(scene.plates.size()) - 1;
    } else if (const Value* v = long_form ? t.find("ink") : nullptr) {
      t.error(*v, t.name("ink") + " is given, but the scene has [[pass]] tables",
              "move ink, mesh and the like into the plate's [[pass]], or take every [[pass]] out");
    }
    t.finish();
  }
  std::vector<std::string> names;
  for (const ScenePlate& plate : scene.plates) names.push_back(plate.name);
  for (TableReader& t : passes) {
    const std::optional<std::string> name = t.text("plate", Need::required);
    scene.passes.push_back(read_pass(t, library));
    t.finish();
    if (!name) continue;
    const auto found = std::find(names.begin(), names.end(), *name);
    scene.passes.back().plate = static_cast<int>(found - names.begin());
    if (found != names.end()) continue;
    std::string known;
    for (const std::string& n : names) known += (known.empty() ? "" : ", ") + n;
    t.error(*t.find("plate"), t.name("plate") + " is " + shown(*t.find("plate")) + "; no plate has that name",
            "plates of this scene: " + printable(known));
  }
  drop_passes_without_ink(root, scene);
  if (!root.faults().has_errors()) warn_of_second_screens(root, scene);
}

}  // namespace kirtle
