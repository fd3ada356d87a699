#pragma once
// Lengths that cannot be mixed up. Layers and deposits are micrometres, art and cloth are millimetres.
// 1 cm3/m2 of ink is 1 um of film. Constants: 1 in = 25.4 mm exactly; 1 pt = 1/72 in (as in PDF, ISO 32000).
#include <compare>

namespace kirtle {

/// Micrometres.
struct Um {
  double v = 0;
  auto operator<=>(const Um&) const = default;
};

/// Millimetres.
struct Mm {
  double v = 0;
  auto operator<=>(const Mm&) const = default;
};

constexpr double kMmPerInch = 25.4;
constexpr double kMmPerPoint = 25.4 / 72.0;
constexpr double kUmPerInch = 25400.0;
constexpr double kCmPerInch = 2.54;

constexpr Um to_um(Mm x) { return {x.v * 1000.0}; }
constexpr Mm to_mm(Um x) { return {x.v / 1000.0}; }
constexpr double fahrenheit_from_celsius(double c) { return c * 1.8 + 32.0; }
constexpr double threads_per_inch_from_per_cm(double n) { return n * kCmPerInch; }

}  // namespace kirtle
