#include "base/check.h"
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/quantity.h"
#include "predict/reading.h"
#include "predict/run_press.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

namespace kirtle {

namespace {

struct ProbeArguments {
  SceneArguments scene;
  std::optional<std::string> at;
  std::vector<std::string> film, printed;
  bool json = false;
};

/// A plain decimal number, spaces round it allowed; NaN if `text` is anything else.
double number_from(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' '), last = text.find_last_not_of(' ');
  if (first == std::string_view::npos) return std::nan("");
  text = text.substr(first, last - first + 1);
  double x = 0;
  const auto [end, code] = std::from_chars(text.data(), text.data() + text.size(), x);
  return code == std::errc{} && end == text.data() + text.size() ? x : std::nan("");
}

/// "PLATE=50" pairs to one share a plate, in the model's order; plates left out are 0.
std::vector<double> shares_from(const std::vector<std::string>& pairs, const char* option,
                                const PrintModel& model) {
  std::vector<std::string> names;
  for (const PrintingPlate& plate : model.plates) names.push_back(plate.name);
  std::vector<double> shares(names.size(), 0.0);
  std::vector<bool> given(names.size(), false);
  Diagnostics faults;
  for (const std::string& pair : pairs) {
    const std::size_t equals = pair.rfind('=');
    if (equals == std::string::npos) {
      faults.error({}, fmt::format("{} \"{}\": there is no per cent", option, printable(pair)),
                   "write PLATE=PER CENT, comma between: " + names.front() + "=50");
      continue;
    }
    const std::string name = pair.substr(0, equals);
    const auto plate = std::find(names.begin(), names.end(), name);
    if (plate == names.end()) {
      const std::string near = nearest_name(name, names);
      faults.error({},
                   fmt::format("{} \"{}\": no plate \"{}\" prints in this scene", option, printable(pair),
                               printable(name)),
                   fmt::format("write PLATE=PER CENT with a plate of {}{}", fmt::join(names, ", "),
                               near.empty() ? "" : "; perhaps you mean " + near));
      continue;
    }
    const std::string number = pair.substr(equals + 1);
    const double percent = number_from(number);
    if (!(percent >= 0 && percent <= 100)) {
      faults.error(
          {}, fmt::format("{} \"{}\": \"{}\" is not a per cent", option, printable(pair), printable(number)),
          "write a number from 0 to 100");
      continue;
    }
    const auto at = static_cast<std::size_t>(plate - names.begin());
    if (given[at]) {
      faults.error({}, fmt::format("{} names plate \"{}\" twice", option, printable(name)),
                   "give one per cent a plate");
    }
    given[at] = true;
    shares[at] = percent / 100;
  }
  faults.throw_if_errors();
  return shares;
}

/// One coordinate: a number in mm, or with a unit.
Mm coordinate(const std::string& text) {
  const double plain = number_from(text);
  if (std::isfinite(plain)) return {plain};
  const std::optional<double> mm = quantity_from(text, Measure::length_mm);
  if (!mm) {
    throw InputError({}, fmt::format("--at: \"{}\" is not a length", printable(text)),
                     "write a number in mm, or with a unit: " + units_of(Measure::length_mm));
  }
  return {*mm};
}

nlohmann::json to_json(const Scene& scene, const PointReading& r) {
  nlohmann::json j;
  j["kirtle_probe"] = 1;
  j["scene"] = scene.file.string();
  j["shirt"] = scene.shirt.id;
  j["light"] = scene.light;
  j["observer"] = scene.observer == Observer::cie1931_2deg ? 2 : 10;
  for (const PlateReading& p : r.plates) {
    nlohmann::json plate{{"plate", p.plate}, {"printed_percent", 100 * p.printed}, {"soaked_dose", p.field}};
    if (!std::isnan(p.film)) plate["film_percent"] = 100 * p.film;
    j["plates"].push_back(plate);
  }
  for (std::size_t i = 0; i < kBands; ++i) j["wavelength_nm"].push_back(band_nm(i));
  j["reflectance"] = r.reflectance.v;
  j["XYZ"] = {r.xyz.x, r.xyz.y, r.xyz.z};
  j["Lab"] = {r.lab.l, r.lab.a, r.lab.b};
  j["sRGB_linear"] = {r.srgb.linear.r, r.srgb.linear.g, r.srgb.linear.b};
  j["hex"] = r.hex;
  j["outside_sRGB_dE00"] = r.srgb.clip_de00;
  for (const StackLine& s : r.stack) {
    j["stack_from_top"].push_back({{"what", s.what}, {"um", s.um}, {"share", s.share}, {"note", s.note}});
  }
  j["wet_load_cm3_per_m2"] = r.wet_load_cm3_m2;
  j["ink_build_um"] = r.ink_build_um;
  j["soaked_um"] = r.soaked_um;
  j["agent_g_per_m2"] = r.agent_g_m2;
  j["not_predicted"] = r.not_predicted;
  j["provenance"] = r.provenance;
  return j;
}

void print_text(const Scene& scene, const PointReading& r) {
  say("{} on {}\n", scene.title, scene.shirt.name);
  for (const PlateReading& p : r.plates) {
    say("  {:<14}", p.plate);
    if (!std::isnan(p.film)) say("film {:5.1f} %   ", 100 * p.film);
    say("{} {:5.1f} %\n", p.field ? "soaked dose" : "prints     ", 100 * p.printed);
  }
  say("\ncolour under {}, {} degree observer\n", scene.light,
      scene.observer == Observer::cie1931_2deg ? 2 : 10);
  say("  Lab  {:7.2f} {:7.2f} {:7.2f}\n", r.lab.l, r.lab.a, r.lab.b);
  say("  XYZ  {:7.3f} {:7.3f} {:7.3f}\n", r.xyz.x, r.xyz.y, r.xyz.z);
  say("  sRGB {}", r.hex);
  if (r.srgb.clipped) say("  (outside sRGB by dE00 {:.1f}; hue kept, chroma cut)", r.srgb.clip_de00);
  say("\n\nreflectance, 380 to 730 nm by 10 nm\n");
  for (std::size_t i = 0; i < kBands; ++i) {
    say("{}{:7.4f}{}", i % 9 == 0 ? "  " : "", r.reflectance[i], i % 9 == 8 ? "\n" : " ");
  }
  say("\nstack from the top down, where every plate that prints here lies\n");
  for (const StackLine& s : r.stack) {
    say("  {:7.1f} um  {}", s.um, s.what);
    if (s.share < 1) say(", {:.0f} % of the cloth", 100 * s.share);
    say("  ({})\n", s.note);
  }
  say("\nmean over the dots: wet load {:.1f} cm3/m2, ink build {:.1f} um, soaked in {:.1f} um\n",
      r.wet_load_cm3_m2, r.ink_build_um, r.soaked_um);
  if (r.agent_g_m2 > 0) {
    say("discharge agent {:.2f} g/m2: it gives off formaldehyde and sulphur compounds in the dryer; follow "
        "the\n"
        "supplier's safety data sheet and local rules, wash before wear, test print each dye lot\n",
        r.agent_g_m2);
  }
  if (r.not_predicted) say("NOT PREDICTED: an ink outside the model lies here; it is drawn flat\n");
  say("\nhow well this is known\n");
  for (const std::string& line : r.provenance) say("  {}\n", line);
}

void run_probe(const ProbeArguments& a) {
  const Scene scene = sample_print(a.scene.read());
  std::optional<PointReading> reading;
  if (a.at) {
    const std::size_t comma = a.at->find(',');
    if (comma == std::string::npos) {
      throw InputError(
          {}, fmt::format("--at \"{}\" is not a point", printable(*a.at)),
          "write X,Y from the plates' top left corner, in mm or with units: 40,62.5 or 1.5in,2in");
    }
    const Mm x = coordinate(a.at->substr(0, comma)), y = coordinate(a.at->substr(comma + 1));
    Diagnostics notes;
    const Prediction prediction(scene, notes, rows_for_place(scene, x, y));
    print_notes(notes.all());
    reading = read_place(scene, prediction, x, y);
  } else {
    const PrintModel model(scene);
    reading = a.printed.empty() ? read_film(scene, model, shares_from(a.film, "--film", model))
                                : read_printed(scene, model, shares_from(a.printed, "--printed", model));
  }
  if (a.json) {
    fmt::print("{}\n", json_text(to_json(scene, *reading)));
  } else {
    print_text(scene, *reading);
  }
}

}  // namespace

void add_probe_command(CLI::App& app) {
  auto a = std::make_shared<ProbeArguments>();
  CLI::App* c = app.add_subcommand("probe", "The numbers at one point: colour, stack, deposits");
  a->scene.add_to(*c);
  CLI::Option* at =
      c->add_option("--at", a->at, "X,Y from the plates' top left corner, in mm or with units (1.5in,2in)");
  CLI::Option* film =
      c->add_option("--film", a->film, "PLATE=PER CENT on film, comma between; plates left out are 0")
          ->delimiter(',')
          ->allow_extra_args(false);
  CLI::Option* printed = c->add_option("--printed", a->printed,
                                       "PLATE=PER CENT as printed (of a soaked ink: dose), comma between")
                             ->delimiter(',')
                             ->allow_extra_args(false);
  at->excludes(film)->excludes(printed);
  film->excludes(printed);
  c->add_flag("--json", a->json, "One JSON document");
  c->footer(
      "Examples:\n"
      "  kirtle probe scenes/moth/scene.toml --at 150,120\n"
      "  kirtle probe scenes/moth/scene.toml --film cream=100,shading=50\n"
      "  kirtle probe scenes/reef/scene.toml --printed base=100,yellow=40 --light A --json\n"
      "  kirtle probe scenes/moth/scene.toml --film cream=0        (the bare shirt)");
  c->callback([a] {
    if (!a->at && a->film.empty() && a->printed.empty()) {
      throw InputError({}, "probe needs a point",
                       "give one of --at X,Y, --film PLATE=PER CENT,... or --printed PLATE=PER CENT,...");
    }
    run_probe(*a);
  });
}

}  // namespace kirtle
