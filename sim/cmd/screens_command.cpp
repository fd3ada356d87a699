// kirtle screens: what each screen of a scene holds and prints, and what beats with what.
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/library.h"
#include "plate/holdings.h"
#include "predict/prediction.h"
#include "predict/screen_advice.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

struct ScreensArguments {
  SceneArguments scene;
  bool json = false;
};

std::string shape_word(DotShape shape) {
  switch (shape) {
    case DotShape::round:
      return "round";
    case DotShape::elliptical:
      return "elliptical";
    case DotShape::inverting:
      return "inverting";
    case DotShape::line:
      return "line";
    case DotShape::square:
      return "square";
    case DotShape::noise:
      return "noise";
  }
  return "";
}

std::string curve_word(CurveAt curve) {
  switch (curve) {
    case CurveAt::none:
      return "none";
    case CurveAt::plates:
      return "plates";
    case CurveAt::output:
      return "output";
  }
  return "";
}

/// Less of tints is not spoken of, as kirtle check has it (our own choice).
constexpr double kTintsWorthTelling_mm2 = 25;

/// Every finding is about dots: takes out those of plates without tints. Plates that cannot be read are not
/// known to have none: then all stay, and false comes back.
bool leave_out_plates_without_tints(const Scene& scene, ScreenAdvice& advice) {
  std::shared_ptr<const PlateSet> set;
  try {
    Diagnostics notes;
    set = read_printing_plates(scene, notes);
  } catch (const InputError&) {
    return false;
  }
  const std::vector<PrintingPlate> plates = printing_plates(scene);
  for (std::size_t i = 0; i < plates.size(); ++i) {
    const auto about = [&](const ScreenFinding& f) { return f.plate == plates[i].name; };
    if (std::none_of(advice.findings.begin(), advice.findings.end(), about)) continue;
    const PlateImage& image = set->images[i];
    const double pixel = kMmPerInch / set->ppi;
    const double tints =
        measure_plate(image, set->ppi).tint_share * image.width * image.height * pixel * pixel;
    if (!(tints >= kTintsWorthTelling_mm2)) std::erase_if(advice.findings, about);
  }
  return true;
}

nlohmann::json to_json(const ScreenLine& l) {
  nlohmann::json j{{"pass", l.pass},
                   {"plate", l.plate},
                   {"ink", l.ink},
                   {"mesh", l.mesh.id},
                   {"threads_per_cm", l.mesh.threads_per_cm},
                   {"threads_per_inch", threads_per_inch_from_per_cm(l.mesh.threads_per_cm)},
                   {"thread_um", l.mesh.thread.v},
                   {"dot", shape_word(l.halftone.shape)},
                   {"smallest_dot_um", l.smallest_dot.v},
                   {"smallest_tint_percent", 100 * l.smallest_tint},
                   {"largest_tint_percent", 100 * l.largest_tint},
                   {"ink_spread_um", l.spread.v},
                   {"soaked_dose", l.field},
                   {"step_table", l.measured},
                   {"curve_on_film", curve_word(l.curve)},
                   {"film_50_prints_percent", 100 * l.fifty_prints},
                   {"film_that_prints_50_percent", 100 * l.film_for_fifty},
                   {"strokes", l.strokes},
                   {"wet_deposit_um", l.wet.v}};
  if (l.halftone.shape == DotShape::noise) {
    j["dot_size_um"] = l.halftone.dot.v;
  } else {
    j["lines_per_inch"] = l.halftone.lpi;
    j["angle_deg"] = l.halftone.angle_deg;
    j["threads_per_line"] = l.threads_per_line;
  }
  for (std::size_t i = 0; i < kStepTones.size(); ++i)
    j["steps_percent"].push_back({100 * kStepTones[i], 100 * l.prints[i]});
  return j;
}

nlohmann::json to_json(const Scene& scene, const ScreenAdvice& advice) {
  nlohmann::json j{{"kirtle_screens", 1},
                   {"scene", scene.file.string()},
                   {"shirt", scene.shirt.id},
                   {"passes", nlohmann::json::array()},
                   {"findings", nlohmann::json::array()}};
  if (scene.shirt.knit) {
    j["knit"] = {{"wales_per_cm", scene.shirt.knit->wales_per_cm},
                 {"courses_per_cm", scene.shirt.knit->courses_per_cm},
                 {"status", to_string(scene.shirt.knit->status)}};
  }
  for (const ScreenLine& line : advice.lines) j["passes"].push_back(to_json(line));
  for (const ScreenFinding& f : advice.findings) {
    j["findings"].push_back({{"concern", to_string(f.concern)},
                             {"pass", f.pass},
                             {"plate", f.plate},
                             {"what", f.what},
                             {"number", finite(f.number)},
                             {"limit", f.limit},
                             {"remedy", f.remedy},
                             {"provenance", f.provenance}});
  }
  return j;
}

std::string dots_text(const HalftoneScreen& h) {
  if (h.shape == DotShape::noise) return fmt::format("noise, dots of {:g} um", h.dot.v);
  return fmt::format("{:g} lines/in ({:.3g}/cm) at {:g} degrees, {}{}", h.lpi, h.lpi / kCmPerInch,
                     h.angle_deg, shape_word(h.shape), h.shape == DotShape::line ? "s" : " dots");
}

std::string held_text(const ScreenLine& l) {
  if (l.curve == CurveAt::output) return "the output step compensates: film and print agree";
  const char* spread = l.measured ? "a step table says what prints" : nullptr;
  if (spread != nullptr) return spread;
  return fmt::format(
      "{}{}; ink spread {:g} um{}",
      l.smallest_tint > 0 ? fmt::format("dots hold from {:.0f} % on film ({:.0f} um)", 100 * l.smallest_tint,
                                        l.smallest_dot.v)
                          : std::string("every dot holds"),
      l.largest_tint < 1 ? fmt::format(", holes stay open to {:.0f} %", 100 * l.largest_tint) : std::string(),
      l.spread.v, l.field ? " (the ink soaks: a tint is a dose)" : "");
}

void print_text(const Scene& scene, const ScreenAdvice& advice, bool plates_read) {
  say("{} on {}: {} passes in print order\n", scene.title, scene.shirt.name, advice.lines.size());
  for (const ScreenLine& l : advice.lines) {
    say("\n{:2}  {}: {}\n", l.pass, l.plate, l.ink);
    say("    mesh {}, {}", mesh_text(l.mesh.threads_per_cm), dots_text(l.halftone));
    if (std::isfinite(l.threads_per_line)) say("; {:.1f} threads to a line", l.threads_per_line);
    say("\n    {}; wet deposit {:.0f} um{}\n", held_text(l), l.wet.v,
        l.strokes > 1 ? fmt::format(" with {} strokes", l.strokes) : std::string());
    say("    50 % on film prints {:.0f} %; {:.0f} % on film prints 50 %\n", 100 * l.fifty_prints,
        100 * l.film_for_fifty);
    say("    film   ");
    for (const double tone : kStepTones) say("{:5.0f}", 100 * tone);
    say(" %\n    prints ");
    for (const double tone : l.prints) say("{:5.0f}", 100 * tone);
    say(" %\n");
  }
  if (scene.shirt.knit) {
    say("\nknit {:g} wales and {:g} courses per cm ({})\n", scene.shirt.knit->wales_per_cm,
        scene.shirt.knit->courses_per_cm, to_string(scene.shirt.knit->status));
  } else {
    say("\nthe shirt's record does not say how fine its knit is: bands with the knit are not looked at\n");
  }
  say("\n{}\n", advice.findings.empty() ? "nothing to warn of"
                : plates_read           ? "to look at, where a plate has tints (plates without are left out):"
                              : "to look at, where a plate has tints (the plates could not be read):");
  std::vector<std::string> rules;
  for (const ScreenFinding& f : advice.findings) {
    auto rule = std::find(rules.begin(), rules.end(), f.provenance);
    if (rule == rules.end()) rule = rules.insert(rules.end(), f.provenance);
    say("  pass {}, {}: {} [{}]\n", f.pass, f.plate, f.what, rule - rules.begin() + 1);
    if (!f.remedy.empty()) say("    fix: {}\n", f.remedy);
  }
  for (std::size_t i = 0; i < rules.size(); ++i) say("  [{}] {}\n", i + 1, rules[i]);
}

void run_screens(const ScreensArguments& a) {
  const Scene scene = a.scene.read();
  ScreenAdvice advice = advise_on_screens(scene, all_meshes(scene, a.json));
  const bool plates_read = leave_out_plates_without_tints(scene, advice);
  if (a.json) {
    fmt::print("{}\n", json_text(to_json(scene, advice)));
  } else {
    print_text(scene, advice, plates_read);
  }
}

}  // namespace

void add_screens_command(CLI::App& app) {
  auto a = std::make_shared<ScreensArguments>();
  CLI::App* c =
      app.add_subcommand("screens", "What each screen holds and prints; bands of mesh, dots and knit");
  a->scene.add_to(*c);
  c->add_flag("--json", a->json, "One JSON document");
  c->footer(
      "Examples:\n"
      "  kirtle screens scenes/moth/scene.toml\n"
      "  kirtle screens scenes/reef/scene.toml --shirt navy-cotton\n"
      "  kirtle screens scenes/botanical/scene.toml --json");
  c->callback([a] { run_screens(*a); });
}

}  // namespace kirtle
