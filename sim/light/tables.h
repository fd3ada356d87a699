#pragma once
// Published tables, as printed. Sources stand beside each table in tables.cpp.
#include "light/spectrum.h"
#include "light/weights.h"

#include <array>
#include <cstddef>

namespace kirtle {

/// Points from 380 to 730 nm by 5 nm. Point 2 i is band i.
constexpr std::size_t kPoints5nm = 2 * kBands - 1;

using Power5nm = std::array<double, kPoints5nm>;
using Observer5nm = std::array<std::array<double, kPoints5nm>, 3>;  ///< xbar, ybar, zbar

/// Colour-matching functions, 5 nm. Source: CIE 15, ISO/CIE 11664-1.
const Observer5nm& observer_table(Observer observer);
/// F1 to F12 at index 0 to 11, relative power, 5 nm. Source: CIE 15:2004.
const std::array<Power5nm, 12>& fluorescent_tables();
/// Daylight components S0, S1, S2, 10 nm. Source: CIE 15:2004.
const std::array<Spectrum, 3>& daylight_components();
/// LED-B3, relative power, 10 nm. Source: CIE 15:2018.
const Spectrum& led_b3_table();

/// Relative power of D50, D65 and A at 10 nm. Daylight: S0 + M1 S1 + M2 S2 with the M1, M2 that CIE 15 prints
/// (rounded to three decimals). A: the Planck ratio of CIE 15 with c2 = 1.435e7 nm K and 2848 K, 100 at 560
/// nm.
Spectrum d50_power();
Spectrum d65_power();
Spectrum illuminant_a_power();

}  // namespace kirtle
