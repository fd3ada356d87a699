#pragma once
// One design in the ways in which a shop would try to get it onto another shirt.
//
// What is tried, and when (the choice is ours; common practice in kind, no source):
//   as it is         always
//   without base     where the scene has a base: its base plates are dropped
//   on a base        where it has none: a tonal base is added under all inks that want one, choked, with
//   holes
//                    under solid dark; once in a plain base ink of their kind, once in one that holds dye of
//                    polyester back, if the library has one. Water base and discharge are tried so in the
//                    nearest plastisols, too; discharge only so, because a base keeps the agent from the
//                    cloth
//   shirt as a shade where [compare] names a light and a dark, or just two plates print, and no base lies
//                    below: the dark plate is dropped, the light fades out where it was (compare's "shirt as
//                    the dark"), fitted once, on the scene's own shirt, so that one new screen serves all
//                    shirts
//   inks swapped     with a base: its ink against other pale, neutral base inks of its family, at most three.
//                    Without: the light ink against the nearest of its family, and all inks against the
//                    nearest of each other family (of a discharge design only those with agent go to water
//                    base)
// Nearest: CIEDE2000 of their solids through the same screen on the cloth without its dye, up to kNearestInk.
#include "check/check_scene.h"
#include "job/scene.h"

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// An ink further off than this is another colour; dE00 (our own choice).
constexpr double kNearestInk = 20;

enum class RangeVariant { as_is, without_base, with_base, shirt_shade, inks_swapped };
/// "as-is", "without-base", "with-base", "shirt-as-shade", "inks-swapped": words that do not change.
std::string_view variant_id(RangeVariant variant);

/// Id of the design that is moved to discharge as a whole.
constexpr std::string_view kAllDischarge = "inks:all=discharge";

struct RangeDesign {
  RangeVariant variant = RangeVariant::as_is;
  std::string id;       ///< of this design among its scene's: "with-base:low-bleed-white"
  std::string called;   ///< in shop words: "on a base of Low-bleed white"
  std::string changed;  ///< what has to be done for it; empty for the scene as it is
  Scene scene;          ///< on its own shirt
  SharedImages images;  ///< of printing_plates(scene)
  int screens = 0;      ///< to hang
  int new_screens = 0;  ///< plates to make beyond those of the scene as it is
  int flashes = 0;
};

struct RangeDesigns {
  double ppi = 0;
  std::vector<RangeDesign> designs;    ///< the scene as it is first
  std::vector<std::string> not_tried;  ///< one line each, with the reason
};

/// plates: of read_printing_plates(scene). bases: PlateCheck::bases() of them. inks: to choose from. Nothing
/// depends on threads. Throws InputError (press).
RangeDesigns make_designs(const Scene& scene, const std::shared_ptr<const PlateSet>& plates,
                          const std::vector<int>& bases, std::span<const Ink> inks, unsigned threads);

}  // namespace kirtle
