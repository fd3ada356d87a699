#pragma once
// Tristimulus values and CIELAB. Formulas: ISO/CIE 11664-3 (XYZ) and 11664-4 (CIELAB).
#include <array>
#include <string>

namespace kirtle {

/// CIE tristimulus values on the scale where the perfect reflector has Y = 100.
struct XYZ {
  double x = 0, y = 0, z = 0;
  bool operator==(const XYZ&) const = default;
  XYZ& operator+=(const XYZ& o) {
    x += o.x;
    y += o.y;
    z += o.z;
    return *this;
  }
  friend XYZ operator+(XYZ a, const XYZ& b) { return a += b; }
  friend XYZ operator*(XYZ a, double f) { return {a.x * f, a.y * f, a.z * f}; }
};

/// CIELAB. L in 0..100 for reflecting samples. Which light and observer it belongs to is the ViewingWeights'
/// business (weights.h); never compare two Labs made with different ones.
struct Lab {
  double l = 0, a = 0, b = 0;
  bool operator==(const Lab&) const = default;
};

/// ISO/CIE 11664-4, with the exact rational constants 216/24389 and 24389/27. Any finite input.
Lab lab_from_xyz(const XYZ& xyz, const XYZ& white);
XYZ xyz_from_lab(const Lab& lab, const XYZ& white);

/// Chroma C*ab, >= 0, and hue h_ab in degrees, 0..360 (0 for a = b = 0).
double chroma(const Lab& lab);
double hue_degrees(const Lab& lab);

}  // namespace kirtle
