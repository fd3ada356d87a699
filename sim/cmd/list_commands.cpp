// kirtle inks, shirts, meshes, presses: what the data folders hold, with provenance.
#include "cmd/commands.h"
#include "cmd/json_text.h"
#include "cmd/say.h"
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

/// A shelf of the library: a line a record under a head and above a foot, or one JSON document. Faulty
/// records are told after the good ones.
template <class Record>
struct Listing {
  const char* shelf;
  std::vector<Record> (Library::*all)(Diagnostics&);
  std::string head, foot;
  nlohmann::json (*json_of)(const Record&);
  std::string (*line_of)(const Record&);
};

template <class Record>
void list(const ListArguments& a, const Listing<Record>& listing) {
  Library library = library_of(a);
  Diagnostics faults;
  const std::string shelf = listing.shelf;
  nlohmann::json j{{"kirtle_" + shelf, 1}, {shelf, nlohmann::json::array()}};
  if (!a.json) say("{}\n", listing.head);
  for (const Record& record : (library.*listing.all)(faults)) {
    if (a.json)
      j[shelf].push_back(listing.json_of(record));
    else
      say("{}\n", listing.line_of(record));
  }
  if (a.json) {
    fmt::print("{}\n", json_text(j));
  } else {
    say("\n{}\n", listing.foot);
  }
  print_notes(faults.all());
  faults.throw_if_errors();
}

void list_inks(const ListArguments& a) {
  list<Ink>(a, {"inks", &Library::all_inks,
                fmt::format("{:<26} {:<11} {:<8} {:<8} {:<7} {}", "id", "family", "on white", "on black",
                            "hiding", "known how"),
                fmt::format("colours of {:.0f} um dry ink on card, seen in D50 with its surface; hiding: "
                            "luminance over black / over white of that film, 1 hides all",
                            kSwatchDryUm.v),
                [](const Ink& ink) -> nlohmann::json {
                  const InkSwatch s = ink_swatch(ink);
                  return {{"id", ink.id},
                          {"name", ink.name},
                          {"family", to_string(ink.family)},
                          {"predicted", ink.effect == InkEffect::none},
                          {"hex_over_white", s.over_white_hex},
                          {"hex_over_black", s.over_black_hex},
                          {"contrast_ratio", s.contrast_ratio},
                          {"at_dry_um", s.at.v},
                          {"provenance", to_json(ink.provenance)}};
                },
                [](const Ink& ink) {
                  const InkSwatch s = ink_swatch(ink);
                  return fmt::format("{:<26} {:<11} {:<8} {:<8} {:<7} {}{}", ink.id, to_string(ink.family),
                                     s.over_white_hex, s.over_black_hex,
                                     fmt::format("{:.2f}", s.contrast_ratio),
                                     to_string(ink.provenance.status),
                                     ink.effect == InkEffect::none ? "" : "; not predicted, drawn flat");
                }});
}

void list_shirts(const ListArguments& a) {
  list<Cloth>(
      a, {"shirts", &Library::all_shirts,
          fmt::format("{:<26} {:<22} {:<8} {:<11} {:<6} {}", "id", "fibre", "bare", "discharged", "grade",
                      "known how"),
          "discharged: under a solid of clear discharge; grade 5 discharges well, 1 not at all. Test print "
          "each dye lot.",
          [](const Cloth& shirt) -> nlohmann::json {
            const ShirtSwatch s = shirt_swatch(shirt);
            return {{"id", shirt.id},
                    {"name", shirt.name},
                    {"fibre", shirt.fibre_text},
                    {"hex", s.bare_hex},
                    {"hex_discharged", s.discharged_hex},
                    {"discharge_grade", shirt.discharge_grade},
                    {"provenance", to_json(shirt.provenance)}};
          },
          [](const Cloth& shirt) {
            const ShirtSwatch s = shirt_swatch(shirt);
            return fmt::format("{:<26} {:<22} {:<8} {:<11} {:<6} {}", shirt.id, shirt.fibre_text, s.bare_hex,
                               s.discharged_hex,
                               shirt.discharge_grade > 0 ? fmt::format("{}", shirt.discharge_grade) : "-",
                               to_string(shirt.provenance.status));
          }});
}

void list_meshes(const ListArguments& a) {
  list<Mesh>(a, {"meshes", &Library::all_meshes,
                 fmt::format("{:<10} {:<24} {:<9} {:<10} {:<14} {}", "id", "count", "opening", "open area",
                             "ink volume", "known how"),
                 "id: threads per cm - thread in um; a scene may name a count instead, \"156/in\"",
                 [](const Mesh& mesh) -> nlohmann::json {
                   return {{"id", mesh.id},
                           {"name", mesh.name},
                           {"threads_per_cm", mesh.threads_per_cm},
                           {"thread_um", mesh.thread.v},
                           {"opening_um", mesh_opening(mesh).v},
                           {"open_area", mesh_open_area(mesh)},
                           {"ink_volume_cm3_m2", theoretical_volume(mesh).v},
                           {"provenance", to_json(mesh.provenance)}};
                 },
                 [](const Mesh& mesh) {
                   return fmt::format("{:<10} {:<24} {:<9} {:<10} {:<14} {}", mesh.id,
                                      mesh_text(mesh.threads_per_cm),
                                      fmt::format("{:.0f} um", mesh_opening(mesh).v),
                                      fmt::format("{:.0f} %", 100 * mesh_open_area(mesh)),
                                      fmt::format("{:.0f} cm3/m2", theoretical_volume(mesh).v),
                                      to_string(mesh.provenance.status));
                 }});
}

void list_presses(const ListArguments& a) {
  list<PressPreset>(a, {"presses", &Library::all_presses,
                        fmt::format("{:<20} {:<6} {:<8} {:<8} {:<12} {}", "id", "heads", "pallets", "flashes",
                                    "holds", "known how"),
                        "holds: between two plates, from shirt to shirt; 2.5 standard deviations",
                        [](const PressPreset& press) -> nlohmann::json {
                          return {{"id", press.id},
                                  {"name", press.name},
                                  {"heads", press.heads},
                                  {"pallets", press.pallets},
                                  {"flashes", press.flashes},
                                  {"holds_mm", holds_of_sigma(press.pair_sigma).v},
                                  {"provenance", to_json(press.provenance)}};
                        },
                        [](const PressPreset& press) {
                          return fmt::format("{:<20} {:<6} {:<8} {:<8} {:<12} {}", press.id, press.heads,
                                             press.pallets, press.flashes,
                                             fmt::format("+-{:.2f} mm", holds_of_sigma(press.pair_sigma).v),
                                             to_string(press.provenance.status));
                        }});
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
