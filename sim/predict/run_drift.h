#pragma once
// How far the shade of tints drifts over a run: tints printed through screens of one angle and line count
// overlap by what the register of the shirt says.
#include "base/progress.h"
#include "predict/prediction.h"
#include "press/register_run.h"

#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// Two plates whose tints lie on each other.
struct ShadeDrift {
  std::string plate_a, plate_b;
  double area_mm2 = 0;   ///< where both are tints
  double mean_de00 = 0;  ///< against in register: mean over the area, then over the shirts
  double p95_de00 = 0;   ///< 19 of 20 shirts are at or under it, mean over the area
  double mean_dl = 0;    ///< L* on the shirts less in register: > 0 lighter on average
  int worst_shirt = 0;   ///< from 1
};

struct RunDrift {
  std::vector<ShadeDrift> pairs;  ///< most drift first; empty if no tints share a screen
  int tints = 0;                  ///< combinations of tints that stand for the print
  double share = 0;               ///< of the area of such tints that these are, 0..1
  int shirts = 0;
};

/// The commonest combinations of tints (steps of 1/16, up to 24 a print) on every shirt 1..shirts. Throws
/// Cancelled. The result does not depend on `threads`.
/// Limits: one offset stands for the whole print, as in joint_cover.h.
RunDrift drift_of_tints(const Scene& scene, const Prediction& prediction, const RegisterRun& run, int shirts,
                        unsigned threads, const Progress& progress);

/// "none to be seen" and so on: dE00 under 1, 1 to 2, 2 to 4, over 4 (common practice, no source).
std::string shade_words(double de00);

}  // namespace kirtle
