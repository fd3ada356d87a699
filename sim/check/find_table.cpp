// The table of findings. What would send the plates back first stands first.
#include "check/find.h"

#include <array>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr std::array kKinds{
    FindingKind{"empty-plate", find_empty_plate},
    FindingKind{"polarity", find_polarity},
    FindingKind{"stations-short", find_stations_short},
    FindingKind{"too-large", find_too_large},
    FindingKind{"youth-discharge", find_youth_discharge},
    FindingKind{"no-discharge", find_no_discharge},
    FindingKind{"no-base", find_no_base},
    FindingKind{"resolution", find_resolution},
    FindingKind{"curve-twice", find_curve_twice},
    FindingKind{"wet-load", find_wet_load},
    FindingKind{"piled-solids", find_piled_solids},
    FindingKind{"base-eats-type", find_base_eats_type},
    FindingKind{"base-shows", find_base_shows},
    FindingKind{"thin-type", find_thin_type},
    FindingKind{"thin-lines", find_thin_lines},
    FindingKind{"thin-gaps", find_thin_gaps},
    FindingKind{"light-tones", find_light_tones},
    FindingKind{"filled-tones", find_filled_tones},
    FindingKind{"few-threads", find_few_threads},
    FindingKind{"moire", find_moire},
    FindingKind{"wet-overlap", find_wet_overlap},
    FindingKind{"ink-build", find_ink_build},
    FindingKind{"dye-migration", find_dye_migration},
    FindingKind{"order", find_order},
    FindingKind{"bare-base", find_bare_base},
};

}  // namespace

std::span<const FindingKind> finding_kinds() { return kKinds; }

std::string at_text(PlateSpot at) { return fmt::format("{:.1f}, {:.1f} mm", at.x.v, at.y.v); }

std::string names_of(const Facts& facts, const std::vector<std::size_t>& plates) {
  std::string out;
  for (std::size_t i = 0; i < plates.size(); ++i)
    out += (i == 0 ? "" : i + 1 == plates.size() ? " and " : ", ") + facts.plates[plates[i]].name;
  return out;
}

Finding about(const Facts& facts, const std::vector<std::size_t>& plates) {
  Finding out;
  for (const std::size_t p : plates) {
    out.plates.push_back(facts.plates[p].name);
    for (const int pass : facts.numbers(facts.plates[p])) out.passes.push_back(pass);
  }
  return out;
}

}  // namespace kirtle::check
