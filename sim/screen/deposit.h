#pragma once
// From mesh and strokes to the ink laid down. 1 cm3/m2 = 1 um.
#include "screen/screen.h"

namespace kirtle {

/// Opening between threads [um]: the maker's, else 10000/n - d. Source: plain weave geometry.
Um mesh_opening(const Mesh& mesh);

/// Open share of the mesh, 0..1: the maker's, else (w/(w+d))^2.
double mesh_open_area(const Mesh& mesh);

/// Theoretical ink volume of the mesh, cm3/m2 = um of wet ink: open area times fabric thickness (mesh makers'
/// data pages).
Um theoretical_volume(const Mesh& mesh);

/// Each further stroke without a flash adds this share of the first (common practice, no source: 1.3 to 1.5 times for two).
constexpr double kFurtherStroke = 0.4;

/// Wet ink laid down by one pass [um].
///   transfer  share of the theoretical volume that leaves the mesh, 0.3..1
///   strokes   1..4
/// Throws std::domain_error outside these ranges.
Um wet_deposit(const Mesh& mesh, double transfer, int strokes);

/// Smallest dot diameter the stencil holds [um]: 0.85 (2 d + w), so that it hangs on about two threads.
/// Common practice, no source; the factor puts 305 mesh at 4 %, 230 at 6.5 %, 156 at 13 % with 55 lines per
/// inch.
Um smallest_dot(const Mesh& mesh);

}  // namespace kirtle
