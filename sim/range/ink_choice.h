#pragma once
// Which inks of the library a shop would put in place of another.
#include "ink/ink.h"
#include "job/scene.h"
#include "light/colour.h"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// Inks that can stand in for others: predicted, and not colourless as extenders and clear discharge are.
std::vector<const Ink*> stand_ins(std::span<const Ink> inks);

/// L* of a 25 um film on black card, 0..100.
double lightness_on_black(const Ink& ink);
/// Hides, pale and neutral, without agent, wants no base itself: a base.
bool is_base_ink(const Ink& ink);
/// Made against migration of polyester's dye: its id says low-bleed.
bool is_low_bleed(const Ink& ink);

/// An ink's solid through the pass's screen, alone, on the scene's cloth without its dye, in the scene's
/// light.
Lab printed_on_undyed(const Scene& scene, const ScenePass& pass, const Ink& ink);

/// The ink of a family nearest to the pass's own, both printed_on_undyed, within `most` dE00, other than the
/// ink itself; of equals the first. none = nullptr. agent: only inks with (true) or without it (false).
const Ink* nearest_ink(const Scene& scene, const ScenePass& pass, std::span<const Ink* const> among,
                       InkFamily family, bool agent, double most);

}  // namespace kirtle
