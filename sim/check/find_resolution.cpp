// Pixels too coarse for tints, edges or 1-bit dots.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kPixelsPerLine = 2;  // of tints
constexpr double kEdgesWarn = 200, kEdgesSendBack = 150;
constexpr double kDotsWarn = 600, kDotsSendBack = 300;

/// Files store pixels a metre in whole numbers and the like: 149.99 is 150.
bool is_short(double ppi, double limit) { return ppi < 0.995 * limit; }

/// Pixels per inch that a plate needs, what it is for, and from where it is sent back.
struct Need {
  double ppi = 0, sent_back = 0;
  std::string what;
};

Need need_of(const Facts& facts, const PlateFacts& plate) {
  if (plate.image->dots) return {kDotsWarn, kDotsSendBack, "1-bit dots and edges"};
  Need need;
  if (plate.survey.solid_mm2 > kLeast_mm2) need = {kEdgesWarn, kEdgesSendBack, "edges"};
  if (plate.survey.tint_mm2 <= kLeast_mm2) return need;
  for (const int p : plate.passes) {
    const HalftoneScreen& h = facts.pass(p).halftone;
    const double lines = h.shape == DotShape::noise ? 0 : h.lpi;
    const double ppi = kPixelsPerLine * lines;
    // Whichever is short by more: tints need all of their two pixels, edges bear a little less.
    if (is_short(facts.ppi, ppi) && (ppi > need.ppi || !is_short(facts.ppi, need.ppi)))
      need = {ppi, ppi / kPixelsPerLine * 1.5, fmt::format("tints at {:g} lines per inch", lines)};
  }
  return need;
}

}  // namespace

Findings find_resolution(const Facts& facts) {
  struct Short {
    Need need;
    std::vector<std::size_t> plates;
  };
  std::vector<Short> found;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    if (facts.plates[i].survey.empty) continue;
    const Need need = need_of(facts, facts.plates[i]);
    if (!is_short(facts.ppi, need.ppi)) continue;
    const auto known =
        std::find_if(found.begin(), found.end(), [&](const Short& s) { return s.need.what == need.what; });
    if (known != found.end()) {
      known->plates.push_back(i);
    } else {
      found.push_back({need, {i}});
    }
  }
  Findings out;
  for (const Short& s : found) {
    Finding f = about(facts, s.plates);
    f.severity =
        is_short(facts.ppi, s.need.sent_back) ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.what = fmt::format("{}: {:.4g} pixels per inch at print size; {} want {:.4g}",
                         names_of(facts, s.plates), facts.ppi, s.need.what, s.need.ppi);
    f.number = facts.ppi;
    f.limit = s.need.ppi;
    f.unit = "pixels per inch";
    f.remedy = fmt::format(
        "export at {:.4g} or more at print size; enlarging the pixels that are there adds nothing",
        std::max(s.need.ppi, s.need.ppi < kDotsWarn ? 300.0 : kDotsWarn));
    f.provenance = std::string(kCommonPractice) +
                   ": tints 2 pixels a line; edges over 200, never under 150; 1-bit 600 and up";
    f.weight = s.need.ppi / facts.ppi;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
