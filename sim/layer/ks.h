#pragma once
// Kubelka-Munk constants and layers, one band at a time and as spectra.
#include "light/spectrum.h"

namespace kirtle {

/// Absorption K and scattering S of one material in one band, per micrometre of dry layer. Both >= 0.
struct KS {
  double k = 0, s = 0;
};

/// K and S over all bands, per micrometre.
struct KSSpectra {
  Spectrum k, s;
  KS at(std::size_t band) const { return {k[band], s[band]}; }
};

/// A layer or pile of layers in one band: reflectance lit from above, transmittance (the same both ways), and
/// reflectance lit from below. All 0..1, internal (no surface unless one was composed in).
struct LayerRT {
  double r0 = 0, t = 1, r0_back = 0;
};

}  // namespace kirtle
