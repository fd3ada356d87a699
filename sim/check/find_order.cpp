// Print order worth a thought. Advice, never an error.
#include "check/find.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kApart = 25;               // L* between a light ink and a darker one
constexpr double kBlack = 25, kWhite = 85;  // L* of inks
constexpr double kSmaller = 4;              // times less ink
constexpr double kLeastCoverage = 1e-4;

/// Do two plates lie on or right beside each other? Solids that share area, or both are tints somewhere.
bool meet(const Facts& facts, std::size_t a, std::size_t b) {
  for (const SolidPile& pile : facts.overlap.piles)
    if ((pile.plates >> a & 1U) != 0 && (pile.plates >> b & 1U) != 0 && pile.mm2 > 1) return true;
  return facts.plates[a].survey.tint_mm2 > kLeast_mm2 && facts.plates[b].survey.tint_mm2 > kLeast_mm2;
}

}  // namespace

Findings find_order(const Facts& facts) {
  std::vector<std::string> hints;
  std::vector<std::size_t> named;
  const auto hint = [&](const std::string& text, std::size_t a, std::size_t b) {
    hints.push_back(text);
    for (const std::size_t p : {a, b})
      if (std::find(named.begin(), named.end(), p) == named.end()) named.push_back(p);
  };
  for (std::size_t g = 0; g < facts.wet_groups.size(); ++g) {
    const WetGroup& group = facts.wet_groups[g];
    for (std::size_t i = 0; i < group.size(); ++i) {
      for (std::size_t j = i + 1; j < group.size(); ++j) {
        const PlateFacts &first = facts.plates[group[i]], &then = facts.plates[group[j]];
        if (first.survey.coverage < kLeastCoverage || then.survey.coverage < kLeastCoverage) continue;
        const double darker = then.on_undyed.l - first.on_undyed.l;
        const bool white_on_top = then.on_undyed.l > kWhite && chroma(then.on_undyed) < 15 &&
                                  then.survey.coverage < 0.5 * first.survey.coverage;
        if (darker > kApart && !white_on_top && meet(facts, group[i], group[j])) {
          hint(first.on_undyed.l < kBlack
                   ? fmt::format("{} (black or nearly) late, after {}", first.name, then.name)
                   : fmt::format("{} before {}: light before dark", then.name, first.name),
               group[i], group[j]);
        } else if (std::abs(darker) <= kApart && first.survey.coverage > kSmaller * then.survey.coverage &&
                   !white_on_top && meet(facts, group[i], group[j])) {
          hint(fmt::format("{1} before {0}: small before large, so that less wet ink meets the next screen",
                           first.name, then.name),
               group[i], group[j]);
        }
      }
    }
  }
  // A white that tops lie on, printed with them wet.
  for (const SolidPair& pair : facts.overlap.pairs) {
    const PlateFacts &below = facts.plates[pair.lower], &above = facts.plates[pair.upper];
    const ScenePass& pass = facts.pass(below.passes.back());
    const bool white = below.on_undyed.l > kWhite && chroma(below.on_undyed) < 15;
    if (pass.ink.family != InkFamily::plastisol || !white || pass.flash_after || pair.mm2 < kLeast_mm2)
      continue;
    hint(fmt::format("flash {} before {}: tops pick up a wet base", below.name, above.name), pair.lower,
         pair.upper);
  }
  if (hints.empty()) return {};
  Finding f = about(facts, named);
  f.severity = FindingSeverity::advice;
  f.number = static_cast<double>(hints.size());
  f.what = fmt::format("print order: {}", fmt::join(hints, "; "));
  f.remedy = "base, flash, small before large, light before dark, black late, highlight white last";
  f.provenance = kCommonPractice;
  return {f};
}

}  // namespace kirtle::check
