// A gain curve that may be put on twice.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr std::size_t kPopulated = 40;  // pixels of a code beside an unused one
constexpr int kFewestGaps = 8;

/// Codes that no pixel of a tint has, both neighbours well used: what a curve put on 8-bit pixels leaves
/// where it is steep.
int unused_codes(const PlateFacts& plate) {
  if (plate.image->bits != 8) return 0;
  int gaps = 0;
  const auto& tones = plate.survey.tones;
  for (std::size_t v = 6; v + 6 < tones.size(); ++v)
    gaps += tones[v] == 0 && tones[v - 1] >= kPopulated && tones[v + 1] >= kPopulated;
  return gaps;
}

}  // namespace

Findings find_curve_twice(const Facts& facts) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    const CurveAt first = facts.first_pass(plate).curve;
    const bool differs = std::any_of(plate.passes.begin(), plate.passes.end(),
                                     [&](int p) { return facts.pass(p).curve != first; });
    const int gaps = unused_codes(plate);
    if (!differs && (gaps < kFewestGaps || first == CurveAt::plates)) continue;
    Finding f = about(facts, {i});
    f.provenance = kCommonPractice;
    f.number = gaps;
    f.limit = kFewestGaps;
    f.weight = gaps;
    if (differs) {
      f.severity = FindingSeverity::sent_back;
      f.number = 0;
      f.limit = 0;
      f.what = fmt::format(
          "{}: its passes do not agree where the gain curve sits, and there is one film of it", plate.name);
      f.remedy = "say one curve_on_film for all passes of the plate";
    } else if (first == CurveAt::output) {
      f.severity = FindingSeverity::sent_back;
      f.what = fmt::format(
          "{}: {} greys are missing between used ones, as after a curve on 8-bit pixels, and the film output "
          "puts on "
          "a curve, too: gain taken out twice prints too light",
          plate.name, gaps);
      f.remedy =
          "export the plate without its curve, or set the output to linear and say curve_on_film = "
          "\"plates\"";
    } else {
      f.severity = FindingSeverity::advice;
      f.what = fmt::format(
          "{}: {} greys are missing between used ones, as after a curve on 8-bit pixels, but curve_on_film "
          "is \"none\"",
          plate.name, gaps);
      f.remedy =
          "if a gain curve is in the plate, say curve_on_film = \"plates\", so that nobody puts on another";
    }
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
