#include "cloth/discharge.h"

#include "base/not_a_number.h"

#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>

namespace kirtle {
namespace {

using test::kNaN;
constexpr double kInf = std::numeric_limits<double>::infinity();

// Closed form by hand: .1 + .9 exp(-2).
TEST(Discharge, DyeLeft) {
  EXPECT_NEAR(dye_left(0.9, 2), 0.2218017549, 1e-10);
  EXPECT_EQ(dye_left(0, 50), 1);
  EXPECT_EQ(dye_left(1, 0), 1);
  EXPECT_EQ(dye_left(1, kInf), 0);
  EXPECT_NEAR(dye_left(0.97, 1e6), 0.03, 1e-15);
  for (double bad : {-1e-12, 1 + 1e-12, kNaN}) EXPECT_THROW(dye_left(bad, 1), std::domain_error);
  for (double bad : {-1e-12, kNaN}) EXPECT_THROW(dye_left(0.5, bad), std::domain_error);
}

// Closed form by hand: k_r A (1 - exp(-k_d t)) / k_d with k_r A = .05 /s, k_d = .03 /s, t = 60 s.
TEST(Discharge, ExposureOfOneStep) {
  DischargeProcess p;
  p.kr_per_s = 0.05;
  p.kd_per_s = 0.03;
  p.dryer = {{160, 60}};
  EXPECT_NEAR(exposure_per_agent(p), 1.3911685, 0.5e-7);
  p.kd_per_s = 0;  // no decay: k_r A t
  EXPECT_NEAR(exposure_per_agent(p), 3, 1e-12);
  p.kd_per_s = 1e-13;  // and no jump on the way there
  EXPECT_NEAR(exposure_per_agent(p), 3, 1e-10);
  p.kd_per_s = 0.03;
  p.dryer = {{160, 20}, {160, 40}};  // cutting a step in two changes nothing
  EXPECT_NEAR(exposure_per_agent(p), 1.3911685, 0.5e-7);
  p.dryer = {{160, 1e6}};  // it saturates at k_r A / k_d
  EXPECT_NEAR(exposure_per_agent(p), 0.05 / 0.03, 1e-12);
  p.dryer = {};
  EXPECT_EQ(exposure_per_agent(p), 0);
}

// By hand with R = 8.314462618 J/(mol K): 80 kJ/mol, 150 to 160 C.
TEST(Discharge, Arrhenius) {
  EXPECT_NEAR(arrhenius_factor(80, 160, 150), 1.6903849, 0.5e-7);
  EXPECT_NEAR(arrhenius_factor(80, 150, 160), 1 / 1.6903849, 1e-7);
  EXPECT_EQ(arrhenius_factor(80, 160, 160), 1);
  EXPECT_EQ(arrhenius_factor(0, 20, 160), 1);
  for (double bad : {-273.15, -300.0, kNaN, kInf}) {
    EXPECT_THROW(arrhenius_factor(80, bad, 160), std::domain_error);
    EXPECT_THROW(arrhenius_factor(80, 160, bad), std::domain_error);
  }
  EXPECT_NO_THROW(arrhenius_factor(80, -273.14, 160));
  for (double bad : {-1e-12, kNaN, kInf}) EXPECT_THROW(arrhenius_factor(bad, 160, 160), std::domain_error);
}

// Explicit time stepping of dA/dt = -k_d A, dE/dt = k_r A (midpoint rule), written apart from the closed
// form.
double step_in_time(const DischargeProcess& p, double agent, double dt) {
  double exposure = 0;
  for (const DryerStep& s : p.dryer) {
    const double inv = 1 / (s.celsius + 273.15) - 1 / (p.t_ref_celsius + 273.15);
    const double kr = p.kr_per_s * std::exp(-p.ea_r_kj_mol * 1000 / 8.314462618 * inv);
    const double kd = p.kd_per_s * std::exp(-p.ea_d_kj_mol * 1000 / 8.314462618 * inv);
    const int n = static_cast<int>(std::lround(s.seconds / dt));
    for (int i = 0; i < n; ++i) {
      const double middle = agent * (1 - kd * dt / 2);
      exposure += kr * middle * dt;
      agent -= kd * middle * dt;
    }
  }
  return exposure;
}

TEST(Discharge, DryerCurveCarriesTheAgentOver) {
  DischargeProcess p;
  p.dryer = {{130, 30}, {160, 60}};
  EXPECT_NEAR(0.05 * exposure_per_agent(p), 24.06825, 0.5e-5);  // numeric time stepping by another script
  EXPECT_NEAR(0.05 * exposure_per_agent(p), step_in_time(p, 0.05, 1e-3), 1e-5);
  DischargeProcess other = p;
  other.dryer = {{160, 60}, {130, 30}};
  EXPECT_GT(std::abs(exposure_per_agent(other) - exposure_per_agent(p)), 1e-3);  // order matters
}

TEST(Discharge, AgedPasteIsWeaker) {
  EXPECT_EQ(pot_activity(0, 8), 1);
  EXPECT_NEAR(pot_activity(8, 8), std::exp(-1.0), 1e-15);
  DischargeProcess fresh, old;
  old.pot_hours = 4;
  EXPECT_NEAR(exposure_per_agent(old), std::exp(-0.5) * exposure_per_agent(fresh), 1e-9);
  EXPECT_THROW(pot_activity(-1, 8), std::domain_error);
  EXPECT_THROW(pot_activity(kNaN, 8), std::domain_error);
  EXPECT_THROW(pot_activity(1, 0), std::domain_error);
}

TEST(Discharge, RefusesBadProcess) {
  const auto refused = [](auto change) {
    DischargeProcess p;
    change(p);
    EXPECT_THROW(exposure_per_agent(p), std::domain_error);
  };
  for (double bad : {-1e-12, kNaN, kInf}) {
    refused([&](DischargeProcess& p) { p.kr_per_s = bad; });
    refused([&](DischargeProcess& p) { p.kd_per_s = bad; });
    refused([&](DischargeProcess& p) { p.dryer[0].seconds = bad; });
    refused([&](DischargeProcess& p) { p.ea_r_kj_mol = bad; });
    refused([&](DischargeProcess& p) { p.pot_hours = bad; });
  }
}

// 6 g/m2, z_p 120 um, ply 500 um: quadrature of the profile (Simpson here; another script gave the figure).
TEST(Discharge, SoakProfile) {
  EXPECT_NEAR(6 * soak_profile_mean({0}, {50}, {120}, {500}), 0.0415351, 0.5e-7);
  const auto simpson = [](double a, double b) {
    constexpr int n = 200;
    double sum = 0;
    for (int i = 0; i <= n; ++i) {
      const double z = a + (b - a) * i / n;
      sum += (i == 0 || i == n ? 1 : i % 2 ? 4 : 2) * std::exp(-z / 120);
    }
    return sum / (3 * n) / (120 * (1 - std::exp(-500.0 / 120)));
  };
  for (double a : {0.0, 3.0, 77.0, 400.0})
    EXPECT_NEAR(soak_profile_mean({a}, {a + 40}, {120}, {500}), simpson(a, a + 40), 1e-12);
  // All of the dose is somewhere in the ply; very deep soaking is even.
  const std::vector<double> edges = sublayer_edges({500}, 24);
  double sum = 0;
  for (std::size_t j = 0; j + 1 < edges.size(); ++j)
    sum += soak_profile_mean({edges[j]}, {edges[j + 1]}, {120}, {500}) * (edges[j + 1] - edges[j]);
  EXPECT_NEAR(sum, 1, 1e-12);
  EXPECT_NEAR(soak_profile_mean({0}, {1}, {1e9}, {500}), 1.0 / 500, 1e-9);
  for (double bad : {0.0, -1.0, kNaN})
    EXPECT_THROW(soak_profile_mean({0}, {50}, {bad}, {500}), std::domain_error);
  EXPECT_THROW(soak_profile_mean({50}, {50}, {120}, {500}), std::domain_error);
  EXPECT_THROW(soak_profile_mean({0}, {501}, {120}, {500}), std::domain_error);
  EXPECT_THROW(soak_profile_mean({-1}, {50}, {120}, {500}), std::domain_error);
}

TEST(Discharge, SublayerEdges) {
  const std::vector<double> edges = sublayer_edges({480}, 4);
  EXPECT_EQ(edges, (std::vector<double>{0, 30, 120, 270, 480}));
  EXPECT_EQ(sublayer_edges({0.1}, 7).back(), 0.1);  // exactly the ply, whatever the rounding
  EXPECT_THROW(sublayer_edges({480}, 0), std::domain_error);
  EXPECT_THROW(sublayer_edges({0}, 4), std::domain_error);
}

}  // namespace
}  // namespace kirtle
