#pragma once
// Weights of overprints in a halftone, and the classic mixing laws: what predictions are compared with.
#include <span>
#include <vector>

namespace kirtle {

/// Weights of the 2^n overprints of n plates whose dots fall independently; bit i of the index = plate i
/// present. coverage 0..1 each; n <= 12. The weights sum to 1. Source: Demichel 1924 (from memory).
std::vector<double> demichel(std::span<const double> coverage);

/// Weights when dots sit on dots (same angle and line count, in register): the larger dot covers the smaller.
/// Same indexing. Closed form.
std::vector<double> nested(std::span<const double> coverage);

/// One band or channel: (sum w v^(1/n))^n. values >= 0, n >= 1.
/// Source: Yule, Nielsen 1951; Viggiano 1985 (from memory).
double yule_nielsen(std::span<const double> weights, std::span<const double> values, double n);

/// One band: (1 - m) sum w v + m (sum w sqrt v)^2: what the pair form of pair_form.h becomes for clear inks
/// on one ground, so that m = 0 is area mixing and m = 1 is Yule-Nielsen with n = 2. m 0..1.
double scatter_mix(std::span<const double> weights, std::span<const double> values, double m);

/// Coverage of a tint from its reflectance by area: (Rp - Rt) / (Rp - Rs), paper, solid, tint.
/// Source: Murray 1936 (Murray-Davies; from memory). Throws std::domain_error if solid equals paper.
double coverage_murray_davies(double paper, double solid, double tint);

/// Clapper-Yule: clear inks on a ground that scatters further than the dots are apart.
///   r_s  external, r_i internal reflection at the surface; r_g ground; coverage, transmittance: one per
///   overprint
/// Source: Clapper, Yule 1953; form after Hebert, Hersch 2005.
double clapper_yule(std::span<const double> coverage, std::span<const double> transmittance, double r_s,
                    double r_i, double r_g);

}  // namespace kirtle
