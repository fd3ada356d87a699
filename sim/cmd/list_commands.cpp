// kirtle inks, shirts, meshes, presses: what the data folders hold, with provenance.
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/scene_options.h"
#include "job/library.h"
#include "layer/kubelka_munk.h"
#include "light/weights.h"
#include "predict/swatch.h"
#include "press/register_run.h"
#include "screen/deposit.h"

#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>

namespace kirtle {

namespace {

struct ListArguments {
  std::vector<std::string> data;
  bool json = false;
};

Library library_of(const ListArguments& a) {
  Diagnostics faults;
  std::vector<std::filesystem::path> folders(a.data.begin(), a.data.end());
  Library library = load_library(folders, faults);
  faults.throw_if_errors();
  return library;
}

nlohmann::json to_json(const Provenance& p) {
  return {{"status", to_string(p.status)},     {"source", p.source},  {"method", p.method}, {"date", p.date},
          {"sigma_dE00", p.colour_sigma_de00}, {"assumed", p.assumed}};
}

void list_inks(const ListArguments& a) {
  Library library = library_of(a);
  Diagnostics faults;
  nlohmann::json j{{"kirtle_inks", 1}, {"inks", nlohmann::json::array()}};
  if (!a.json)
    fmt::print("{:<26} {:<11} {:<8} {:<8} {:<7} {}\n", "id", "family", "on white", "on black", "hiding",
               "known how");
  for (const Ink& ink : library.all_inks(faults)) {
    const InkSwatch s = ink_swatch(ink);
    if (a.json) {
      j["inks"].push_back({{"id", ink.id},
                           {"name", ink.name},
                           {"family", to_string(ink.family)},
                           {"predicted", ink.effect == InkEffect::none},
                           {"hex_over_white", s.over_white_hex},
                           {"hex_over_black", s.over_black_hex},
                           {"contrast_ratio", s.contrast_ratio},
                           {"at_dry_um", s.at.v},
                           {"provenance", to_json(ink.provenance)}});
      continue;
    }
    fmt::print("{:<26} {:<11} {:<8} {:<8} {:<7} {}{}\n", ink.id, to_string(ink.family), s.over_white_hex,
               s.over_black_hex, fmt::format("{:.2f}", s.contrast_ratio), to_string(ink.provenance.status),
               ink.effect == InkEffect::none ? "" : "; not predicted, drawn flat");
  }
  if (a.json) {
    fmt::print("{}\n", json_text(j));
  } else {
    fmt::print(
        "\ncolours of {0:.0f} um dry ink on card, seen in D50 with its surface; hiding: luminance over black "
        "/ over "
        "white of that film, 1 hides all\n",
        kSwatchDryUm.v);
  }
  print_notes(faults.all());
  faults.throw_if_errors();
}

void list_shirts(const ListArguments& a) {
  Library library = library_of(a);
  Diagnostics faults;
  nlohmann::json j{{"kirtle_shirts", 1}, {"shirts", nlohmann::json::array()}};
  if (!a.json)
    fmt::print("{:<26} {:<22} {:<8} {:<11} {:<6} {}\n", "id", "fibre", "bare", "discharged", "grade",
               "known how");
  for (const Cloth& shirt : library.all_shirts(faults)) {
    const ShirtSwatch s = shirt_swatch(shirt);
    if (a.json) {
      j["shirts"].push_back({{"id", shirt.id},
                             {"name", shirt.name},
                             {"fibre", shirt.fibre_text},
                             {"hex", s.bare_hex},
                             {"hex_discharged", s.discharged_hex},
                             {"discharge_grade", shirt.discharge_grade},
                             {"provenance", to_json(shirt.provenance)}});
      continue;
    }
    fmt::print("{:<26} {:<22} {:<8} {:<11} {:<6} {}\n", shirt.id, shirt.fibre_text, s.bare_hex,
               s.discharged_hex, shirt.discharge_grade > 0 ? fmt::format("{}", shirt.discharge_grade) : "-",
               to_string(shirt.provenance.status));
  }
  if (a.json) {
    fmt::print("{}\n", json_text(j));
  } else {
    fmt::print(
        "\ndischarged: under a solid of clear discharge; grade 5 discharges well, 1 not at all. Test print "
        "each dye lot.\n");
  }
  print_notes(faults.all());
  faults.throw_if_errors();
}

void list_meshes(const ListArguments& a) {
  Library library = library_of(a);
  Diagnostics faults;
  nlohmann::json j{{"kirtle_meshes", 1}, {"meshes", nlohmann::json::array()}};
  if (!a.json)
    fmt::print("{:<10} {:<24} {:<9} {:<10} {:<14} {}\n", "id", "count", "opening", "open area", "ink volume",
               "known how");
  for (const Mesh& mesh : library.all_meshes(faults)) {
    if (a.json) {
      j["meshes"].push_back({{"id", mesh.id},
                             {"name", mesh.name},
                             {"threads_per_cm", mesh.threads_per_cm},
                             {"thread_um", mesh.thread.v},
                             {"opening_um", mesh_opening(mesh).v},
                             {"open_area", mesh_open_area(mesh)},
                             {"ink_volume_cm3_m2", theoretical_volume(mesh).v},
                             {"provenance", to_json(mesh.provenance)}});
      continue;
    }
    fmt::print("{:<10} {:<24} {:<9} {:<10} {:<14} {}\n", mesh.id, mesh_text(mesh.threads_per_cm),
               fmt::format("{:.0f} um", mesh_opening(mesh).v),
               fmt::format("{:.0f} %", 100 * mesh_open_area(mesh)),
               fmt::format("{:.0f} cm3/m2", theoretical_volume(mesh).v), to_string(mesh.provenance.status));
  }
  if (a.json) {
    fmt::print("{}\n", json_text(j));
  } else {
    fmt::print("\nid: threads per cm - thread in um; a scene may name a count instead, \"156/in\"\n");
  }
  print_notes(faults.all());
  faults.throw_if_errors();
}

void list_presses(const ListArguments& a) {
  Library library = library_of(a);
  Diagnostics faults;
  nlohmann::json j{{"kirtle_presses", 1}, {"presses", nlohmann::json::array()}};
  if (!a.json)
    fmt::print("{:<20} {:<6} {:<8} {:<8} {:<12} {}\n", "id", "heads", "pallets", "flashes", "holds",
               "known how");
  for (const PressPreset& press : library.all_presses(faults)) {
    if (a.json) {
      j["presses"].push_back({{"id", press.id},
                              {"name", press.name},
                              {"heads", press.heads},
                              {"pallets", press.pallets},
                              {"flashes", press.flashes},
                              {"holds_mm", holds_of_sigma(press.pair_sigma).v},
                              {"provenance", to_json(press.provenance)}});
      continue;
    }
    fmt::print("{:<20} {:<6} {:<8} {:<8} {:<12} {}\n", press.id, press.heads, press.pallets, press.flashes,
               fmt::format("+-{:.2f} mm", holds_of_sigma(press.pair_sigma).v),
               to_string(press.provenance.status));
  }
  if (a.json) {
    fmt::print("{}\n", json_text(j));
  } else {
    fmt::print("\nholds: between two plates, from shirt to shirt; 2.5 standard deviations\n");
  }
  print_notes(faults.all());
  faults.throw_if_errors();
}

void add(CLI::App& app, const char* name, const char* help, void (*run)(const ListArguments&)) {
  auto a = std::make_shared<ListArguments>();
  CLI::App* c = app.add_subcommand(name, help);
  c->add_option("--data", a->data, "Further folder of records; may be given more than once")
      ->allow_extra_args(false);
  c->add_flag("--json", a->json, "One JSON document");
  c->callback([a, run] { run(*a); });
}

}  // namespace

void add_list_commands(CLI::App& app) {
  add(app, "inks", "List the inks that scenes can name, with how well each is known", list_inks);
  add(app, "shirts", "List the shirts, bare and discharged", list_shirts);
  add(app, "meshes", "List the meshes, with what each lays", list_meshes);
  add(app, "presses", "List the presses, with how well each holds register", list_presses);
}

}  // namespace kirtle
