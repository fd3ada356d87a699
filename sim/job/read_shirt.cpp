#include "cloth/swatch.h"
#include "job/records.h"

#include <stdexcept>

namespace kirtle {
namespace {

/// Undyed fibre: a record of the shelf "fibres", or K and S on the spot.
bool read_fibre_optics(TableReader& t, ClothFibre& fibre, Library& library) {
  const std::optional<std::string> id = t.id("fibre");
  if (t.has("fibre")) {
    const FibreRecord* record = id ? library.fibre(*id, t.place(*t.find("fibre")), t.faults()) : nullptr;
    fibre.name = t.text("name", Need::optional, 60).value_or(record != nullptr ? record->name : "");
    if (record == nullptr) return false;
    fibre.fibre = record->optics;
    fibre.takes_agent = t.number("takes_agent", kShare).value_or(record->takes_agent);
    return true;
  }
  if (!t.has("K_per_um") && !t.has("S_per_um")) {
    t.error_here("\"" + t.name("fibre") + "\" is missing; it must be a record of fibres/",
                 "add fibre = \"cotton\", or wavelength_nm, K_per_um and S_per_um");
    return false;
  }
  fibre.name = t.text("name", Need::required, 60).value_or("");
  const std::vector<double> nm = read_wavelengths(t);
  const auto k = t.spectrum("K_per_um", nm, {0}, Need::required);
  const auto s = t.spectrum("S_per_um", nm, {0}, Need::required);
  fibre.takes_agent = t.number_or("takes_agent", kShare, 1);
  if (!k || !s) return false;
  fibre.fibre = {*k, *s};
  return true;
}

/// [[fibre.dye]]: a record of the shelf "dyes" times an amount, or K on the spot.
void read_one_dye(TableReader& t, ClothFibre& fibre, Library& library) {
  Dye dye;
  const std::optional<std::string> id = t.id("dye");
  if (t.has("dye")) {
    const DyeRecord* record = id ? library.dye(*id, t.place(*t.find("dye")), t.faults()) : nullptr;
    if (record != nullptr) dye = record->dye;
    dye.reducible = t.number("reducible", kShare).value_or(dye.reducible);
    dye.rate = t.number("rate", {0, 100, true}).value_or(dye.rate);
  } else {
    dye.name = t.text("name", Need::required, 60).value_or("");
    const std::vector<double> nm = read_wavelengths(t);
    dye.k_per_um = t.spectrum("K_per_um", nm, {0}, Need::required).value_or(Spectrum{});
    dye.byproduct_k_per_um = t.spectrum("byproduct_K_per_um", nm, {0}).value_or(Spectrum{});
    dye.reducible = t.number("reducible", kShare, Need::required).value_or(0);
    dye.rate = t.number_or("rate", {0, 100, true}, 1);
  }
  const double amount = t.number("amount", {0, 1000, true}).value_or(1);
  dye.k_per_um *= amount;
  dye.byproduct_k_per_um *= amount;
  t.finish();
  fibre.dyes.push_back(std::move(dye));
}

/// [fibre.bare] and [fibre.discharged]: the yarn's colour before and after.
void read_dyes_from_colour(TableReader& t, ClothFibre& fibre, const Cloth& cloth, bool fibre_is_known) {
  std::optional<TableReader> bare = t.table("bare");
  std::optional<TableReader> after = t.table("discharged");
  if (!bare) return;
  std::optional<Spectrum> bare_r, after_r;
  if (const auto colour = read_colour(*bare)) bare_r = recovered_reflectance(*bare, *colour);
  const double reducible = after ? 1 : bare->number_or("reducible", kShare, 0);
  bare->finish();
  std::optional<DischargeSwatch> swatch;
  if (after) {
    if (const auto colour = read_colour(*after)) after_r = recovered_reflectance(*after, *colour);
    swatch.emplace();
    swatch->dose_g_m2 = after->number_or("dose_g_m2", {0, 100, true}, swatch->dose_g_m2);
    swatch->agent_depth = {after->number_or("agent_depth_um", {1, 2000}, swatch->agent_depth.v)};
    const auto celsius = after->quantity("temperature", Measure::temperature_c, "", {20, 250});
    const auto seconds = after->quantity("seconds", Measure::time_s, "s", {0, 3600, true});
    if (celsius) swatch->process.dryer.front().celsius = *celsius;
    if (seconds) swatch->process.dryer.front().seconds = *seconds;
    after->finish();
    if (!after_r) return;
    swatch->reflectance = *after_r;
  }
  if (!bare_r || !fibre_is_known) return;
  try {
    fibre.dyes = dyes_from_swatch(cloth, fibre, *bare_r, swatch, reducible).dyes;
  } catch (const std::domain_error& e) {
    bare->error_here("no dye gives this fibre these colours: " + std::string(e.what()));
  }
}

void read_fibres(TableReader& r, Cloth& cloth, Library& library) {
  std::vector<TableReader> tables = r.tables("fibre", 8);
  if (tables.empty() && !r.has("fibre")) {
    r.error_here("the shirt has no fibre", "add at least one [[fibre]] table");
  }
  double sum = 0;
  for (TableReader& t : tables) {
    ClothFibre fibre;
    const double share =
        t.number("share", {0, 1, true}, tables.size() > 1 ? Need::required : Need::optional).value_or(1);
    fibre.share = share;
    sum += share;
    const bool known = read_fibre_optics(t, fibre, library);
    if (t.has("dye") && t.has("bare")) {
      t.error_here("the dye is given twice: [[" + t.name("dye") + "]] and [" + t.name("bare") + ']',
                   "keep one of the two");
    }
    if (t.has("discharged") && !t.has("bare")) {
      t.error_here('[' + t.name("discharged") + "] is given without [" + t.name("bare") + ']',
                   "give the colour before discharge too");
    }
    for (TableReader& d : t.tables("dye", 6)) read_one_dye(d, fibre, library);
    read_dyes_from_colour(t, fibre, cloth, known);
    if (t.has("bare") && cloth.provenance.status == DataStatus::measured) {
      cloth.provenance.status = DataStatus::estimated;
    }
    t.finish();
    cloth.fibres.push_back(std::move(fibre));
  }
  if (!tables.empty() && !(sum > 0.995 && sum < 1.005)) {
    r.error(*r.find("fibre"), "the shares of the fibres sum to " + shown(sum) + "; they must sum to 1");
    return;
  }
  for (ClothFibre& fibre : cloth.fibres) fibre.share /= sum;
}

void read_cloth(TableReader& r, Cloth& cloth) {
  const auto um = [&](std::string_view key, Range range, double fallback) {
    if (!r.has(key)) r.assume(key);
    return Um{r.quantity(key, Measure::length_um, "um", range).value_or(fallback)};
  };
  cloth.thickness = um("thickness_um", {50, 5000}, 500);
  cloth.pores = r.number_or("pores", {0, 0.2}, 0.01);
  cloth.surface = r.number_or("surface", {0, 0.05}, 0.008);
  cloth.wetting = r.number_or("wetting", kShare, 0.5);
  cloth.pore_volume = r.number_or("pore_volume", {0.05, 1}, 0.6);
  cloth.surface_fibres_um = um("surface_fibres_um", {0, 500, true}, 10);
  cloth.show_through = r.number_or("show_through", kShare, 0.6);
  cloth.discharge_grade = r.whole("discharge_grade", 1, 5).value_or(0);
  cloth.backing = Spectrum::flat(0.5);
  if (!r.has("backing")) r.assume("backing");
  const Value* v = r.find("backing");
  if (v != nullptr && v->kind == ValueKind::table) {
    std::optional<TableReader> t = r.table("backing");
    cloth.backing =
        t->spectrum("reflectance", read_wavelengths(*t), kShare, Need::required).value_or(Spectrum{});
    t->finish();
  } else if (v != nullptr) {
    cloth.backing = Spectrum::flat(r.number("backing", kShare).value_or(0));
  }
}

/// How fine the knit is, for bands with the dots alone. Its own status, since it is seldom measured.
void read_knit(TableReader& r, Cloth& cloth) {
  std::optional<TableReader> t = r.table("knit");
  if (!t) return;
  const Range range{3, 60};
  const auto wales = t->quantity("wales", Measure::mesh_per_cm, "", range, Need::required);
  const auto courses = t->quantity("courses", Measure::mesh_per_cm, "", range, Need::required);
  std::vector<std::pair<std::string, DataStatus>> words;
  for (const DataStatus s :
       {DataStatus::measured, DataStatus::literature, DataStatus::estimated, DataStatus::invented})
    words.emplace_back(to_string(s), s);
  const DataStatus status = t->choice<DataStatus>("status", words).value_or(cloth.provenance.status);
  t->finish();
  if (wales && courses) cloth.knit = KnitCount{*wales, *courses, status};
}

}  // namespace

std::optional<Cloth> read_shirt(const Document& document, Library& library, Diagnostics& faults) {
  Diagnostics own;
  Cloth cloth;
  std::vector<std::string> assumed;
  TableReader r(document, document.root, "", own, &assumed);
  RecordHead head = read_record_head(r);
  cloth.id = std::move(head.id);
  cloth.name = std::move(head.name);
  cloth.provenance = std::move(head.provenance);
  cloth.fibre_text = r.text("fibre_text", Need::required, 100).value_or("");
  read_cloth(r, cloth);
  read_knit(r, cloth);
  read_fibres(r, cloth, library);
  r.finish();
  cloth.provenance.assumed = std::move(assumed);
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return cloth;
}

}  // namespace kirtle
