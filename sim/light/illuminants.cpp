#include "light/tables.h"

#include <cmath>

namespace kirtle {
namespace {

Spectrum daylight(double m1, double m2) {
  const auto& s = daylight_components();
  return spectrum_of([&](std::size_t i) { return s[0][i] + m1 * s[1][i] + m2 * s[2][i]; });
}

}  // namespace

Spectrum d50_power() { return daylight(-1.039, 0.363); }
Spectrum d65_power() { return daylight(-0.295, -0.689); }

Spectrum illuminant_a_power() {
  constexpr double kC2OverT_nm = 1.435e7 / 2848.0;
  constexpr double kAnchor_nm = 560.0;
  return spectrum_of([&](std::size_t i) {
    const double nm = band_nm(i);
    return 100.0 * std::pow(kAnchor_nm / nm, 5) * std::expm1(kC2OverT_nm / kAnchor_nm) /
           std::expm1(kC2OverT_nm / nm);
  });
}

}  // namespace kirtle
