#pragma once
// Closed forms of misregister: how often and how wide the ground shows between two plates that should
// overlap. Lengths in mm. The shift between the plates is normal with standard deviation `sigma` per axis (a
// pair's sigma); `trap` is how far the plates overlap when in register, ink spread of both edges included:
// negative if they leave a gap. A gap's width is shift less trap, if that is more than 0. Source: closed
// form, derived from the normal distribution; each is stated at its function. Limits: straight edges or
// outlines smooth against the shift; one pair; no turn, no stretch. Throws std::domain_error, naming the
// argument, if sigma, wider_than or bias is negative (bias of an edge may be) or anything is not finite.
#include "base/units.h"

namespace kirtle {

/// Where a gap may open.
enum class GapPlace {
  one_edge,       ///< at one straight edge
  two_edges,      ///< at either of two opposite straight edges
  round_outline,  ///< anywhere round a closed, smooth outline
  square_outline  ///< at any side of a rectangle square to the axes
};

/// Q(x) = erfc(x / sqrt 2) / 2: share of a normal distribution above x.
double normal_tail(double x);

/// Overlap with the ink spread of both edges: trap + spread_a + spread_b.
constexpr Mm trap_with_spread(Mm trap, Um spread_a, Um spread_b) {
  return {trap.v + to_mm(spread_a).v + to_mm(spread_b).v};
}

/// Share of shirts, 0..1, with a gap wider than `wider_than`. With r = trap + wider_than:
///   one edge        Q(r / sigma)
///   two edges       2 Q(r / sigma)
///   round outline   exp(-r^2 / (2 sigma^2))      (Rayleigh: length of a shift in the plane)
///   square outline  1 - (1 - 2 Q(r / sigma))^2
/// all but the first 1 for r <= 0 (one edge has no such limit).
double gap_share(GapPlace place, Mm trap, Mm sigma, Mm wider_than = {0});

/// The same with a fixed shift `bias` besides (set-up error, a bad pallet). For edges it is across the edge,
/// towards the gap if positive; for the round outline its length; for the square its parts, `bias` across and
/// `bias_down`.
///   one edge        Q((r - bias) / sigma)
///   two edges       Q((r - bias) / sigma) + Q((r + bias) / sigma)
///   round outline   the tail of Rice's distribution (Marcum's Q), integrated to 1e-12
///   square outline  1 - the product of (1 - two edges) of both axes
double biased_gap_share(GapPlace place, Mm trap, Mm sigma, Mm bias, Mm wider_than = {0}, Mm bias_down = {0});

/// Mean width of the gap at one edge over all shirts, those without one included [mm]:
/// sigma phi(t / sigma) - t Q(t / sigma), t = trap - bias.
Mm mean_gap(Mm trap, Mm sigma, Mm bias = {0});

/// The trap at which the share of shirts with a gap wider than `wider_than` is `share` [mm]: inverse of
/// gap_share. share in (0, 1). For a round outline sigma sqrt(-2 ln share) - wider_than: 3.03 sigma for 1 %.
Mm trap_for_share(GapPlace place, double share, Mm sigma, Mm wider_than = {0});

}  // namespace kirtle
