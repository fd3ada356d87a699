// Ink that lets a dark shirt through, printed straight on it: much darker than on the same cloth undyed, or
// in another colour.
#include "check/find.h"
#include "light/delta_e_2000.h"

#include <fmt/format.h>

namespace kirtle::check {

namespace {
constexpr double kDarkShirt = 50;     // L*
constexpr double kDarker = 20;        // L* that an ink loses on this shirt against the same shirt undyed
constexpr double kNotItsColour = 10;  // dE00 of the same two, for inks whose strokes want a base
constexpr double kLeastArea_mm2 = 25;
constexpr double kShareOfSolid = 0.05;  // of the ink's solid; less is a caution
}  // namespace

Findings find_no_base(const Facts& facts) {
  Findings out;
  if (!(facts.shirts.front().bare.l < kDarkShirt)) return out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    const Ink& ink = facts.first_pass(plate).ink;
    if (ink.agent_g_cm3 > 0) continue;
    const double lost = plate.on_undyed.l - plate.alone.l;
    const bool lost_light = lost > kDarker;
    // A red has little lightness to lose and goes brown all the same.
    const double off = delta_e_2000(plate.alone, plate.on_undyed);
    if (!lost_light && !(ink.base_need >= kNeedsBase && off > kNotItsColour)) continue;
    double area = 0, solid = 0;
    const SolidPile* most = nullptr;
    for (const SolidPile& pile : facts.overlap.piles) {
      if ((pile.plates >> i & 1U) == 0) continue;
      solid += pile.mm2;
      // The first plate down is the one on the shirt.
      const std::vector<std::size_t> there = facts.plates_of(pile.plates);
      std::size_t lowest = there.front();
      for (const std::size_t p : there)
        if (facts.plates[p].passes.front() < facts.plates[lowest].passes.front()) lowest = p;
      if (lowest != i || pile.most_share < 0.25) continue;
      area += pile.mm2;
      if (most == nullptr || pile.mm2 > most->mm2) most = &pile;
    }
    if (area < kLeastArea_mm2) continue;
    Finding f = about(facts, {i});
    f.at = most->at;
    const std::string lies = fmt::format("{}: {:.1f} cm2 of {} lie straight on {} with no base: it prints ",
                                         plate.name, area / 100, ink.name, facts.scene.shirt.name);
    if (lost_light) {
      f.severity = area > kShareOfSolid * solid ? FindingSeverity::sent_back : FindingSeverity::caution;
      f.what = fmt::format("{}at L* {:.0f} there, against {:.0f} on the same cloth undyed; most at {}", lies,
                           plate.alone.l, plate.on_undyed.l, at_text(most->at));
      f.number = lost;
      f.limit = kDarker;
      f.unit = "L*";
    } else {
      f.severity = FindingSeverity::caution;
      f.what = fmt::format("{}dE {:.0f} off its colour on the same cloth undyed, over {:.0f}; most at {}",
                           lies, off, kNotItsColour, at_text(most->at));
      f.number = off;
      f.limit = kNotItsColour;
      f.unit = "dE00";
    }
    f.remedy = "put a white base under it and flash it, or use an ink that hides";
    f.provenance = "from the print model; the limit: common practice, no source";
    f.weight = area;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
