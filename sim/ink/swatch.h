#pragma once
// Four ways to an ink's K and S. Thickness is of the dry layer. Readings are as seen; the surface is taken
// off here with the gloss of the film that was read.
#include "ink/ink.h"
#include "layer/surface.h"
#include "light/weights.h"

#include <span>

namespace kirtle {

/// How a film was read.
struct FilmReading {
  double gloss = 0;        ///< 0 matt .. 1 smooth
  bool include_k1 = true;  ///< false: mirror-like part excluded by the instrument
  Um thickness{0};         ///< dry, > 0
};

struct InkSwatchFit {
  KSSpectra optics;  ///< [1/um]
  DataStatus status = DataStatus::estimated;
  int held_bands = 0;             ///< bands in which the reading had to be held to what a film can give
  double colour_misfit_de00 = 0;  ///< (c) only: CIEDE2000 to the nearest colour that a surface can have
  double misfit = 0;              ///< largest |R model - R given| over bands and readings, as seen
};

/// (a) One film over black and over white card. Status measured.
///   over_black, over_white   film as seen
///   black, white             bare card as seen; no surface is taken off the card
/// Bands in which the two film readings are closer than 0.002 x (white - black) are opaque as far as readings
/// tell; they are held: S from the neighbouring bands, K from the readings with that S.
/// Source: inverse.h, ks_from_two_backings.
/// Throws std::domain_error naming argument, value, range and band.
InkSwatchFit ink_from_films(const Spectrum& over_black, const Spectrum& over_white, const Spectrum& black,
                            const Spectrum& white, const FilmReading& reading);

/// How scattering runs over the bands when only one number of hiding is known.
enum class ScatterShape { flat, white };  ///< white: S falls as 550 nm / wavelength

/// A contrast ratio: luminance of the film over black / over white card.
struct Hiding {
  double contrast_ratio = 0.9;
  Um thickness{0};                   ///< dry, of the film that has it, > 0
  double black = 0.02, white = 0.8;  ///< reflectance of the card, 0..1 (values of usual cards, from memory)
  ScatterShape shape = ScatterShape::flat;
};

/// (b) Reflectance of an opaque layer and hiding. Status estimated: the hue of thin films is a guess.
///   weights   light and observer of the contrast ratio
/// Source: inverse.h, ks_from_hiding. Throws std::domain_error.
InkSwatchFit ink_from_opaque(const Spectrum& opaque, const Hiding& hiding, double gloss, bool include_k1,
                             const ViewingWeights& weights);

/// (c) XYZ of an opaque layer (from Lab or hex) and hiding: a smooth possible reflectance is recovered, freed
/// of the surface with the same gloss, then as (b). Status estimated. Throws std::domain_error.
InkSwatchFit ink_from_colour(const XYZ& opaque, const Hiding& hiding, double gloss, bool include_k1,
                             const ViewingWeights& weights);

/// One part of a mix.
struct MixPart {
  const KSSpectra* optics = nullptr;
  double share = 0;  ///< by dry volume, 0..1
};

/// (d) A mix: K and S add by volume share. Source: Duncan 1940, Proc. Phys. Soc. 52, 390 (from memory).
/// Limits: pigments that do not flocculate. Throws std::domain_error unless the shares sum to 1 within 0.005
/// (they are then scaled to 1) and there is a part.
KSSpectra mix_ks(std::span<const MixPart> parts);

}  // namespace kirtle
