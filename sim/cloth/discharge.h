#pragma once
// What the discharge agent does to the dye on its way through the dryer.
//
// Model: the agent soaks in, A(z, 0) = dose exp(-z / z_p) / (z_p (1 - exp(-H / z_p))); it decomposes
//   with heat, dA/dt = -k_d(T) A; and while it lasts it reduces dye, dD/dt = -k_r(T) A D (agent in excess,
//   first order in dye). Both rates follow Arrhenius. The exposure E = integral of k_r A dt is proportional
//   to A(z, 0), so a whole dryer curve is one number, the exposure per g/cm3 of agent.
// Source: textbook kinetics (Arrhenius; consecutive first-order reactions); the chemistry after
//   Hannay, Furness 1953, J. Soc. Dyers Colour. (abstract). Rates are placeholders: no constants for these
//   pastes are published.
// Caution: discharge agents give off formaldehyde and sulphur compounds in the dryer. Extraction, protective
//   gear, washing before wear and any use for children follow the supplier's safety data sheet and local
//   rules.
#include "base/units.h"

#include <vector>

namespace kirtle {

/// One stretch of the dryer: temperature of the print, and the seconds for which it is there and still
/// steams.
struct DryerStep {
  double celsius = 160;
  double seconds = 60;
};

/// Discharge chemistry of the shop. The rates are placeholders until calibrated.
struct DischargeProcess {
  std::vector<DryerStep> dryer = std::vector<DryerStep>(1, DryerStep{160, 90});
  double kr_per_s = 12;  ///< at t_ref, per (g/cm3)
  double kd_per_s = 0.02;
  double ea_r_kj_mol = 60, ea_d_kj_mol = 90;
  double t_ref_celsius = 160;
  double pot_hours = 0;       ///< since the agent was mixed in
  double pot_life_hours = 8;  ///< time constant of the agent's decay in the pot
};

/// exp[-(Ea/R)(1/T - 1/T_ref)], R = 8.314462618 J/(mol K) (CODATA 2018). > 0; 1 at T = T_ref.
///   celsius, ref_celsius > -273.15     ea_kj_mol >= 0
/// Source: Arrhenius. Throws std::domain_error.
double arrhenius_factor(double ea_kj_mol, double celsius, double ref_celsius);

/// Share of the agent left in the pot, exp(-hours / life), 0..1. Throws std::domain_error.
double pot_activity(double hours, double life_hours);

/// Exposure [1] that the whole process gives a dye of rate 1 per g/cm3 of agent present at the start [cm3/g],
/// >= 0: the dryer's steps one after the other, the agent decaying on, times the activity left in the pot.
/// Limits: agent in excess of the dye; only seconds in which the print steams count.
/// Throws std::domain_error.
double exposure_per_agent(const DischargeProcess& process);

/// Share of a dye left, (1 - reducible) + reducible exp(-exposure), 0..1.
///   reducible  0..1     exposure  >= 0 (infinite is allowed)
/// Throws std::domain_error.
double dye_left(double reducible, double exposure);

/// Mean over the depth z_top..z_bottom [um] of the profile exp(-z / depth) / (depth (1 - exp(-ply / depth)))
/// [1/um]: what 1 um (or 1 g/m2) laid on soaks in, per um. Integrates to 1 over the ply. >= 0.
///   depth  z_p [um], > 0      ply  H [um], > 0      0 <= z_top < z_bottom <= ply
/// Throws std::domain_error.
double soak_profile_mean(Um z_top, Um z_bottom, Um depth, Um ply);

/// The graded cut: lower edges z_j = H (j / n)^2 [um], j = 1 .. n. Fine at the face.
std::vector<double> sublayer_edges(Um ply, int n);

/// Sublayers of a ply in every prediction. The error falls with the square of the number: on a deep yellow
/// discharged into black, b* is .11 off the limit of fine sublayers at 24, .027 at 48 (measured; see the
/// cloth tests).
constexpr int kSublayers = 48;

}  // namespace kirtle
