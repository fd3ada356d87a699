#pragma once
// Tints of a plate through a step table, or the inverse of a screen's tone curve.
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
