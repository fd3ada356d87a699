#pragma once
// From a shirt's colour to the dye in it.
//
// What is assumed: one ply of the stated thickness, undyed fibre, backing, holes and surface light; dye that
//   does not scatter. From the bare colour alone the dye's absorption follows, band by band. From a second
//   colour, fully discharged by the stated process, follows what stays: K(z) = K_fibre + f(z) K_bare + (1 -
//   f(z)) K_left, f the profile of a fully reducible dye. One discharged colour cannot tell a dye that
//   resists from the product that a reduced dye leaves: of K_left, the part up to K_bare is booked as a
//   resisting dye, the rest as by-product.
// Limits: below a reflectance of about 3 % the amount of dye cannot be read off a colour (Safi, Ameri, Ansari
//   2021, Phys. Scr. 96, 125832, on dyed polyester). A shirt found this way is "estimated".
#include "cloth/cloth.h"
#include "cloth/discharge.h"

#include <optional>
#include <vector>

namespace kirtle {

/// How the discharged colour was made.
struct DischargeSwatch {
  Spectrum reflectance;      ///< as seen, 0..1, over the cloth's backing
  double dose_g_m2 = 6;      ///< agent laid down, > 0
  Um agent_depth{120};       ///< z_p
  DischargeProcess process;  ///< dryer and pot of that test print
};

struct ClothSwatchFit {
  std::vector<Dye> dyes;  ///< one ("dye") from the bare colour alone; two ("yields", "resists") with both
  double bare_misfit =
      0;  ///< largest |R model - R given| over the bands; > 0 where no dye can give the colour
  double discharged_misfit = 0;  ///< the same for the discharged colour
  int dark_bands = 0;            ///< bands below 3 %, where the amount of dye is only a lower bound
};

/// Dyes for a fibre (its own dyes are ignored) so that the cloth shows the given colours.
///   cloth       supplies thickness, backing, holes, surface light
///   bare        reflectance as seen, each band 0..1
///   reducible   used when no discharged colour is given: share of the dye that the agent can reduce, 0..1
/// Bands in which the bare colour is lighter than undyed cloth get no dye; bands darker than any dye can make
/// them get K/S = 1000; both count in the misfit. Throws std::domain_error.
ClothSwatchFit dyes_from_swatch(const Cloth& cloth, const ClothFibre& fibre, const Spectrum& bare,
                                const std::optional<DischargeSwatch>& discharged, double reducible);

}  // namespace kirtle
