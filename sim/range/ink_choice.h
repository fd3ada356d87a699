#pragma once
// Which inks of the library a shop would put in place of another.
#include "ink/ink.h"
#include "light/colour.h"

#include <optional>
#include <span>
#include <vector>

namespace kirtle {

/// An ink's dried film on white and on black card.
struct InkLook {
  const Ink* ink = nullptr;
  Lab on_white, on_black;
  double contrast_ratio = 0;
};
/// Inks that can stand in for others: predicted, and not colourless.
std::vector<InkLook> looks_of(std::span<const Ink> inks);
InkLook look_of(const Ink& ink);

/// Hides, pale and neutral, wants no base itself: a base.
bool is_base_ink(const InkLook& look);
/// Says in its name that it holds dye of polyester back.
bool is_low_bleed(const Ink& ink);

/// The nearest ink of a family on white card, within `most` dE00, other than the ink itself; none = nullptr.
/// agent: only inks with (true) or without it (false).
const Ink* nearest_ink(const Ink& to, std::span<const InkLook> among, InkFamily family,
                       std::optional<bool> agent, double most);

}  // namespace kirtle
