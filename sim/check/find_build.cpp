// Ink build of plastisol, and solids piled up where the upper hides the lower.
#include "check/find.h"
#include "light/delta_e_2000.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kLeastPile_mm2 = 25;
bool wet_on_wet(const Facts& facts, std::size_t a, std::size_t b) {
  return std::any_of(facts.wet_groups.begin(), facts.wet_groups.end(), [&](const WetGroup& group) {
    return std::find(group.begin(), group.end(), a) != group.end() &&
           std::find(group.begin(), group.end(), b) != group.end();
  });
}

}  // namespace

Findings find_ink_build(const Facts& facts) {
  double most = 0, area = 0;
  const SolidPile* worst = nullptr;
  for (const SolidPile& pile : facts.overlap.piles) {
    if (pile.most_share < 0.25) continue;
    const std::vector<std::size_t> there = facts.plates_of(pile.plates);
    std::vector<double> dose(facts.plates.size(), 0.0);
    for (const std::size_t p : there) dose[p] = 1;
    const double build = facts.model.table.stack().at(dose).film_total.v;
    if (!(build > facts.build_limit)) continue;
    area += pile.mm2;
    if (build <= most) continue;
    most = build;
    worst = &pile;
  }
  if (worst == nullptr || area < kLeast_mm2) return {};
  const std::vector<std::size_t> there = facts.plates_of(worst->plates);
  Finding f = about(facts, there);
  f.at = worst->at;
  f.what = fmt::format("{}: {:.0f} um of ink on the cloth (limit {:.0f}), stiff, on {:.1f} cm2, most at {}",
                       names_of(facts, there), most, facts.build_limit, area / 100, at_text(worst->at));
  f.number = most;
  f.limit = facts.build_limit;
  f.unit = "um";
  f.remedy = "fewer strokes or a finer mesh on the thickest, or take the lower ink out under the upper";
  f.provenance = facts.scene.compare.ink_build_limit_um ? "limit: the shop's own" : kCommonPractice;
  f.weight = area;
  return {f};
}

Findings find_piled_solids(const Facts& facts) {
  const bool over_load = facts.overlap.wet_load.mm2 >= kLeast_mm2;
  const std::uint32_t over_plates = facts.overlap.wet_load.plates;
  Findings out;
  for (const SolidPair& pair : facts.overlap.pairs) {
    const std::uint32_t lower = 1U << pair.lower, upper = 1U << pair.upper;
    const PlateFacts &below = facts.plates[pair.lower], &above = facts.plates[pair.upper];
    if (pair.mm2 < kLeastPile_mm2 || below.base || !wet_on_wet(facts, pair.lower, pair.upper)) continue;
    // The load finding names them already.
    if (over_load && (over_plates & lower) != 0 && (over_plates & upper) != 0) continue;
    if (!facts.hides(pair.upper, pair.lower)) continue;
    const double change = delta_e_2000(facts.colour(lower | upper), facts.colour(upper));
    Finding f = about(facts, {pair.lower, pair.upper});
    f.at = pair.at;
    f.what = fmt::format(
        "{} prints solid under solid {} on {:.1f} cm2, most at {}, and hardly shows through it (dE {:.1f}): "
        "ink, water and "
        "pick-up for nothing",
        below.name, above.name, pair.mm2 / 100, at_text(pair.at), change);
    f.number = pair.mm2;
    f.limit = kLeastPile_mm2;
    f.unit = "mm2";
    f.remedy =
        fmt::format("knock {} out there, a rim of it left under the edge of {}", below.name, above.name);
    f.provenance = kCommonPractice;
    f.weight = pair.mm2;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
