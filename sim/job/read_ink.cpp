#include "ink/swatch.h"
#include "job/records.h"

#include <stdexcept>

namespace kirtle {
namespace {

/// What stands in for keys that a record leaves out. Common practice, no source; see docs/formats.md.
struct FamilyDefaults {
  double solids, density, soak, soak_depth_um, wets, gloss, ink_spread_um, wick_mm, agent_g_cm3;
};
constexpr FamilyDefaults kPlastisol{1.0, 1.2, 0.15, 40, 0.3, 0.6, 45, 0, 0};
constexpr FamilyDefaults kWaterBase{0.35, 1.05, 0.85, 60, 1, 0, 60, 0.1, 0};
constexpr FamilyDefaults kDischarge{0.35, 1.08, 0.9, 80, 1, 0, 60, 0.15, 0.08};

const FamilyDefaults& defaults_of(InkFamily family) {
  switch (family) {
    case InkFamily::plastisol:
      return kPlastisol;
    case InkFamily::water_base:
      return kWaterBase;
    case InkFamily::discharge:
      return kDischarge;
  }
  return kPlastisol;
}

/// Words for hiding: luminous contrast ratio of a film of 25 um dry. Common practice, no source.
struct HidingWord {
  const char* word;
  double contrast_ratio;
};
constexpr HidingWord kHidingWords[] = {{"clear", 0.30}, {"weak", 0.55}, {"normal", 0.75}, {"high", 0.90}};
constexpr double kHidingWordThickness_um = 25;

constexpr const char* kNegative =
    "neither K nor S can be negative: likely the readings over black and over white do not belong together";

std::optional<Hiding> read_hiding(TableReader& reader) {
  std::optional<TableReader> t = reader.table("hiding", Need::required);
  if (!t) return std::nullopt;
  const int before = static_cast<int>(t->faults().all().size());
  std::vector<std::pair<std::string, double>> words;
  for (const HidingWord& w : kHidingWords) words.emplace_back(w.word, w.contrast_ratio);
  Hiding h;
  const bool has_word = t->has("word");
  const std::optional<double> word = t->choice<double>("word", words);
  const std::optional<double> ratio =
      t->number("contrast_ratio", {0.03, 0.999}, has_word ? Need::optional : Need::required);
  const std::optional<double> thickness = t->quantity("thickness_um", Measure::length_um, "um", {0.1, 1000},
                                                      has_word ? Need::optional : Need::required);
  h.black = t->number_or("card_black", {0, 0.3}, h.black);
  h.white = t->number_or("card_white", {0.5, 1}, h.white);
  h.shape = t->choice<ScatterShape>("scatter", {{"flat", ScatterShape::flat}, {"white", ScatterShape::white}})
                .value_or(ScatterShape::flat);
  t->finish();
  if (has_word && (ratio || thickness)) {
    t->error_here("hiding has both a word and numbers",
                  "give word = \"normal\", or contrast_ratio and thickness_um");
  }
  h.contrast_ratio = word.value_or(ratio.value_or(h.contrast_ratio));
  h.thickness = {word ? kHidingWordThickness_um : thickness.value_or(0)};
  if (static_cast<int>(t->faults().all().size()) != before) return std::nullopt;
  return h;
}

bool read_specular(TableReader& reader) {
  return reader.choice<bool>("specular", {{"included", true}, {"excluded", false}}).value_or(true);
}

/// A reading of bare card: one number for all bands, or a list.
std::optional<Spectrum> read_card(TableReader& reader, std::string_view key, const std::vector<double>& nm) {
  const Value* v = reader.find(key, Need::required, "a reflectance 0..1, or a list of them");
  if (v == nullptr || v->kind == ValueKind::list)
    return v == nullptr ? std::nullopt : reader.spectrum(key, nm, kShare);
  const std::optional<double> flat = reader.number(key, kShare);
  if (!flat) return std::nullopt;
  return Spectrum::flat(*flat);
}

/// Runs a fit; what it refuses becomes a fault at the table it was read from.
template <class Fit>
void fit_or_fault(TableReader& t, Ink& ink, Fit fit) {
  try {
    const InkSwatchFit result = fit();
    ink.optics = result.optics;
    if (result.status == DataStatus::estimated && ink.provenance.status == DataStatus::measured) {
      ink.provenance.status = DataStatus::estimated;
    }
  } catch (const std::domain_error& e) {
    t.error_here("no film can look like this: " + std::string(e.what()), kNegative);
  }
}

void read_optics(TableReader& t, Ink& ink) {
  const std::vector<double> nm = read_wavelengths(t);
  ink.optics.k = t.spectrum("K_per_um", nm, {0}, Need::required, kNegative).value_or(Spectrum{});
  ink.optics.s = t.spectrum("S_per_um", nm, {0}, Need::required, kNegative).value_or(Spectrum{});
  t.finish();
}

void read_films(TableReader& t, Ink& ink) {
  const std::vector<double> nm = read_wavelengths(t);
  const auto over_black = t.spectrum("over_black", nm, kShare, Need::required);
  const auto over_white = t.spectrum("over_white", nm, kShare, Need::required);
  const auto black = read_card(t, "card_black", nm);
  const auto white = read_card(t, "card_white", nm);
  FilmReading reading;
  reading.thickness = {
      t.quantity("thickness_um", Measure::length_um, "um", {0.1, 1000}, Need::required).value_or(0)};
  reading.gloss = t.number_or("gloss", kShare, ink.gloss);
  reading.include_k1 = read_specular(t);
  t.finish();
  if (!over_black || !over_white || !black || !white || !(reading.thickness.v > 0)) return;
  fit_or_fault(t, ink, [&] { return ink_from_films(*over_black, *over_white, *black, *white, reading); });
}

void read_opaque(TableReader& t, Ink& ink) {
  const std::vector<double> nm = read_wavelengths(t);
  const auto reflectance = t.spectrum("reflectance", nm, kShare, Need::required);
  const double gloss = t.number_or("gloss", kShare, ink.gloss);
  const bool specular = read_specular(t);
  const std::optional<Hiding> hiding = read_hiding(t);
  t.finish();
  if (!reflectance || !hiding) return;
  fit_or_fault(t, ink, [&] {
    return ink_from_opaque(*reflectance, *hiding, gloss, specular,
                           viewing_weights("D65", Observer::cie1931_2deg));
  });
}

void read_ink_colour(TableReader& t, Ink& ink) {
  const std::optional<GivenColour> colour = read_colour(t);
  const double gloss = t.number_or("gloss", kShare, ink.gloss);
  const bool specular = read_specular(t);
  const std::optional<Hiding> hiding = read_hiding(t);
  t.finish();
  if (!colour || !hiding) return;
  fit_or_fault(t, ink,
               [&] { return ink_from_colour(colour->xyz, *hiding, gloss, specular, colour->weights); });
}

void read_mix(TableReader& reader, Ink& ink, Library& library) {
  std::vector<MixPart> parts;
  double sum = 0;
  std::vector<TableReader> tables = reader.tables("mix", 12);
  bool good = !tables.empty();
  for (TableReader& t : tables) {
    const std::optional<std::string> id = t.id("ink", Need::required);
    const std::optional<double> share = t.number("share", {0, 1, true}, Need::required);
    t.finish();
    const Ink* part = id ? library.ink(*id, t.place(*t.find("ink")), t.faults()) : nullptr;
    if (part != nullptr && part->flat_reflectance) {
      t.error(*t.find("ink"), "ink \"" + *id + "\" is drawn flat and has no K and S to mix");
      part = nullptr;
    }
    if (part == nullptr || !share) {
      good = false;
      continue;
    }
    parts.push_back({&part->optics, *share});
    sum += *share;
    if (part->provenance.status == DataStatus::estimated && ink.provenance.status == DataStatus::measured) {
      ink.provenance.status = DataStatus::estimated;
    }
  }
  if (!good) return;
  if (!(sum > 0.995 && sum < 1.005)) {
    reader.error(*reader.find("mix"), "the shares of the mix sum to " + shown(sum) + "; they must sum to 1");
    return;
  }
  ink.optics = mix_ks(parts);
}

void read_look(TableReader& t, Ink& ink) {
  if (t.has("wavelength_nm")) {
    ink.flat_reflectance = t.spectrum("reflectance", read_wavelengths(t), kShare, Need::required);
  } else if (const std::optional<GivenColour> colour = read_colour(t)) {
    ink.flat_reflectance = recovered_reflectance(t, *colour);
  }
  t.finish();
}

void read_deposit(TableReader& r, Ink& ink) {
  const FamilyDefaults& d = defaults_of(ink.family);
  ink.solids_by_volume = r.number_or("solids_by_volume", {0.01, 1}, d.solids);
  ink.density_g_cm3 = r.number_or("density_g_cm3", {0.5, 5}, d.density);
  ink.soak = r.number_or("soak", kShare, d.soak);
  const auto length = [&](std::string_view key, Measure m, std::string_view unit, Range range,
                          double fallback) {
    if (!r.has(key)) r.assume(key);
    return r.quantity(key, m, unit, range).value_or(fallback);
  };
  ink.soak_depth = {length("soak_depth_um", Measure::length_um, "um", {1, 2000}, d.soak_depth_um)};
  ink.wets = r.number_or("wets", kShare, d.wets);
  ink.gloss = r.number_or("gloss", kShare, d.gloss);
  ink.ink_spread = {length("ink_spread_um", Measure::length_um, "um", {-100, 500}, d.ink_spread_um)};
  ink.wick = {length("wick_mm", Measure::length_mm, "mm", {0, 5}, d.wick_mm)};
  ink.base_need = r.number_or("base_need", kShare, 1);
  const bool discharge = ink.family == InkFamily::discharge;
  if (discharge) {
    ink.agent_g_cm3 = r.number_or("agent_g_cm3", {0, 0.5, true}, d.agent_g_cm3);
    ink.agent_depth = {length("agent_depth_um", Measure::length_um, "um", {1, 2000}, 120)};
    return;
  }
  for (const char* key : {"agent_g_cm3", "agent_depth_um"}) {
    if (const Value* v = r.find(key)) {
      r.error(*v, std::string(key) + " is given, but the ink's family is not \"discharge\"",
              "set family = \"discharge\", or take the key out");
    }
  }
}

}  // namespace

std::optional<Ink> read_ink(const Document& document, Library& library, Diagnostics& faults) {
  Diagnostics own;
  Ink ink;
  std::vector<std::string> assumed;
  TableReader r(document, document.root, "", own, &assumed);
  RecordHead head = read_record_head(r);
  ink.id = std::move(head.id);
  ink.name = std::move(head.name);
  ink.provenance = std::move(head.provenance);
  ink.family = r.choice<InkFamily>("family",
                                   {{"plastisol", InkFamily::plastisol},
                                    {"water base", InkFamily::water_base},
                                    {"discharge", InkFamily::discharge}},
                                   Need::required)
                   .value_or(InkFamily::plastisol);
  ink.effect = r.choice<InkEffect>("effect", {{"none", InkEffect::none},
                                              {"fluorescent", InkEffect::fluorescent},
                                              {"metallic", InkEffect::metallic},
                                              {"glitter", InkEffect::glitter},
                                              {"puff", InkEffect::puff},
                                              {"gel", InkEffect::gel},
                                              {"foil", InkEffect::foil},
                                              {"glow", InkEffect::glow},
                                              {"reflective", InkEffect::reflective}})
                   .value_or(InkEffect::none);
  read_deposit(r, ink);

  // One way to the colour, and only one.
  std::string given;
  int ways = 0;
  for (const char* way : {"optics", "films", "opaque", "colour", "mix", "look"}) {
    if (!r.has(way)) continue;
    given += (ways++ > 0 ? ", " : "") + std::string(way);
  }
  if (std::optional<TableReader> t = r.table("optics")) read_optics(*t, ink);
  if (std::optional<TableReader> t = r.table("films")) read_films(*t, ink);
  if (std::optional<TableReader> t = r.table("opaque")) read_opaque(*t, ink);
  if (std::optional<TableReader> t = r.table("colour")) read_ink_colour(*t, ink);
  if (std::optional<TableReader> t = r.table("look")) read_look(*t, ink);
  read_mix(r, ink, library);
  const bool effect = ink.effect != InkEffect::none;
  if (ways != 1) {
    r.error_here(
        ways == 0 ? "the ink has no colour" : "the ink's colour is given in more than one way: " + given,
        "give one of [optics], [films], [opaque], [colour], [[mix]]; an effect ink has [look]");
  } else if (effect != r.has("look")) {
    r.error_here(
        effect ? "an ink with an effect is outside the model and needs [look], the colour to draw"
               : "[look] is for inks with an effect; this ink has effect = \"none\"",
        effect ? "replace [" + given + "] by [look]" : "name the effect, or give [colour] and hiding");
  }
  r.finish();
  ink.provenance.assumed = std::move(assumed);
  faults.append(own);
  if (own.has_errors()) return std::nullopt;
  return ink;
}

}  // namespace kirtle
