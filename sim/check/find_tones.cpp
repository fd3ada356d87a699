// Tints that the stencil does not hold, and tints that fill in.
#include "check/find.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

/// Every fade runs out through the lightest tones; a plate with more of them than this share of its tints
/// is made of them (our own choice).
constexpr double kShareOfTints = 0.15;

std::string remedy_of(const Facts& facts, int pass, ScreenConcern concern, const std::string& otherwise) {
  for (const ScreenFinding& f : facts.screens.findings)
    if (f.pass == pass && f.concern == concern && !f.remedy.empty()) return f.remedy;
  return otherwise;
}

bool worth_it(double lost_mm2, double tint_mm2, double own) {
  return lost_mm2 > kLeast_mm2 && lost_mm2 > std::max(own, kShareOfTints) * tint_mm2;
}

}  // namespace

Findings find_light_tones(const Facts& facts) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    const PlateSurvey& s = plate.survey;
    // A fade from solid to nothing has as large a share below a tone as the tone is.
    if (plate.image->dots || !worth_it(s.light_mm2, s.tint_mm2, 1.15 * plate.held.lightest)) continue;
    Finding f = about(facts, {i});
    const int pass = plate.passes.front() + 1;
    const Mesh& mesh = facts.first_pass(plate).mesh;
    f.at = s.light_at;
    f.what = fmt::format(
        "{}: {:.1f} cm2 of tints under {:.0f} % on film ({:.0f} % in the mean) drop out: mesh {:.3g}/cm "
        "holds no "
        "smaller dot; most at {}",
        plate.name, s.light_mm2 / 100, 100 * plate.held.lightest, 100 * s.light_tone, mesh.threads_per_cm,
        at_text(s.light_at));
    f.number = 100 * s.light_tone;
    f.limit = 100 * plate.held.lightest;
    f.unit = "% film";
    const bool agent = facts.first_pass(plate).ink.agent_g_cm3 > 0;
    f.remedy = remedy_of(
        facts, pass, ScreenConcern::light_tints_lost,
        agent ? "raise these tints to the limit or take them out, or use fewer lines"
              : "raise these tints to the limit or take them out, or use a finer mesh or fewer lines");
    f.provenance = kCommonPractice;
    f.weight = s.light_mm2;
    out.push_back(f);
  }
  return out;
}

Findings find_filled_tones(const Facts& facts) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    const PlateSurvey& s = plate.survey;
    if (plate.image->dots || !worth_it(s.dark_mm2, s.tint_mm2, 1.15 * (1 - plate.held.darkest))) continue;
    Finding f = about(facts, {i});
    f.at = s.dark_at;
    f.what = fmt::format(
        "{}: {:.1f} cm2 of tints over {:.0f} % on film ({:.0f} % in the mean) print solid; most at {}",
        plate.name, s.dark_mm2 / 100, 100 * plate.held.darkest, 100 * s.dark_tone, at_text(s.dark_at));
    f.number = 100 * s.dark_tone;
    f.limit = 100 * plate.held.darkest;
    f.unit = "% film";
    f.remedy = "take the gain out of the film, use fewer lines, or keep these shadows solid";
    f.provenance = kCommonPractice;
    f.weight = s.dark_mm2;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
