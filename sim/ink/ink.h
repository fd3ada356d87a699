#pragma once
// An ink record. No computing here.
#include "base/provenance.h"
#include "base/units.h"
#include "layer/ks.h"

#include <array>
#include <optional>
#include <string>

namespace kirtle {

/// plastisol builds a layer on the cloth; water base and discharge soak into it.
enum class InkFamily { plastisol, water_base, discharge };

/// Inks whose look the model does not hold. They are drawn flat and stamped "not predicted".
enum class InkEffect { none, fluorescent, metallic, glitter, puff, gel, foil, glow, reflective };

struct Ink {
  std::string id;
  std::string name;
  InkFamily family = InkFamily::plastisol;
  InkEffect effect = InkEffect::none;
  Provenance provenance;

  KSSpectra optics;                          ///< per um of dry layer; unused if flat_reflectance is set
  std::optional<Spectrum> flat_reflectance;  ///< for effects: the colour to draw, whatever lies below

  double solids_by_volume = 1;  ///< dry layer / wet layer, 0..1
  double density_g_cm3 = 1.2;   ///< of the wet ink
  double soak = 0;         ///< share of the dry deposit that goes into bare cloth, 0..1; the rest lies on top
  Um soak_depth{60};       ///< z_p of the soaked pigment: v(z) falls as exp(-z/z_p)
  double wets = 1;         ///< how far its binder fills the pores optically (scales Cloth::wetting), 0..1
  double agent_g_cm3 = 0;  ///< discharge agent in the wet ink, g per cm3; 0 = none
  Um agent_depth{120};     ///< z_p of the agent
  Mm wick{0};              ///< 1 s.d. by which dose and soaked pigment blur sideways
  double gloss = 0;        ///< 0 matt .. 1 smooth film: scales the surface term
  Um ink_spread{45};       ///< outward movement of a printed edge, per edge; may be negative

  /// Tops differ in how much white base they need under them, 0..1 (common practice, no source).
  double base_need = 1;
};

}  // namespace kirtle
