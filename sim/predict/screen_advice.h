#pragma once
// What each screen of a scene holds and prints, what is wrong with it, and what to do about it.
#include "job/scene.h"
#include "screen/moire.h"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// Film tones of the step table.
constexpr std::array<double, 7> kStepTones{0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95};

/// Tints lighter than this should hold, and holes in tints up to 1 less it should stay open. Common practice,
/// no source: light tints are what a screen is chosen for.
constexpr double kLightestTintToHold = 0.10;

/// One pass, in print order.
struct ScreenLine {
  int pass = 0;  ///< from 1
  std::string plate, ink;
  Mesh mesh;
  HalftoneScreen halftone;
  double threads_per_line = 0;  ///< infinite for dots of noise, which have no lines
  Um smallest_dot{0};           ///< diameter that the stencil holds
  double smallest_tint = 0;     ///< film 0..1 at which half of the dots hold; 0 = every dot holds
  double largest_tint = 1;      ///< film 0..1 at which half of the holes stay open; 1 = every hole does
  Um spread{0};                 ///< outward movement of every edge
  bool field = false;           ///< the ink soaks: a tint is a dose, its amount kept, so no spread
  bool measured = false;        ///< a step table says what prints, in place of spread and smallest dot
  CurveAt curve = CurveAt::none;
  double fifty_prints = 0;  ///< what 50 % on film prints, 0..1
  double film_for_fifty = 0;
  std::array<double, kStepTones.size()> prints{};  ///< at kStepTones, 0..1
  Um wet{0};           ///< wet ink where the plate is solid, all strokes together, um = cm3/m2
  int strokes = 1;     ///< that lay it
  bool agent = false;  ///< the ink discharges
};

enum class ScreenConcern { few_threads, light_tints_lost, holes_fill, mesh_moire, screens_moire, knit_moire };

/// One thing to look at, for lists and for people.
struct ScreenFinding {
  ScreenConcern concern = ScreenConcern::few_threads;
  int pass = 0;            ///< from 1; the later one of two
  std::string plate;       ///< of that pass
  std::string what;        ///< in shop words
  double number = 0;       ///< threads a line, film 0..1, or a band's width in mm (may be infinite)
  double limit = 0;        ///< in the same unit
  std::string remedy;      ///< tried out; empty if nothing among the usual clears it
  std::string provenance;  ///< of limit and rule
};

struct ScreenAdvice {
  std::vector<ScreenLine> lines;
  std::vector<ScreenFinding> findings;  ///< worst kind first: threads, tints, then bands by width
};

/// Looks at every pass of the scene; what two passes of one screen share is told once. No plate is read:
/// threads, tints and bands matter where the plate has tints, not where it is solid.
///   meshes  to choose from in remedies
/// The limits: threads_per_line, BeatLimits (moire.h), kLightestTintToHold.
ScreenAdvice advise_on_screens(const Scene& scene, std::span<const Mesh> meshes);

/// "few threads", "light tints lost" and the like, for machines: words that do not change.
std::string_view to_string(ScreenConcern concern);

}  // namespace kirtle
