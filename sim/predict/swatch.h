#pragma once
// What a record looks like on its own, for lists.
#include "cloth/cloth.h"
#include "ink/ink.h"

#include <string>
#include <string_view>

namespace kirtle {

/// Dry ink of an ink swatch.
constexpr Um kSwatchDryUm{25};

/// An ink drawn on a card, D50, 2 degree observer: the film alone, no soak, seen through its surface. The
/// contrast ratio is the film's, without surface.
struct InkSwatch {
  std::string over_white_hex, over_black_hex;  ///< card of reflectance 0.80 and 0
  double contrast_ratio = 0;                   ///< Y over black / Y over white (as ISO 6504-3 forms it), 0..1
  Um at = kSwatchDryUm;
};
InkSwatch ink_swatch(const Ink& ink);

/// A shirt, bare, and under a solid of clear discharge ink (6 g/m2 of agent, default dryer).
struct ShirtSwatch {
  std::string bare_hex, discharged_hex;
};
ShirtSwatch shirt_swatch(const Cloth& shirt);

std::string_view to_string(InkFamily family);

}  // namespace kirtle
