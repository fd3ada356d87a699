// The plain records, and what all records share.
#include "job/records.h"

#include "light/recover_spectrum.h"
#include "light/srgb.h"

#include <algorithm>

namespace kirtle {
namespace {

Provenance read_provenance(TableReader& head) {
  Provenance p;
  std::optional<TableReader> t = head.table("provenance", Need::required);
  if (!t) return p;
  const std::optional<DataStatus> status = t->choice<DataStatus>("status",
                                                                 {{"measured", DataStatus::measured},
                                                                  {"literature", DataStatus::literature},
                                                                  {"estimated", DataStatus::estimated},
                                                                  {"invented", DataStatus::invented}},
                                                                 Need::required);
  p.status = status.value_or(DataStatus::invented);
  p.source = t->text("source", Need::required, 400).value_or("");
  if (const Value* v = t->find("source"); v != nullptr && v->kind == ValueKind::text && v->text.empty()) {
    t->error(*v, t->name("source") + " is empty; it must say where the numbers come from");
  }
  p.method = t->text("method", Need::optional, 400).value_or("");
  if (const Value* v = t->find("date"); v != nullptr && v->kind == ValueKind::date) {
    p.date = v->text;
  } else {
    p.date = t->text("date", Need::optional, 30).value_or("");
  }
  p.colour_sigma_de00 = t->number("sigma", {0, 50}).value_or(0);
  t->finish();
  return p;
}

}  // namespace

RecordHead read_record_head(TableReader& reader) {
  RecordHead head;
  read_schema(reader);
  head.id = reader.id("id", Need::required).value_or("");
  const std::string file_id = reader.document().file.stem().string();
  if (!head.id.empty() && head.id != file_id) {
    reader.error(*reader.find("id"),
                 "id is \"" + head.id + "\"; it must be the file's name, \"" + printable(file_id, 64) + '"',
                 "rename the file or change the id");
  }
  head.name = reader.text("name", Need::required, 100).value_or("");
  head.provenance = read_provenance(reader);
  return head;
}

std::optional<Observer> read_observer(TableReader& reader, std::string_view key) {
  const Value* v = reader.find(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind == ValueKind::integer && v->number == 2) return Observer::cie1931_2deg;
  if (v->kind == ValueKind::integer && v->number == 10) return Observer::cie1964_10deg;
  reader.error(*v, reader.name(key) + " is " + shown(*v) + "; it must be 2 or 10 (degrees)");
  return std::nullopt;
}

std::optional<GivenColour> read_colour(TableReader& reader) {
  const bool has_lab = reader.has("lab"), has_hex = reader.has("hex");
  const std::vector<double> lab = reader.numbers("lab", {-200, 200}, 3, 3);
  const std::optional<std::string> hex = reader.text("hex");
  const std::optional<std::string> light = reader.text("light");
  const std::optional<Observer> observer = read_observer(reader, "observer");
  if (has_lab == has_hex) {
    reader.error_here(has_lab ? "both lab and hex are given" : "no colour is given",
                      "give lab = [L, a, b], or hex = \"#rrggbb\"");
    return std::nullopt;
  }
  if (has_hex) {
    if (!hex) return std::nullopt;
    const std::optional<Rgb8> code = rgb8_from_hex(*hex);
    if (!code) {
      reader.error(*reader.find("hex"), reader.name("hex") + " is " + shown(*reader.find("hex")) +
                                            "; it must be \"#\" and six hexadecimal digits");
      return std::nullopt;
    }
    if (reader.has("light") || reader.has("observer")) {
      reader.error(*reader.find("hex"),
                   "hex is sRGB, which is D65 and 2 degrees; light and observer do not go with it",
                   "leave them out, or give lab");
      return std::nullopt;
    }
    ViewingWeights weights = viewing_weights("D65", Observer::cie1931_2deg);
    return GivenColour{xyz_from_srgb8(*code, weights.white), std::move(weights)};
  }
  if (lab.empty()) return std::nullopt;
  if (!(lab[0] >= 0 && lab[0] <= 100)) {
    reader.error(reader.find("lab")->items[0],
                 reader.name("lab") + "[0], L*, is " + shown(lab[0]) + "; it must be 0..100");
    return std::nullopt;
  }
  const std::string light_name = light.value_or("D50");
  const std::vector<std::string> lights = light_names();
  if (std::find(lights.begin(), lights.end(), light_name) == lights.end()) {
    std::string known;
    for (const std::string& l : lights) known += (known.empty() ? "" : ", ") + l;
    reader.error(*reader.find("light"), reader.name("light") + " is " + shown(*reader.find("light")) +
                                            "; it must be one of " + known);
    return std::nullopt;
  }
  ViewingWeights weights = viewing_weights(light_name, observer.value_or(Observer::cie1931_2deg));
  const XYZ xyz = xyz_from_lab({lab[0], lab[1], lab[2]}, weights.white);
  if (!(xyz.x >= 0 && xyz.z >= 0)) {
    reader.error(*reader.find("lab"),
                 reader.name("lab") + " has a negative tristimulus value; no surface has this colour",
                 "check the signs of a and b");
    return std::nullopt;
  }
  return GivenColour{xyz, std::move(weights)};
}

std::optional<Spectrum> recovered_reflectance(TableReader& reader, const GivenColour& colour) {
  const RecoveredReflectance found = recover_reflectance(colour.xyz, colour.weights);
  // Half a CIEDE2000 is what rounding to whole Lab numbers costs; beyond that the record asks for the
  // impossible.
  if (!found.exact && found.de00 > 0.5) {
    reader.error_here(
        "no surface has this colour; the nearest possible one is CIEDE2000 " + shown(found.de00) + " away",
        "check the numbers; a fluorescent ink needs effect = \"fluorescent\"");
    return std::nullopt;
  }
  return found.reflectance;
}

void read_mesh_geometry(TableReader& reader, Mesh& mesh) {
  mesh.threads_per_cm =
      reader.quantity("count", Measure::mesh_per_cm, "", {5, 250}, Need::required).value_or(0);
  mesh.thread = {
      reader.quantity("thread_um", Measure::length_um, "um", {10, 500}, Need::required).value_or(0)};
  mesh.fabric_thickness = {
      reader.quantity("fabric_um", Measure::length_um, "um", {10, 1000}, Need::required).value_or(0)};
  if (const auto opening = reader.quantity("opening_um", Measure::length_um, "um", {1, 2000}))
    mesh.opening = Um{*opening};
  mesh.open_area = reader.number("open_area", {0.01, 0.95});
  if (!(mesh.threads_per_cm > 0) || !(mesh.thread.v > 0)) return;
  const double pitch_um = 1e4 / mesh.threads_per_cm;
  if (!(mesh.thread.v < pitch_um)) {
    reader.error(*reader.find("thread_um"),
                 reader.name("thread_um") + " is " + shown(mesh.thread.v) +
                     "; at this count a thread must be thinner than " + shown(pitch_um) +
                     " um, or there is no opening",
                 "check whether the count is per cm or per in");
  }
}

std::optional<Mesh> read_mesh(const Document& document, Diagnostics& faults) {
  Diagnostics own;
  Mesh mesh;
  TableReader reader(document, document.root, "", own);
  RecordHead head = read_record_head(reader);
  mesh.id = std::move(head.id);
  mesh.name = std::move(head.name);
  mesh.provenance = std::move(head.provenance);
  read_mesh_geometry(reader, mesh);
  reader.finish();
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return mesh;
}

namespace {

/// [width, height] of a pallet or an image, each 50..2000 mm; nothing given = not stated.
void read_size(TableReader& reader, std::string_view key, Mm& width, Mm& height) {
  const Value* v = reader.find(key);
  if (v == nullptr) return;
  if (v->kind != ValueKind::list || v->items.size() != 2) {
    reader.error(
        *v, reader.name(key) + " is " + shown(*v) + "; it must be a list of 2 lengths, width and height");
    return;
  }
  const Range range{50, 2000};
  const std::string name = reader.name(key);
  width = {reader.quantity(v->items[0], name + "[0]", Measure::length_mm, "mm", range).value_or(0)};
  height = {reader.quantity(v->items[1], name + "[1]", Measure::length_mm, "mm", range).value_or(0)};
}

}  // namespace

std::optional<PressPreset> read_press(const Document& document, Diagnostics& faults) {
  Diagnostics own;
  PressPreset press;
  TableReader reader(document, document.root, "", own, &press.provenance.assumed);
  RecordHead head = read_record_head(reader);
  press.id = std::move(head.id);
  press.name = std::move(head.name);
  head.provenance.assumed = std::move(press.provenance.assumed);
  press.provenance = std::move(head.provenance);
  press.pair_sigma = {
      reader.quantity("pair_sigma_mm", Measure::length_mm, "mm", {0, 5}, Need::required).value_or(0)};
  press.heads = reader.whole("heads", 1, 30, Need::required).value_or(0);
  press.automatic = reader.flag_or("automatic", false);
  press.flash_takes_head = reader.flag_or("flash_takes_head", press.automatic);
  press.flashes = reader.whole("flashes", 0, 10).value_or(press.flashes);
  press.pallets = reader.whole("pallets", 1, 60).value_or(press.pallets);
  read_size(reader, "pallet_mm", press.pallet_width, press.pallet_height);
  read_size(reader, "largest_image_mm", press.image_width, press.image_height);
  press.setup_sigma = {
      reader.quantity("setup_sigma_mm", Measure::length_mm, "mm", {0, 5}).value_or(press.setup_sigma.v)};
  press.setup_turn_sigma_deg = reader.number_or("setup_turn_sigma_deg", {0, 2}, press.setup_turn_sigma_deg);
  press.turn_sigma_deg = reader.number_or("turn_sigma_deg", {0, 2}, press.turn_sigma_deg);
  reader.finish();
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return press;
}

std::optional<FibreRecord> read_fibre(const Document& document, Diagnostics& faults) {
  Diagnostics own;
  FibreRecord fibre;
  TableReader reader(document, document.root, "", own, &fibre.provenance.assumed);
  RecordHead head = read_record_head(reader);
  fibre.id = std::move(head.id);
  fibre.name = std::move(head.name);
  head.provenance.assumed = std::move(fibre.provenance.assumed);
  fibre.provenance = std::move(head.provenance);
  fibre.takes_agent = reader.number_or("takes_agent", {0, 1}, 1);
  if (std::optional<TableReader> optics = reader.table("optics", Need::required)) {
    const std::vector<double> nm = read_wavelengths(*optics);
    fibre.optics.k = optics->spectrum("K_per_um", nm, {0}, Need::required).value_or(Spectrum{});
    fibre.optics.s = optics->spectrum("S_per_um", nm, {0}, Need::required).value_or(Spectrum{});
    optics->finish();
  }
  reader.finish();
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return fibre;
}

std::optional<DyeRecord> read_dye(const Document& document, Diagnostics& faults) {
  Diagnostics own;
  DyeRecord record;
  TableReader reader(document, document.root, "", own);
  RecordHead head = read_record_head(reader);
  record.id = std::move(head.id);
  record.dye.name = std::move(head.name);
  record.provenance = std::move(head.provenance);
  record.dye.reducible = reader.number("reducible", {0, 1}, Need::required).value_or(0);
  record.dye.rate = reader.number_or("rate", {0, 100, true}, 1);
  if (std::optional<TableReader> optics = reader.table("optics", Need::required)) {
    const std::vector<double> nm = read_wavelengths(*optics);
    record.dye.k_per_um = optics->spectrum("K_per_um", nm, {0}, Need::required).value_or(Spectrum{});
    record.dye.byproduct_k_per_um = optics->spectrum("byproduct_K_per_um", nm, {0}).value_or(Spectrum{});
    optics->finish();
  }
  reader.finish();
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return record;
}

}  // namespace kirtle
