#pragma once
// Halftones for tests: one period of round dots, the five kinds of ink and three grounds they are tried on.
#include "print/flux.h"
#include "print/pair_form.h"
#include "screen/dot.h"
#include "stack/stack_materials.h"

#include <string>
#include <vector>

namespace kirtle::demo {

/// Clear inks absorb only; the half opaque, the white and the dark one scatter too. Films of 25 um.
struct NamedInk {
  const char* name;
  KSSpectra optics;
};

inline std::vector<NamedInk> five_inks() {
  const auto band = [](auto f) { return spectrum_of([&](std::size_t i) { return f(band_nm(i)); }); };
  return {
      {"clear_yellow", {band([](double nm) { return 3e-4 + 0.15 * (1 - sig(nm, 505, 10)); }), {}}},
      {"clear_magenta",
       {band([](double nm) { return 3e-4 + 0.1 * sig(nm, 490, 12) * (1 - sig(nm, 595, 10)); }), {}}},
      {"half_opaque_red", red()},
      {"opaque_white",
       {band([](double nm) { return 2e-4 + 0.02 * (1 - sig(nm, 410, 10)); }), Spectrum::flat(0.08)}},
      {"dark_blue", {band([](double nm) { return 0.02 + 0.4 * sig(nm, 480, 15); }), Spectrum::flat(0.010)}},
  };
}

enum class GroundKind { undyed, discharged, white_base };

/// Plate 0 prepares the ground (nothing, agent, white film), plate 1 lays the ink.
inline Stack halftone_stack(GroundKind ground, const KSSpectra& ink, double gloss = 0) {
  std::vector<StackPass> passes;
  if (ground == GroundKind::discharged) passes.push_back(agent_pass(0, 6));
  if (ground == GroundKind::white_base) passes.push_back(film_pass(0, white(), 60));
  passes.push_back(film_pass(1, ink, 25));
  for (StackPass& pass : passes) pass.ink.gloss = gloss;
  return Stack(ground == GroundKind::undyed ? undyed_cloth() : black_cloth(), passes, 2, process(), {});
}

/// One period with kind 1 where a dot of that tone lies, 0 elsewhere.
inline FluxCell dot_cell(DotShape shape, double tone, double lpi, int side) {
  FluxCell cell{side, side, kUmPerInch / lpi / side, {}};
  for (const unsigned char ink : DotCell(shape, side).pattern(tone)) cell.kinds.push_back(ink);
  return cell;
}

inline PlateDots round_dots(double lpi, double angle_deg = 22.5, bool field = false) {
  PlateDots dots;
  dots.halftone.lpi = lpi;
  dots.halftone.angle_deg = angle_deg;
  dots.field = field;
  return dots;
}

}  // namespace kirtle::demo
