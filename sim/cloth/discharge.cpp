#include "cloth/discharge.h"

#include "layer/domain.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kGasConstant = 8.314462618;  // J/(mol K), CODATA 2018, exact to the digits given
constexpr double kZeroCelsius = 273.15;       // K

}  // namespace

double arrhenius_factor(double ea_kj_mol, double celsius, double ref_celsius) {
  require_not_negative("activation energy (kJ/mol)", ea_kj_mol);
  if (!(celsius > -kZeroCelsius && std::isfinite(celsius)))
    out_of_domain("temperature (C)", celsius, "above -273.15 and finite");
  if (!(ref_celsius > -kZeroCelsius && std::isfinite(ref_celsius)))
    out_of_domain("reference temperature (C)", ref_celsius, "above -273.15 and finite");
  return std::exp(-ea_kj_mol * 1000 / kGasConstant *
                  (1 / (celsius + kZeroCelsius) - 1 / (ref_celsius + kZeroCelsius)));
}

double pot_activity(double hours, double life_hours) {
  require_not_negative("hours in the pot", hours);
  require_positive("pot life (hours)", life_hours);
  return std::exp(-hours / life_hours);
}

double exposure_per_agent(const DischargeProcess& process) {
  require_not_negative("reduction rate k_r (1/s)", process.kr_per_s);
  require_not_negative("decay rate k_d (1/s)", process.kd_per_s);
  double agent = pot_activity(process.pot_hours, process.pot_life_hours);
  double exposure = 0;
  for (const DryerStep& step : process.dryer) {
    require_not_negative("dwell (s)", step.seconds);
    const double kr =
        process.kr_per_s * arrhenius_factor(process.ea_r_kj_mol, step.celsius, process.t_ref_celsius);
    const double kd =
        process.kd_per_s * arrhenius_factor(process.ea_d_kj_mol, step.celsius, process.t_ref_celsius);
    const double decayed = kd * step.seconds;
    // (1 - exp(-k_d t)) / k_d, and t as k_d goes to 0.
    const double effective_s = decayed > 1e-12 ? -std::expm1(-decayed) / kd : step.seconds;
    exposure += agent * kr * effective_s;
    agent *= std::exp(-decayed);
  }
  return exposure;
}

double dye_left(double reducible, double exposure) {
  require_range("reducible share", reducible, 0, 1);
  if (!(exposure >= 0)) out_of_domain("exposure", exposure, ">= 0");
  return (1 - reducible) + reducible * std::exp(-exposure);
}

double soak_profile_mean(Um z_top, Um z_bottom, Um depth, Um ply) {
  require_positive("soak depth (um)", depth.v);
  require_positive("thickness of the ply (um)", ply.v);
  require_range("upper edge (um)", z_top.v, 0, ply.v);
  if (!(z_bottom.v > z_top.v && z_bottom.v <= ply.v))
    out_of_domain("lower edge (um)", z_bottom.v, "below the upper edge and inside the ply");
  const double thickness = z_bottom.v - z_top.v;
  return std::exp(-z_top.v / depth.v) * std::expm1(-thickness / depth.v) /
         (std::expm1(-ply.v / depth.v) * thickness);
}

std::vector<double> sublayer_edges(Um ply, int n) {
  require_positive("thickness of the ply (um)", ply.v);
  require_range("number of sublayers", n, 1, 100000);
  std::vector<double> edges;
  edges.reserve(static_cast<std::size_t>(n) + 1);
  for (int j = 0; j <= n; ++j) {
    const double u = static_cast<double>(j) / n;
    edges.push_back(j == n ? ply.v : ply.v * u * u);
  }
  return edges;
}

}  // namespace kirtle
