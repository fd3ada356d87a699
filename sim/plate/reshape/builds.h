#pragma once
// Plates made from one another: what is cut out, what is laid under, what fades. Film in, film out.
//
// All plates of a call have the same size. A result has the bits of its first plate. `ppi`, `threads` and
// what is thrown: as in contours.h.
#include "base/units.h"
#include "plate/reshape/change.h"
#include "screen/tone.h"

#include <span>
#include <vector>

namespace kirtle {

enum class KnockOutKind {
  hard,       ///< an edge
  with_tone,  ///< light falls as the dark's film rises from `taper_from` to `solid_from`; rim at hard edges
};

/// How a light plate is taken away under the dark.
struct KnockOut {
  double solid_from = 0.88;  ///< film, > 0 up to 1: where the dark prints solid; see prints_solid_from()
  Mm rim{0.3};               ///< of light left under the dark's edge, >= 0
  KnockOutKind kind = KnockOutKind::hard;
  double taper_from = 0.6;  ///< of `with_tone`: film, > 0 and below solid_from
};

/// The light plate less what lies under the dark's solid, a rim of light left under its edge. Its own
/// contours and tints stay.
Reshaped knock_out(const PlateImage& light, const PlateImage& dark, const KnockOut& how, double ppi,
                   unsigned threads = 0);

/// A solid laid under other plates.
struct Underlay {
  double prints_from =
      0.02;              ///< film, > 0: what lies over it prints from here on (the screen's smallest tone)
  Mm close_specks{0};    ///< islands smaller than a disc of this diameter go; 0 = none
  Mm close_pinholes{0};  ///< holes smaller than a disc of this diameter are filled
  Mm spread{0};          ///< outward, then; negative = choke
  Mm keep{0};            ///< a choke leaves strokes this wide (choke_keeping_type); 0 = chokes all
};

/// Solid wherever one of the plates prints, tint or solid. `before`: the plate that it replaces, for the
/// change report, or nullptr: then everything is new. Throws InternalError if `over` is empty.
Reshaped underlay(std::span<const PlateImage* const> over, const Underlay& how, double ppi,
                  const PlateImage* before = nullptr, unsigned threads = 0);

/// A plate that needs a base under it.
struct BaseTop {
  const PlateImage* plate = nullptr;
  double need = 1;                   ///< printed base under its solid, 0..1
  const ToneCurve* curve = nullptr;  ///< film -> printed of this plate; nullptr: prints as on film
};
/// A plate whose solid (or the shirt showing in its place) leaves the base out.
struct BaseHole {
  const PlateImage* plate = nullptr;
  double solid_from = 0.88;  ///< film
  Mm rim{0.3};               ///< of base left under its edge; negative: base stays away from it
};
struct TonalBase {
  std::vector<BaseTop> tops;
  std::vector<BaseHole> holes;
  const ToneCurve* curve = nullptr;  ///< of the base's own screen; nullptr: prints as on film
  double prints_from = 0.02;         ///< film of a top, > 0: below it nothing prints, so no base
  double pull_back = 1;  ///< under a tint that prints a the base prints need * a^pull_back; 1 or more
  Mm choke{0.15};        ///< >= 0, of its outline
  Mm keep{0.7};          ///< strokes narrower than this keep their width
};

/// At each point the most that any top there needs, less under tints, choked, with holes. `before` as in
/// underlay(). Needs per ink: common practice, no source.
Reshaped tonal_base(const TonalBase& how, double ppi, const PlateImage* before = nullptr,
                    unsigned threads = 0);

/// Light that fades out as the dark comes in: light times (1 - dark), film by film; at contours light less
/// dark. `trap` >= 0 takes it under the dark: the dark is taken as its least film within that distance.
Reshaped fade_out(const PlateImage& light, const PlateImage& dark, Mm trap, double ppi, unsigned threads = 0);

}  // namespace kirtle
