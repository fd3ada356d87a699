#pragma once
// Tints of a plate through a step table, a cut stated in points, or the inverse of a screen's tone curve.
// Anti-aliased contours are no tints and stay. `threads` as in contours.h.
#include "plate/reshape/change.h"
#include "screen/tone.h"

#include <optional>
#include <string>

namespace kirtle {

/// Tints mapped: asked -> film, piecewise linear, ends 0 -> 0 and 1 -> 1. Throws std::domain_error if the
/// table does not rise within 0..1.
Reshaped apply_steps(const PlateImage& plate, const StepTable& asked_to_film, double ppi,
                     unsigned threads = 0);

/// The most points of a cut: common practice, no source. At 30 the curve has a quarter of its slope left at
/// the light end, so that an 8 % tint comes to 2 %, below any smallest dot.
constexpr double kMostCutPoints = 30;

/// A cut stated in points: 15 makes 50 % into 35 % exactly; 0 and 100 % stay. Between them x / (x + k (1 -
/// x)), which never turns back (the form is our own). points 0..kMostCutPoints, else std::domain_error that
/// says why.
StepTable cut_by_points(double points);

/// Film for what is to print, on one screen.
struct Compensation {
  StepTable asked_to_film;  ///< asked print -> film that prints it
  /// The smallest and largest tone that the screen prints as tint: film, and what it prints. Asked tones
  /// beyond take the nearer of these (0 and 1 stay).
  double lowest_film = 0, highest_film = 1, lowest_printed = 0, highest_printed = 1;
  bool clamps_low = false, clamps_high = false;
  /// In shop words, which asked tones were clamped; empty if none.
  std::string clamped;
};

/// The inverse of the screen's tone curve; printed(film(asked)) is within 0.001 of asked between
/// lowest_printed and highest_printed. With a curve in the plates already or in the output step
/// (settings.curve) the identity: nobody compensates twice.
Compensation compensate(const ToneSettings& settings);

/// Film from which a plate prints solid: the least that prints `printed` or more. About 0.88 for 45 um at 55
/// lines per inch. What counts as solid is common practice, no source.
double prints_solid_from(const ToneCurve& curve, double printed = 0.98);

}  // namespace kirtle
