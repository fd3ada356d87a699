#pragma once
// A shirt: cloth of one or more fibres, dyed, some of the dye dischargeable. Record type; no computing here.
#include "base/provenance.h"
#include "base/units.h"
#include "layer/ks.h"

#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// One dye in one fibre. K adds in proportion to the dye left; dye in the fibre does not scatter.
struct Dye {
  std::string name;
  Spectrum k_per_um;            ///< absorption that this dye gives the cloth, undischarged [1/um], >= 0
  double reducible = 0;         ///< share of it that the agent can reduce at all, 0..1
  double rate = 1;              ///< its reduction rate relative to the discharge kinetics' k_r, > 0
  Spectrum byproduct_k_per_um;  ///< absorption left by all of its reduced share (tan), [1/um], >= 0
};

/// One kind of fibre of the cloth, as a share of its area (heather and blends: yarns side by side, added in
/// reflectance, each with its own stack).
struct ClothFibre {
  std::string name;
  double share = 1;  ///< of the area, 0..1; the shares of a cloth sum to 1
  KSSpectra fibre;   ///< undyed [1/um]; effective constants of fibres in air, so no surface term on cloth
  std::vector<Dye> dyes;
  double takes_agent = 1;  ///< how far discharge agent works in it: 1 cellulose, 0 polyester; 0..1
};

/// Loops of the knit a length.
struct KnitCount {
  double wales_per_cm = 0, courses_per_cm = 0;  ///< across and down, > 0
  DataStatus status = DataStatus::estimated;
};

struct Cloth {
  std::string id;          ///< stable key, for example "forest-green-cotton"
  std::string name;        ///< what a person calls it
  std::string fibre_text;  ///< "100 % cotton", for people
  Provenance provenance;
  std::vector<ClothFibre> fibres;
  Um thickness{500};         ///< of one ply
  Spectrum backing;          ///< reflectance of what lies under the ply (pallet, lining, skin), 0..1
  double pores = 0;          ///< open share of the knit through which the backing shows, 0..0.2
  double surface = 0;        ///< light off the fibres' surface r0, limits the blackest black, 0..0.05
  double wetting = 0.5;      ///< w: share of the fibres' scattering lost where binder fills the pores, 0..1
  double pore_volume = 0.6;  ///< share of the cloth's volume that ink can fill, 0..1
  Um surface_fibres_um{10};  ///< layer thickness over which fibres and pinholes stop showing through, > 0
  double show_through = 0;   ///< share of an infinitely thin layer through which fibres show, 0..1
  std::optional<KnitCount> knit;  ///< for bands between knit and dots; unknown if empty
  int discharge_grade =
      0;  ///< 1 (does not discharge) .. 5 (discharges well), as shops grade shirts; 0 = not graded
};

}  // namespace kirtle
