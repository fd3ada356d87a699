#pragma once
// From readings of films back to K and S. Readings are internal: free them of the surface first (surface.h).
#include "base/units.h"
#include "layer/ks.h"
#include "light/weights.h"

namespace kirtle {

/// K and S [1/um], >= 0, of a film read over two backings, one band.
///   r1, g1  film over backing 1, bare backing 1     r2, g2  the same for backing 2      each 0..1, g1 != g2
///   x       dry thickness [um], > 0
/// Source: Kubelka 1948, doi:10.1364/JOSA.38.000448: the hyperbolic form over a backing is linear in
///         a = 1 + K/S and c = b coth(bSX); two readings give both.
/// Limits: ill-conditioned where r1 is close to r2 (an opaque film): use films with a contrast ratio of
///         0.5 to 0.95. Noise that would give K < 0 gives K = 0.
/// Throws std::domain_error for arguments out of range and for readings that no film can give (the black side
/// not darker than the white side, or a film that scatters less than nothing).
KS ks_from_two_backings(double r1, double g1, double r2, double g2, Um x);
KSSpectra ks_from_two_backings(const Spectrum& r1, const Spectrum& g1, const Spectrum& r2, const Spectrum& g2,
                               Um x);

/// Luminous contrast ratio Y(film over black) / Y(film over white), 0..1 (0/0 counts as 1: both black).
double luminous_contrast_ratio(const KSSpectra& ks, Um x, const Spectrum& black, const Spectrum& white,
                               const ViewingWeights& weights);

/// K and S of an ink from its opaque colour and its hiding.
///   r_inf           internal reflectance of an opaque layer, each band 0..1; held to 0.0005..0.9995
///                   (K/S of 1000 and 1e-7)
///   s_shape         relative scattering, > 0 in every band: flat, or 550/nm for whites
///   contrast_ratio  luminous, of a dry film of thickness x over black and white
/// Source: Kubelka 1948, inverted by bisection; contrast ratio as in ISO 6504-3 (name only).
/// Limits: only the luminance of the thin film is pinned, its hue shift is a guess: the record is
/// "estimated". Throws std::domain_error.
KSSpectra ks_from_hiding(const Spectrum& r_inf, const Spectrum& s_shape, double contrast_ratio, Um x,
                         const Spectrum& black, const Spectrum& white, const ViewingWeights& weights);

}  // namespace kirtle
