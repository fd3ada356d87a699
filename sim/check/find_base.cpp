// A base that sticks out from its tops, and a base whose choke ate thin strokes.
#include "check/find.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kShareOut = 0.1;                        // of the base's edges under tops
constexpr double kShareEaten = 0.05;                     // of a top's thin strokes
constexpr double kMuchEaten = 0.2, kMuchEaten_mm = 200;  // from here on it is sent back
constexpr double kFlush_mm = 0.05;
constexpr double kLeastFlush_mm = 20;  // length
// Base without a top: an area, not the strip beside an edge.
constexpr double kLeastBare_mm2 = 10, kBareShare = 0.2;
constexpr const char* kChokeRule =
    "common practice, no source: choke 0.10 to 0.18 mm on an automatic, 0.25 to 0.35 mm by hand; none on "
    "strokes "
    "under 0.7 mm";

const char* choke_for(const Facts& facts) {
  return facts.scene.press.preset.automatic ? "0.10 to 0.18 mm" : "0.25 to 0.35 mm";
}

/// Does most of a top's solid lie on this base?
bool lies_on(const Facts& facts, std::size_t top, std::size_t base) {
  double all = 0, on = 0;
  for (const SolidPile& pile : facts.overlap.piles) {
    if ((pile.plates >> top & 1U) == 0) continue;
    all += pile.mm2;
    if ((pile.plates >> base & 1U) != 0) on += pile.mm2;
  }
  return on > 0.3 * all && on > 0;
}

}  // namespace

Findings find_base_eats_type(const Facts& facts) {
  Findings out;
  for (const auto& [base, survey] : facts.bases) {
    const std::vector<std::size_t> tops = facts.tops_of(base);
    for (std::size_t t = 0; t < survey.strokes.size(); ++t) {
      const StrokesOnBase& s = survey.strokes[t];
      if (s.eaten < kLeast_mm || s.eaten < kShareEaten * s.length || !lies_on(facts, tops[t], base)) continue;
      Finding f = about(facts, {base, tops[t]});
      f.severity = s.eaten > kMuchEaten_mm || s.eaten > kMuchEaten * s.length ? FindingSeverity::sent_back
                                                                              : FindingSeverity::caution;
      f.at = s.eaten_at;
      f.what = fmt::format(
          "{}: the base is {} under {:.0f} mm of the thin strokes of {} (type, lines under 0.7 mm), most "
          "near "
          "{}: "
          "they print on bare shirt",
          facts.plates[base].name,
          s.base_width < 0.05
              ? "gone"
              : fmt::format("choked to {:.2f} mm, under {:g} mm,", s.base_width, kThinnestBase_mm),
          s.eaten, facts.plates[tops[t]].name, at_text(s.eaten_at));
      f.number = s.base_width;
      f.limit = kThinnestBase_mm;
      f.unit = "mm";
      f.remedy = "do not choke the base under strokes narrower than 0.7 mm (kirtle reshape keeps them)";
      f.provenance = kChokeRule;
      f.weight = s.eaten;
      out.push_back(f);
    }
  }
  return out;
}

Findings find_base_shows(const Facts& facts) {
  Findings out;
  for (const auto& [base, survey] : facts.bases) {
    const BaseEdges& e = survey.edges;
    const bool sticks_out = e.out_length > kLeast_mm && e.out_length > kShareOut * e.length;
    const bool flush = e.length > kLeastFlush_mm && std::abs(e.median_choke) < kFlush_mm;
    if (!sticks_out && !flush) continue;
    Finding f = about(facts, {base});
    f.limit = kFlush_mm;
    f.unit = "mm";
    f.provenance = kChokeRule;
    f.remedy = fmt::format("choke the base by {} against its tops; strokes under 0.7 mm keep their base",
                           choke_for(facts));
    if (sticks_out) {
      f.severity = FindingSeverity::sent_back;
      f.at = e.out_at;
      f.what = fmt::format(
          "{}: the base is wider than the inks on it by {:.2f} mm along {:.0f} mm of edge, most near {}: it "
          "shows "
          "as a rim even in register",
          facts.plates[base].name, e.out_mean, e.out_length, at_text(e.out_at));
      f.number = -e.out_mean;
      f.weight = e.out_length;
    } else {
      f.severity = FindingSeverity::caution;
      f.what = fmt::format(
          "{}: the base is cut flush with the inks on it ({:+.2f} mm of choke in print, along {:.0f} mm of "
          "edge): any "
          "shift shows it",
          facts.plates[base].name, e.median_choke, e.length);
      f.number = e.median_choke;
      f.weight = 1;
    }
    out.push_back(f);
  }
  return out;
}

Findings find_bare_base(const Facts& facts) {
  Findings out;
  for (const auto& [base, survey] : facts.bases) {
    // Plates of dots are not among the tops that were looked at: they may lie there.
    const bool dots_above = std::any_of(facts.plates.begin(), facts.plates.end(),
                                        [&, last = facts.plates[base].passes.back()](const PlateFacts& p) {
                                          return p.image->dots && p.passes.back() > last;
                                        });
    const BareBase& bare = survey.bare;
    if (dots_above || facts.tops_of(base).empty()) continue;
    if (bare.mm2 < kLeastBare_mm2 || bare.most_share < kBareShare) continue;
    Finding f = about(facts, {base});
    f.severity = FindingSeverity::advice;
    f.at = bare.at;
    f.what = fmt::format(
        "{}: {:.1f} cm2 of the base have no ink on them and print as they are, most at {}: is that meant?",
        facts.plates[base].name, bare.mm2 / 100, at_text(bare.at));
    f.number = bare.mm2;
    f.limit = kLeastBare_mm2;
    f.unit = "mm2";
    f.remedy = "nothing, if it is white art; else take the base out there, or put its colour on it";
    f.provenance = "counted; no ink within 0.6 mm: common practice, no source";
    f.weight = bare.mm2;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
