#pragma once
// From a tint on film to what is printed: the stencil's smallest dot, then ink spread; or a measured step
// table.
#include "screen/screen.h"

#include <vector>

namespace kirtle {

/// Where a gain curve already sits. With `output` the film output step compensates, so the plate's value is
/// what prints.
enum class CurveAt { none, plates, output };

/// Everything that decides how a tint prints on one screen.
struct ToneSettings {
  HalftoneScreen halftone;
  Um spread{45};                   ///< outward movement of every dot edge
  Um smallest_dot{0};              ///< diameter that the stencil holds; 0 = holds any dot
  std::optional<StepTable> steps;  ///< measured; replaces spread and smallest dot
  CurveAt curve = CurveAt::none;
};

/// Coverage after every dot edge moved outward by `spread`. film 0..1 -> 0..1; ends stay.
/// Source: constant edge spread, by the geometry of dot_spread.h; of noise on its own tile, noise_print.h.
double spread_tone(double film, const HalftoneScreen& halftone, Um spread);

/// Share of dots of an area, given over that of the smallest dot, that the stencil holds: 0 below 0.7, 1
/// above 1.3, linear between, since dots near the limit drop out at random (common practice, no source).
double held_share_of_area(double area_over_smallest);

/// The same for the dots of a tone. Not for noise, whose dots differ: noise_print.h.
double held_share(double film, const HalftoneScreen& halftone, Um smallest_dot);

/// What one film tone becomes, dot by dot.
struct DotTone {
  double tone = 0;        ///< coverage where every dot and every hole is held, 0..1
  double dots_held = 1;   ///< share of the dots that the stencil holds
  double holes_held = 1;  ///< share of the holes that stay open
  /// Coverage over many dots: 0..1.
  double mean() const { return 1 - holes_held * (1 - dots_held * tone); }
};

/// film 0..1. A measured step table and a curve in the output step say what prints and lose no dots. Of
/// noise, `tone` is the mean with lost dots and filled holes in it.
DotTone dot_tone(const ToneSettings& settings, double film);

/// A screen's whole curve, made once: film coverage -> printed coverage.
class ToneCurve {
 public:
  explicit ToneCurve(const ToneSettings& settings);
  /// film 0..1 -> printed 0..1, never falling; 0 -> 0 and 1 -> 1.
  double printed(double film) const;
  /// The smallest film value that prints at least `printed`.
  double film_for(double printed) const;

 private:
  std::vector<double> table_;  ///< at film = i / (size - 1), linear between
};

/// Piecewise linear through the table, ends 0 -> 0 and 1 -> 1 added.
double step_table_printed(const StepTable& table, double asked);

}  // namespace kirtle
