// Mesh against line count, and bands: where the plate has tints. What kirtle screens finds, once more.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kLeastTint_mm2 = 25;

const PlateFacts* with_tints(const Facts& facts, const std::string& plate) {
  const auto at = std::find_if(facts.plates.begin(), facts.plates.end(),
                               [&](const PlateFacts& p) { return p.name == plate; });
  return at != facts.plates.end() && at->survey.tint_mm2 >= kLeastTint_mm2 && !at->image->dots ? &*at
                                                                                               : nullptr;
}

/// All findings of one concern as one, told of the first, which is the worst; the plates of the others named.
void add(const Facts& facts, ScreenConcern concern, FindingSeverity severity, const char* unit,
         Findings& out) {
  Finding all;
  std::vector<std::string> others;
  for (const ScreenFinding& found : facts.screens.findings) {
    const PlateFacts* plate = found.concern == concern ? with_tints(facts, found.plate) : nullptr;
    if (plate == nullptr) continue;
    const bool known = std::find(all.plates.begin(), all.plates.end(), found.plate) != all.plates.end();
    if (!known) all.plates.push_back(found.plate);
    all.passes.push_back(found.pass);
    if (all.what.empty()) {
      all.severity = severity;
      all.what = found.plate + ": " + found.what;
      all.number = found.number;
      all.limit = found.limit;
      all.unit = unit;
      all.remedy = found.remedy;
      all.provenance = found.provenance;
      all.weight = std::min(found.number, 1e6);
    } else if (!known) {
      others.push_back(found.plate);
    }
  }
  if (all.what.empty()) return;
  if (!others.empty()) all.what += fmt::format("; the like on {}", fmt::join(others, ", "));
  std::sort(all.passes.begin(), all.passes.end());
  all.passes.erase(std::unique(all.passes.begin(), all.passes.end()), all.passes.end());
  out.push_back(std::move(all));
}

}  // namespace

Findings find_few_threads(const Facts& facts) {
  Findings out;
  add(facts, ScreenConcern::few_threads, FindingSeverity::caution, "threads a line", out);
  return out;
}

Findings find_moire(const Facts& facts) {
  Findings out;
  add(facts, ScreenConcern::mesh_moire, FindingSeverity::caution, "mm", out);
  add(facts, ScreenConcern::screens_moire, FindingSeverity::caution, "mm", out);
  // How fine a knit is, is seldom counted: no more than a thought.
  add(facts, ScreenConcern::knit_moire, FindingSeverity::advice, "mm", out);
  return out;
}

}  // namespace kirtle::check
