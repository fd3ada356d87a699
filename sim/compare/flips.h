#pragma once
// What would flip the decision: press, shirt, inks and limits, each moved through its sensible range while
// all else stays. Closed forms and the print model decide, so that it takes seconds.
#include "compare/evaluate.h"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// One thing that, moved so far, makes another build the one to take.
struct Flip {
  std::string what;                ///< "press holds", "shirt", ...
  std::string now;                 ///< its value in the scene, with unit
  std::string at;                  ///< the nearest value tried at which the choice changes
  std::optional<BuildKind> then;   ///< none = there, no build is to be recommended
  std::optional<Concern> because;  ///< what the build of now loses by there; none if none is taken now
};

/// Tries, one at a time: the press from +-0.1 to +-0.65 mm; each of other_shirts; the dark ink's film 30 %
/// thinner and thicker; 45 to 65 lines per inch; one angle against distinct angles; the ink limit 30 % lower
/// and higher. now: the choice as the scene stands; none = no build is to be recommended. Empty = nothing
/// flips it.
std::vector<Flip> find_flips(const Scene& scene, const CompareRoles& roles, const ShadeIntent& intent,
                             std::span<const BuildKind> kinds, const CompareSettings& settings,
                             std::optional<BuildKind> now);

/// What find_flips tries, in words.
std::string_view flips_tried();

/// The scene with the dark ink's deposit times `factor`; used by find_flips and tests.
Scene with_dark_film(const Scene& scene, int dark_scene_plate, double factor);
/// The scene with every pass at `lpi`.
Scene with_line_count(const Scene& scene, double lpi);
/// The scene with the passes of the plates at distinct angles, 30 degrees apart from the first's.
Scene with_distinct_angles(const Scene& scene);

}  // namespace kirtle
