#pragma once
// Mesh, stencil and halftone of one screen. Record types; deposit and tone formulas stand in deposit.h and
// tone.h.
#include "base/provenance.h"
#include "base/units.h"

#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// Woven mesh. The maker's measured opening, open area and fabric thickness win over the
/// formula.
struct Mesh {
  std::string id;  ///< "61-64": threads per cm - thread diameter in um
  std::string name;
  Provenance provenance;
  double threads_per_cm = 0;
  Um thread{0};
  std::optional<Um> opening;        ///< measured; else 10000/n - d
  std::optional<double> open_area;  ///< measured, 0..1; else (w/(w+d))^2
  Um fabric_thickness{0};           ///< D
};

/// noise: frequency-modulated, square dots of one size, evenly scattered (noise_dots.h); no lines, no angle.
enum class DotShape { round, elliptical, inverting, line, square, noise };

struct HalftoneScreen {
  double lpi = 55;  ///< lines per inch
  double angle_deg = 22.5;
  DotShape shape = DotShape::round;
  Um dot{0};  ///< side of a dot of noise, > 0; the other shapes have none
};

/// Length that the pattern is counted in: the lattice's period, or the side of a dot of noise.
inline Um dot_pitch(const HalftoneScreen& h) {
  return h.shape == DotShape::noise ? h.dot : Um{kUmPerInch / h.lpi};
}

/// A measured step table: film per cent asked, per cent printed. Rising in both columns, ends 0 and 100.
struct StepTable {
  std::vector<double> asked;    ///< 0..1, rising
  std::vector<double> printed;  ///< 0..1, rising
};

}  // namespace kirtle
