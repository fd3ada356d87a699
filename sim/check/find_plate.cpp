// Plates without ink, and plates that are mostly ink.
#include "check/find.h"

#include <fmt/format.h>

namespace kirtle::check {

namespace {
constexpr double kMostlyInk = 0.6;
}

Findings find_empty_plate(const Facts& facts) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    if (!facts.plates[i].survey.empty) continue;
    Finding f = about(facts, {i});
    f.severity = FindingSeverity::sent_back;
    f.what = fmt::format("{}: no ink on the plate{}", facts.plates[i].name,
                         facts.scene.art_box ? ", or none within [art] box" : "");
    f.limit = 2;
    f.unit = "% film";
    f.remedy = "export the plate again, or take it and its pass out: an empty screen costs a head";
    f.provenance = kCommonPractice;
    out.push_back(f);
  }
  return out;
}

Findings find_polarity(const Facts& facts) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateSurvey& s = facts.plates[i].survey;
    const double most = std::max(s.coverage, s.border_share);
    if (!(most > kMostlyInk)) continue;
    Finding f = about(facts, {i});
    // Ink to the very border is what a plate turned round looks like; a full front is not.
    f.severity = s.border_share > kMostlyInk ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.what =
        fmt::format("{}: {:.0f} % of the plate and {:.0f} % of its outermost pixels are ink (over {:.0f} %)",
                    facts.plates[i].name, 100 * s.coverage, 100 * s.border_share, 100 * kMostlyInk);
    f.number = 100 * most;
    f.limit = 100 * kMostlyInk;
    f.unit = "%";
    f.remedy =
        "turn ink_is round if dark and light are mixed up; role = \"shirt\" if it shows the shirt; else let "
        "it be";
    f.provenance = kCommonPractice;
    f.weight = most;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
