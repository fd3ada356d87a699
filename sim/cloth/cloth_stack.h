#pragma once
// One fibre's cloth with what soaked into it: graded sublayers, each with the dye left, the ink and binder.
//
// Per sublayer:  K = K_fibre + sum f_i K_dye,i + sum (1 - f_i) K_byproduct,i + sum v_m K_ink,m
//                S = S_fibre (1 - w sum wets_m v_m / pore_volume) + sum v_m S_ink,m
//   f_i share of dye i left (mean over the sublayer), v_m volume of ink m per volume of cloth. Sublayers are
//   piled from the bottom over the backing. Then the knit's holes: R = (1 - p) R_ply + p R_backing; then the
//   light off the fibres' own surface: R = r0 + (1 - r0) R.
// Sources: Kubelka 1954, doi:10.1364/JOSA.44.000330 (piles); the single-constant model of dyed textiles is
//   textbook practice (dye in solution in the fibre does not scatter). Wetting, pore volume and holes:
//   plausible, no source.
// Pore volume: ink is laid in print order; each takes the room that is left, the excess goes down to the next
//   sublayer, and what the whole ply cannot hold stays on top and is returned as overflow.
#include "base/units.h"
#include "cloth/cloth.h"
#include "cloth/discharge.h"
#include "layer/ks.h"

#include <span>
#include <vector>

namespace kirtle {

/// Ink that goes into the cloth. `optics` must outlive the call.
struct SoakedInk {
  const KSSpectra* optics = nullptr;  ///< per um of dry ink
  Um volume{0};                       ///< dry, cm3/m2 = um, >= 0
  Um depth{60};                       ///< z_p, > 0
  double wets = 1;                    ///< 0..1
};

/// Discharge agent that goes into the cloth.
struct SoakedAgent {
  double dose_g_m2 = 0;  ///< >= 0, as mixed (the pot's age is the process's business)
  Um depth{120};         ///< z_p, > 0
};

/// One sublayer, for drawing a cross-section.
struct ClothSublayer {
  Um top{0}, thickness{0};
  double agent_g_cm3 = 0;          ///< mean, at the start
  std::vector<double> dye_left;    ///< per dye of the fibre, 0..1
  std::vector<double> ink_volume;  ///< per soaked ink: its volume per volume of cloth, 0..1
};

struct SoakedCloth {
  std::vector<ClothSublayer> sublayers;  ///< face first
  std::vector<Um> overflow;              ///< per soaked ink: dry volume that found no room
};

/// One fibre of a cloth, ready to be evaluated many times. Holds copies; safe to use from several threads.
class ClothStack {
 public:
  /// Throws std::domain_error if a value of cloth, fibre or process is out of its range.
  ClothStack(const Cloth& cloth, const ClothFibre& fibre, const DischargeProcess& process,
             int sublayers = kSublayers);

  /// Reflectance of the cloth, 0..1, holes and surface light included.
  ///   inks             in print order
  ///   surface_fading   factor 0..1 on the light off the fibres' surface: 1 bare, less under a film
  /// Throws std::domain_error for a negative or NaN volume, dose or depth.
  Spectrum reflectance(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents,
                       double surface_fading = 1) const;

  /// The same cut as a table.
  SoakedCloth table(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents) const;

  /// Dry volume of each ink that the cloth has no room for.
  std::vector<Um> overflow(std::span<const SoakedInk> inks) const;

  /// K and S [1/um] of the ground as light spread sideways meets it: the sublayers' mean, each weighted by
  /// what it adds to the light returned over black (an even ply gives its own K and S). For the scatter share
  /// of halftones.
  KSSpectra effective_ground(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents) const;

 private:
  struct Work;
  void soak(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents, Work& work) const;
  KSSpectra sublayer_ks(std::size_t j, std::span<const SoakedInk> inks, const Work& work) const;

  KSSpectra fibre_;
  Spectrum backing_;
  std::vector<Dye> dyes_;
  std::vector<double> edges_um_;  ///< size n + 1, first 0
  double ply_um_ = 0, pores_ = 0, surface_ = 0, wetting_ = 0, pore_volume_ = 0;
  double exposure_per_agent_ = 0;  ///< of a dye of rate 1, times how far this fibre takes the agent
};

}  // namespace kirtle
