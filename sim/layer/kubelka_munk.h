#pragma once
// Kubelka-Munk: one even layer, piles of layers, a pile on a backing. All reflectances are internal.
//
// Sources: Kubelka, Munk 1931, Z. tech. Phys. 12, 593 (from memory); Kubelka 1948, JOSA 38(5):448,
//   doi:10.1364/JOSA.38.000448 (hyperbolic form); Kubelka 1954, JOSA 44(4):330, doi:10.1364/JOSA.44.000330
//   (piles).
// Form used here: with g = sqrt(K (K + 2S)), t = g X and 2 X phi = (1 - exp(-2t)) / g, the
//   hyperbolic solution becomes
//     D = (K + S) 2 X phi + 1 + exp(-2t),   R0 = S 2 X phi / D,   T = 2 exp(-t) / D
//   which never divides by S and stays finite for K = 0, S = 0, X = 0 and any thickness.
// Limits of the model: perfectly diffuse light, plane even layers, no surface, no fluorescence.
#include "base/units.h"
#include "layer/ks.h"

#include <cmath>

namespace kirtle {

/// Reflectance over black, transmittance and reflectance from below of one even layer. Each 0..1.
///   ks  absorption and scattering  [1/um], >= 0, finite
///   x   thickness                  [um],   >= 0, finite
/// Source: Kubelka 1948 (head of this file).  Limits: head of this file.
/// Throws std::domain_error naming argument, value and range.
LayerRT layer_rt(KS ks, Um x);

/// Two layers, one on the other. Each result 0..1. Source: Kubelka 1954. 1 - R1' R2 is held >= 1e-6.
/// Throws std::domain_error if an entry is outside 0..1.
LayerRT compose(const LayerRT& top, const LayerRT& bottom);

/// Reflectance of a layer or pile lying on a backing. 0..1. Source: Kubelka 1954. Throws as compose.
double reflectance_over(const LayerRT& layer, double r_back);

/// Reflectance of one even layer on a backing (0..1). 0..1. Source: Kubelka 1948. Throws as layer_rt.
double reflectance_over(KS ks, Um x, double r_back);

/// Reflectance of an endlessly thick layer, 0..1; 0 for K = S = 0 (nothing comes back). Throws as layer_rt.
double r_infinity(KS ks);

/// K/S of an endlessly thick layer, (1 - R)^2 / (2 R), >= 0.
///   r_inf  its reflectance, 0 < r_inf <= 1
/// Source: Kubelka, Munk 1931. Throws std::domain_error.
double k_over_s(double r_inf);

/// A layer or pile in every band.
struct LayerSpectra {
  Spectrum r0, t = Spectrum::flat(1), r0_back;
  LayerRT at(std::size_t band) const { return {r0[band], t[band], r0_back[band]}; }
  void set(std::size_t band, const LayerRT& l) {
    r0[band] = l.r0;
    t[band] = l.t;
    r0_back[band] = l.r0_back;
  }
};

/// The same three steps in every band. Throw as the single-band forms.
LayerSpectra layer_spectra(const KSSpectra& ks, Um x);
LayerSpectra compose(const LayerSpectra& top, const LayerSpectra& bottom);
Spectrum reflectance_over(const LayerSpectra& layer, const Spectrum& r_back);

/// Unchecked cores for inner loops: arguments as above, checked by the caller once, on load.
inline LayerRT layer_rt_unchecked(double k, double s, double x) {
  const double g = std::sqrt(k * (k + 2 * s));
  const double t = g * x;
  const double m = std::expm1(-t);                                         // exp(-t) - 1
  const double q = 1 + m;                                                  // exp(-t)
  const double two_x_phi = t > 1e-8 ? -m * (m + 2) / g : 2 * x * (1 - t);  // (1 - exp(-2t)) / g
  const double d = (k + s) * two_x_phi + 1 + q * q;
  const double r0 = s * two_x_phi / d;
  return {r0, 2 * q / d, r0};
}

inline double lit_from_both_sides_unchecked(double r1_back, double r2) {
  const double d = 1 - r1_back * r2;
  return d > 1e-6 ? d : 1e-6;
}

inline LayerRT compose_unchecked(const LayerRT& top, const LayerRT& bottom) {
  const double d = lit_from_both_sides_unchecked(top.r0_back, bottom.r0);
  return {top.r0 + top.t * top.t * bottom.r0 / d, top.t * bottom.t / d,
          bottom.r0_back + bottom.t * bottom.t * top.r0_back / d};
}

inline double reflectance_over_unchecked(const LayerRT& layer, double r_back) {
  return layer.r0 + layer.t * layer.t * r_back / lit_from_both_sides_unchecked(layer.r0_back, r_back);
}

/// One even layer on a backing in a single step: (N - M r) / (D - N r) with N = S 2 X phi and D, M = (K + S)
/// 2 X phi
/// +- (1 + exp(-2t)). The same as the two steps above with one division less.
inline double even_layer_over_unchecked(double k, double s, double x, double r_back) {
  const double g = std::sqrt(k * (k + 2 * s));
  const double t = g * x;
  const double m = std::expm1(-t);
  const double q = 1 + m;
  const double two_x_phi = t > 1e-8 ? -m * (m + 2) / g : 2 * x * (1 - t);
  const double e = 1 + q * q;
  const double p = (k + s) * two_x_phi;
  const double n = s * two_x_phi;
  const double d = p + e - n * r_back;
  return (n - (p - e) * r_back) / d;
}

}  // namespace kirtle
