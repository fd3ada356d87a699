#pragma once
// The surface of a smooth film: light thrown back at the air side (k1) and from inside (k2). It is one more
// Kubelka layer: top k1, bottom k2, T^2 = (1 - k1)(1 - k2). It lies on top of the whole stack only, since
// inks and binders (n about 1.5) are index matched inside. Cloth has none: its constants are those of fibres
// in air.
//
// Sources: Saunderson 1942, JOSA 32(12):727, doi:10.1364/JOSA.32.000727 (from memory; form confirmed
//   in secondary texts); Walsh 1926, in closed form after Prahl 1988 (thesis, app. B).
#include "base/units.h"
#include "layer/kubelka_munk.h"

namespace kirtle {

/// External k1 and internal k2 reflection at a surface, both 0..1 (k2 < 1).
struct Surface {
  double k1 = 0, k2 = 0;
};

/// A smooth film of n about 1.5: k1 = ((n-1)/(n+1))^2; k2 as usually fitted to paints, .4 to .6
/// (0.5963 by theory).
constexpr Surface kSmoothFilm{0.04, 0.6};

/// Film thickness over which a surface builds up: 10 um, a placeholder, no source. A surface that did not
/// fade in with its film would darken cloth that carries no film at all.
constexpr Um kSurfaceBuildUp{10};

/// The surface of a film of the given thickness: both constants of `full` times
/// gloss (1 - exp(-film / build_up)).
///   gloss  0 matt, textured .. 1 smooth    film  [um], >= 0
/// Source: Saunderson 1942 for the constants; the fading is our own, a placeholder. Throws std::domain_error.
Surface film_surface(double gloss, Um film, Surface full = kSmoothFilm, Um build_up = kSurfaceBuildUp);

/// What is seen through the surface, 0..1, of the internal reflectance r (0..1). include_k1 = false: without
/// the mirror-like part k1, as an instrument with the specular component excluded reads a smooth film.
/// Source: Saunderson 1942. Limits: diffuse light inside. Throws std::domain_error.
double through_surface(double r, Surface surface, bool include_k1);
Spectrum through_surface(const Spectrum& r, Surface surface, bool include_k1);

/// The internal reflectance of what is seen; inverse of through_surface. A reading below what the surface
/// alone throws back gives 0. 0..1.  Throws std::domain_error unless 0 <= seen <= 1.
double free_of_surface(double seen, Surface surface, bool include_k1);
Spectrum free_of_surface(const Spectrum& seen, Surface surface, bool include_k1);

/// The surface as a layer: compose(as_layer(s), pile) is the pile seen through it (k1 included).
LayerRT as_layer(Surface surface);

/// Share of perfectly diffuse light thrown back at a smooth surface, coming from the air / from inside. 0..1.
///   n  refractive index of the inside, 1..3
/// Source: Walsh 1926, closed form after Prahl 1988; internal = 1 - (1 - external) / n^2. Throws
/// std::domain_error.
double diffuse_fresnel_external(double n);
double diffuse_fresnel_internal(double n);

inline double through_surface_unchecked(double r, Surface s, bool include_k1) {
  const double in = (1 - s.k1) * (1 - s.k2) * r / (1 - s.k2 * r);
  return include_k1 ? s.k1 + in : in;
}

}  // namespace kirtle
