#pragma once
// Every finding: one function each, in the file named after it, and its line in find_table.cpp. Internal to
// check.
#include "check/facts.h"

#include <span>
#include <string>
#include <vector>

namespace kirtle::check {

using Findings = std::vector<Finding>;

Findings find_empty_plate(const Facts& facts);  // find_plate.cpp
Findings find_polarity(const Facts& facts);
Findings find_resolution(const Facts& facts);   // find_resolution.cpp
Findings find_light_tones(const Facts& facts);  // find_tones.cpp
Findings find_filled_tones(const Facts& facts);
Findings find_thin_lines(const Facts& facts);  // find_lines.cpp
Findings find_thin_gaps(const Facts& facts);
Findings find_thin_type(const Facts& facts);
Findings find_base_eats_type(const Facts& facts);  // find_base.cpp
Findings find_base_shows(const Facts& facts);
Findings find_bare_base(const Facts& facts);
Findings find_no_base(const Facts& facts);      // find_no_base.cpp
Findings find_wet_overlap(const Facts& facts);  // find_wet.cpp
Findings find_wet_load(const Facts& facts);
Findings find_ink_build(const Facts& facts);  // find_build.cpp
Findings find_piled_solids(const Facts& facts);
Findings find_few_threads(const Facts& facts);  // find_screens.cpp
Findings find_moire(const Facts& facts);
Findings find_no_discharge(const Facts& facts);  // find_discharge.cpp
Findings find_youth_discharge(const Facts& facts);
Findings find_dye_migration(const Facts& facts);   // find_migration.cpp
Findings find_stations_short(const Facts& facts);  // find_press.cpp
Findings find_too_large(const Facts& facts);
Findings find_curve_twice(const Facts& facts);  // find_curve.cpp
Findings find_order(const Facts& facts);        // find_order.cpp

/// One line of the table. In its order findings of one severity are ranked.
struct FindingKind {
  const char* id;  ///< Finding::kind of all that it finds
  Findings (*find)(const Facts&);
};
std::span<const FindingKind> finding_kinds();

/// "12.3, 45.6 mm" and lists of names, for sentences.
std::string at_text(PlateSpot at);
std::string names_of(const Facts& facts, const std::vector<std::size_t>& plates);

/// A finding about plates, with names and passes filled in.
Finding about(const Facts& facts, const std::vector<std::size_t>& plates);

}  // namespace kirtle::check
