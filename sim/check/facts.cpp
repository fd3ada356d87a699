#include "check/facts.h"

#include "light/delta_e_2000.h"
#include "plate/reshape/tones.h"

#include <algorithm>

namespace kirtle::check {

namespace {

constexpr double kBaseThere = 0.04;  // film from which a tonal base lies there on purpose
constexpr double kSolidDose = 0.88;  // film from which a soaked dose counts as solid
constexpr double kPaleBase = 45;     // L*, and less chroma than
constexpr double kNeutralBase = 15;
constexpr double kOverlapLimit = 2;  // film added up: 200 %

Lab lab_of(const OverprintTable& table, const std::vector<double>& dose) {
  return lab_from_xyz(table.mix(dose), table.weights().white);
}

Cloth undyed(Cloth cloth) {
  for (ClothFibre& fibre : cloth.fibres) fibre.dyes.clear();
  return cloth;
}

double dyed_polyester(const Cloth& cloth) {
  double share = 0;
  for (const ClothFibre& fibre : cloth.fibres)
    if (fibre.takes_agent < 0.5 && !fibre.dyes.empty()) share += fibre.share;
  return share;
}

ShirtFacts shirt_of(const Scene& scene, const Cloth& cloth, const ViewingWeights& weights) {
  ShirtFacts out;
  out.cloth = &cloth;
  out.dyed_polyester = dyed_polyester(cloth);
  Ink clear;
  double agent = 0;
  for (const ScenePass& pass : scene.passes) {
    const double here = pass.ink.agent_g_cm3 * wet_deposit_of(pass).v;
    if (!(here > agent)) continue;
    agent = here;
    clear = pass.ink;
  }
  clear.flat_reflectance.reset();
  clear.optics = {};
  clear.soak = 1;
  clear.solids_by_volume = 0;
  clear.agent_g_cm3 = agent;  // on 1 um of wet ink
  const Stack stack(cloth, {{0, clear, {1}, false}}, 1, scene.discharge, StackSettings{});
  const double bare = 0, solid = 1;
  out.bare = lab_from_reflectance(mean_reflectance(stack.at({&bare, 1})), weights);
  if (agent > 0) out.discharged = lab_from_reflectance(mean_reflectance(stack.at({&solid, 1})), weights);
  return out;
}

std::vector<double> printed_by_film(const PrintingPlate& plate) {
  std::vector<double> out(256);
  for (std::size_t c = 0; c < out.size(); ++c) out[c] = plate.tone.printed(static_cast<double>(c) / 255);
  return out;
}

BaseSurvey survey_of(const Facts& facts, std::size_t base, unsigned threads) {
  std::vector<BaseTopPlate> tops;
  for (const std::size_t top : facts.tops_of(base)) {
    const PlateFacts& plate = facts.plates[top];
    const double spread = to_mm(facts.model.plates[top].cover.tone.spread).v;
    tops.push_back(
        {plate.image, &plate.survey.strokes, spread, facts.first_pass(plate).ink.base_need >= kNeedsBase});
  }
  return survey_base(*facts.plates[base].image, to_mm(facts.model.plates[base].cover.tone.spread).v, tops,
                     facts.ppi, threads);
}

/// The same image under the same screen, looked at before; none = nullptr.
const PlateFacts* known_of(const Facts* known, const PlateFacts& plate, double ppi) {
  if (known == nullptr || known->ppi != ppi) return nullptr;
  const auto at = std::find_if(known->plates.begin(), known->plates.end(), [&](const PlateFacts& k) {
    return k.image == plate.image && k.held == plate.held;
  });
  return at == known->plates.end() ? nullptr : &*at;
}

bool wants_base(const Facts& facts, const PlateFacts& plate) {
  return facts.first_pass(plate).ink.base_need >= kNeedsBase;
}

/// Would a look at what lies on what, and at bases under tops, find the same?
bool looks_alike(const Facts* known, const Facts& facts) {
  if (known == nullptr || known->ppi != facts.ppi || known->plates.size() != facts.plates.size() ||
      known->wet_groups != facts.wet_groups || known->wet_limit != facts.wet_limit ||
      known->surveyed != facts.surveyed)
    return false;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts &a = known->plates[i], &b = facts.plates[i];
    if (a.base != b.base || !(a.held == b.held) || a.passes != b.passes ||
        wants_base(*known, a) != wants_base(facts, b) ||
        known->model.plates[i].cover.tone.spread.v != facts.model.plates[i].cover.tone.spread.v)
      return false;
  }
  return true;
}

}  // namespace

std::vector<int> Facts::numbers(const PlateFacts& plate) const {
  std::vector<int> out;
  for (const int p : plate.passes) out.push_back(p + 1);
  return out;
}

std::vector<std::size_t> Facts::plates_of(std::uint32_t mask) const {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < plates.size(); ++p)
    if ((mask >> p & 1U) != 0) out.push_back(p);
  return out;
}

Lab Facts::colour(std::uint32_t mask) const {
  std::vector<double> dose(plates.size(), 0.0);
  for (const std::size_t p : plates_of(mask)) dose[p] = 1;
  return lab_of(model.table, dose);
}

std::vector<std::size_t> Facts::tops_of(std::size_t base) const {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < plates.size(); ++i)
    if (!plates[i].base && !plates[i].image->dots && plates[i].passes.back() > plates[base].passes.back())
      out.push_back(i);
  return out;
}

bool Facts::hides(std::size_t upper, std::size_t lower) const {
  const std::uint32_t u = 1U << upper, l = 1U << lower;
  const Lab pile = colour(u | l);
  const double change = delta_e_2000(pile, colour(u));
  return change < 4 || change < 0.2 * delta_e_2000(pile, colour(l));
}

Facts gather(const Scene& scene, const CheckSettings& settings, const PrintModel& model,
             std::span<const PlateImage* const> images, double ppi, const Facts* known) {
  Facts out{scene, settings, model};
  out.ppi = ppi;
  out.wet_limit = settings.wet_limit_cm3_m2.value_or(scene.compare.wet_limit_cm3_m2.value_or(kWetLimit));
  out.build_limit = scene.compare.ink_build_limit_um.value_or(kBuildLimit);
  out.screens = advise_on_screens(scene, settings.meshes);
  const ViewingWeights& weights = model.table.weights();
  out.shirts.push_back(shirt_of(scene, scene.shirt, weights));
  for (const Cloth& cloth : settings.more_shirts)
    if (cloth.id != scene.shirt.id) out.shirts.push_back(shirt_of(scene, cloth, weights));

  Scene bleached = scene;
  bleached.shirt = undyed(scene.shirt);
  const PrintModel on_undyed(bleached);
  for (std::size_t i = 0; i < model.plates.size(); ++i) {
    const PrintingPlate& printing = model.plates[i];
    PlateFacts plate;
    plate.name = printing.name;
    plate.image = images[i];
    for (std::size_t p = 0; p < scene.passes.size(); ++p)
      if (scene.passes[p].plate == printing.scene_plate) plate.passes.push_back(static_cast<int>(p));
    const ScreenLine& line = out.screens.lines[static_cast<std::size_t>(plate.passes.front())];
    plate.held = {line.smallest_tint, line.largest_tint};
    for (const int p : plate.passes)
      if (out.pass(p).ink.family != InkFamily::plastisol) plate.wet_cm3_m2 += wet_deposit_of(out.pass(p)).v;
    std::vector<double> dose(model.plates.size(), 0.0);
    dose[i] = 1;
    plate.alone = lab_of(model.table, dose);
    plate.on_undyed = lab_of(on_undyed.table, dose);
    const bool flashed = out.pass(plate.passes.back()).flash_after &&
                         plate.passes.back() + 1 < static_cast<int>(scene.passes.size());
    plate.base = flashed && plate.on_undyed.l > kPaleBase && chroma(plate.on_undyed) < kNeutralBase;
    const double solid_from = plate.base             ? kBaseThere
                              : printing.cover.field ? kSolidDose
                                                     : prints_solid_from(printing.tone);
    out.surveyed.push_back({plate.image, solid_from, printed_by_film(printing), plate.wet_cm3_m2});
    out.plates.push_back(std::move(plate));
  }
  for (PlateFacts& plate : out.plates) {
    const PlateFacts* before = known_of(known, plate, ppi);
    plate.survey = before ? before->survey : survey_plate(*plate.image, ppi, plate.held, settings.threads);
  }

  out.wet_groups.emplace_back();
  out.wet_passes.emplace_back();
  for (std::size_t p = 0; p < scene.passes.size(); ++p) {
    const auto plate = static_cast<std::size_t>(
        std::find_if(model.plates.begin(), model.plates.end(),
                     [&](const PrintingPlate& m) { return m.scene_plate == scene.passes[p].plate; }) -
        model.plates.begin());
    WetGroup& group = out.wet_groups.back();
    if (std::find(group.begin(), group.end(), plate) == group.end()) group.push_back(plate);
    out.wet_passes.back().push_back(static_cast<int>(p));
    if (!scene.passes[p].flash_after || p + 1 == scene.passes.size()) continue;
    out.wet_groups.emplace_back();
    out.wet_passes.emplace_back();
  }
  if (looks_alike(known, out)) {
    out.overlap = known->overlap;
    out.bases = known->bases;
    return out;
  }
  out.overlap =
      survey_overlap(out.surveyed, out.wet_groups, ppi, kOverlapLimit, out.wet_limit, settings.threads);
  for (std::size_t i = 0; i < out.plates.size(); ++i)
    if (out.plates[i].base && !out.plates[i].survey.empty && !out.plates[i].image->dots)
      out.bases.emplace_back(i, survey_of(out, i, settings.threads));
  return out;
}

}  // namespace kirtle::check
