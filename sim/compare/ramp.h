#pragma once
// The shading ramp, from the light solid to the dark: what it should look like, and each build fitted to it.
//
// A tone asked of the shading is a film value of the dark plate as it arrived. The intent gives the colour
// that it should come out as. A build lays light and dark in amounts that hang together (a fade: what the
// dark takes, the light gives); its step table is fitted, so that in register its ramp lands on the intent
// as well as it can. What differs then is what the build itself costs.
#include "compare/build_kind.h"
#include "light/colour.h"
#include "predict/prediction.h"
#include "screen/screen.h"

#include <array>
#include <vector>

namespace kirtle {

/// Which plates of the model meet.
struct CompareRoles {
  int light = 0, dark = 1;
};

constexpr int kRampSteps = 33;  ///< tones asked: 0, 1/32 .. 1

/// What the shading should look like.
struct ShadeIntent {
  std::array<Lab, kRampSteps> lab{};
  std::array<double, kRampSteps> weight{};  ///< share of the shading's area at that tone; sums to 1
  bool from_art = false;                    ///< measured in the art image; else the ideal ramp
};

/// The ideal ramp: the dark's own tints over the light solid, no cloth among them, in even steps of L* from
/// the light solid to the dark solid over the light. Weights even. (That a shade should go in even steps of
/// lightness is our own choice.)
ShadeIntent ideal_ramp(const PrintModel& model, const CompareRoles& roles);

/// One build's ramp, in register.
struct FittedRamp {
  BuildKind kind = BuildKind::fade;
  std::array<double, kRampSteps> light_film{}, dark_film{};        ///< what the plates hold, 0..1
  std::array<double, kRampSteps> light_printed{}, dark_printed{};  ///< what they print, 0..1
  std::array<Lab, kRampSteps> lab{};
  std::array<double, kRampSteps> de00{};  ///< to the intent
  double mean_de00 = 0, p95_de00 = 0;     ///< weighted by area, the ends left out
  double bare_share = 0;  ///< most cloth left without either ink in a tint, 0..1; 0 for soaked doses
  StepTable steps;  ///< asked -> film of the plate that carries the shading (dark; shirt as dark: light)
};

/// solid_from: film of the dark at which it counts as solid, where the light is cut or has tapered off.
/// taper_from: film of the dark from which the tapering light falls.
struct RampSettings {
  double solid_from = 0.88, taper_from = 0.6;
};

FittedRamp fit_ramp(const PrintModel& model, const CompareRoles& roles, BuildKind kind,
                    const ShadeIntent& intent, const RampSettings& settings);

/// Film of the light plate that goes with a film value of the dark, the shading's own tint, in this build.
double light_film_for(BuildKind kind, double dark_film, const RampSettings& settings);

/// Film from which the dark plate looks solid over the light: what it covers by then (prints_solid_from), or
/// for a soaked dose the least within dE00 1 of its solid. What counts as solid is common practice, no
/// source.
double looks_solid_from(const PrintModel& model, const CompareRoles& roles);

/// Colour at film values of the two plates, all others off.
Lab ramp_colour(const PrintModel& model, const CompareRoles& roles, double light_printed,
                double dark_printed);

}  // namespace kirtle
