// Too much wet ink: wet on wet over 200 %, and more water than a dryer drives off.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {
constexpr double kMostOverlap = 2;  // film added up
constexpr double kFarOver = 1.5;    // times the limit of wet load
}  // namespace

Findings find_wet_overlap(const Facts& facts) {
  Findings out;
  for (std::size_t g = 0; g < facts.wet_groups.size(); ++g) {
    const OverArea& over = facts.overlap.wet_overlap[g];
    if (over.mm2 < kLeast_mm2) continue;
    Finding f = about(facts, facts.wet_groups[g]);
    f.passes.clear();
    for (const int pass : facts.wet_passes[g]) f.passes.push_back(pass + 1);
    f.at = over.at;
    f.what = fmt::format(
        "passes {} to {} print wet on wet with up to {:.0f} % of ink on each other (limit {:.0f} %), on "
        "{:.1f} cm2, most at "
        "{}",
        f.passes.front(), f.passes.back(), 100 * over.most, 100 * kMostOverlap, over.mm2 / 100,
        at_text(over.at));
    f.number = 100 * over.most;
    f.limit = 100 * kMostOverlap;
    f.unit = "%";
    f.remedy = "flash between them, or take the lower inks out where the upper ones hide them";
    f.provenance = kCommonPractice;
    f.weight = over.mm2;
    out.push_back(f);
  }
  return out;
}

Findings find_wet_load(const Facts& facts) {
  const OverArea& over = facts.overlap.wet_load;
  if (over.mm2 < kLeast_mm2) return {};
  std::vector<std::size_t> there;
  for (const std::size_t p : facts.plates_of(over.plates))
    if (facts.plates[p].wet_cm3_m2 > 0) there.push_back(p);
  // Plates at fault: an ink that lies under another which hides it.
  bool hidden = false;
  for (std::size_t lower = 0; lower < there.size(); ++lower)
    for (std::size_t upper = lower + 1; upper < there.size(); ++upper)
      hidden = hidden || facts.hides(there[upper], there[lower]);
  Finding f = about(facts, there);
  f.severity = hidden || over.most > kFarOver * facts.wet_limit ? FindingSeverity::sent_back
                                                                : FindingSeverity::caution;
  f.at = over.at;
  f.what = fmt::format("{}: {:.0f} cm3/m2 of wet ink, over {:.0f}, on {:.1f} cm2, most at {}{}",
                       names_of(facts, there), over.most, facts.wet_limit, over.mm2 / 100, at_text(over.at),
                       hidden             ? ": solids piled up"
                       : there.size() > 1 ? ": inks laid over each other"
                                          : "");
  f.number = over.most;
  f.limit = facts.wet_limit;
  f.unit = "cm3/m2";
  f.remedy =
      hidden ? "knock the light out where the dark prints solid, a rim of it left under the dark's edge "
               "(kirtle reshape), or use finer meshes"
      : there.size() > 1 ? "take some of each ink out where they lie on each other, or use finer meshes; or "
                           "run the dryer slower "
                           "and have a wash test"
                         : "use a finer mesh or fewer strokes, or run the dryer slower and have a wash test";
  const bool agent = std::any_of(there.begin(), there.end(), [&](std::size_t p) {
    return facts.first_pass(facts.plates[p]).ink.agent_g_cm3 > 0;
  });
  if (agent) f.remedy += " (a finer mesh lays less agent: less dye goes)";
  const bool shops = facts.settings.wet_limit_cm3_m2 || facts.scene.compare.wet_limit_cm3_m2;
  f.provenance = shops ? "limit: the shop's own" : std::string("limit: ") + kPlaceholder + "; give your own";
  f.weight = over.mm2;
  return {f};
}

}  // namespace kirtle::check
