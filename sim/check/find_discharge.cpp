// Shirts that discharge ink does not clear, and discharge on youth sizes.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kNothingToDo = 80;  // L* of a shirt from which there is little dye to take out
constexpr double kClear = 70;        // L* of cloth cleared well; a full discharge comes to 75 to 85
constexpr double kHardlyClear = 60;
constexpr int kPoorGrade = 2, kFairGrade = 3;  // of 1 to 5

std::vector<std::size_t> with_agent(const Facts& facts) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i)
    if (std::any_of(facts.plates[i].passes.begin(), facts.plates[i].passes.end(),
                    [&](int p) { return facts.pass(p).ink.agent_g_cm3 > 0; }))
      out.push_back(i);
  return out;
}

}  // namespace

Findings find_no_discharge(const Facts& facts) {
  Findings out;
  const std::vector<std::size_t> plates = with_agent(facts);
  if (plates.empty()) return out;
  for (const ShirtFacts& shirt : facts.shirts) {
    if (shirt.bare.l >= kNothingToDo || !shirt.discharged) continue;
    const int grade = shirt.cloth->discharge_grade;
    const double l = shirt.discharged->l;
    const bool poor_shirt = grade >= 1 && grade <= kPoorGrade;
    if (!poor_shirt && grade != kFairGrade && l >= kClear) continue;
    Finding f = about(facts, plates);
    f.severity = poor_shirt || l < kHardlyClear ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.what = fmt::format("{} ({}){}: discharge takes it from L* {:.0f} to {:.0f}{}", shirt.cloth->name,
                         shirt.cloth->fibre_text,
                         grade > 0 ? fmt::format(", graded {} of 5 for discharge", grade) : std::string(),
                         shirt.bare.l, l,
                         l < kClear ? fmt::format(", under {:.0f}", kClear)
                                    : std::string(", and the shade that stays tints every ink on it"));
    f.number = l;
    f.limit = kClear;
    f.unit = "L*";
    f.remedy =
        poor_shirt || grade == kFairGrade
            ? "print a test on this lot; for light colours take a shirt graded 4 or 5, or plastisol on a base"
            : "lay down more agent: a coarser mesh, fresh ink within its pot life, the dryer as the ink's "
              "data "
              "sheet says; print a test first";
    f.provenance =
        "from the discharge model (placeholder rates) and the shirt's grade; limits: common practice, "
        "no source";
    f.weight = kClear - l;
    out.push_back(f);
  }
  return out;
}

Findings find_youth_discharge(const Facts& facts) {
  const std::vector<std::size_t> plates = with_agent(facts);
  if (plates.empty() || !facts.settings.youth_sizes || !facts.settings.youth_agreed.empty()) return {};
  Finding f = about(facts, plates);
  f.severity = FindingSeverity::sent_back;
  f.what = fmt::format("youth sizes are in the order, and {} prints with discharge agent: stop and ask",
                       names_of(facts, plates));
  f.remedy =
      "print youth sizes without discharge, or have the customer and the ink's supplier agree to it (safety "
      "data "
      "sheet, local rules for children's wear, wash before wear) and write youth_discharge_agreed into the "
      "order: "
      "agents release formaldehyde and sulphur compounds";
  f.provenance = kCommonPractice;
  return {f};
}

}  // namespace kirtle::check
