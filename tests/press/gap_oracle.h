#pragma once
// Closed forms that no command needs, but that runs of shirts are compared with. Derived from the normal
// distribution, as those of press/gap_theory.h.
#include "press/gap_theory.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle::test {

/// Standard deviation of the width of the gap at one edge from shirt to shirt [mm], those without one
/// included: from (sigma^2 + trap^2) Q - trap sigma phi, its mean square. sigma > 0.
inline double gap_deviation_mm(double trap, double sigma) {
  const double x = trap / sigma, phi = std::exp(-x * x / 2) / std::sqrt(2 * std::numbers::pi);
  const double mean = mean_gap({trap}, {sigma}).v;
  const double square = (sigma * sigma + trap * trap) * normal_tail(x) - trap * sigma * phi;
  return std::sqrt(std::max(0.0, square - mean * mean));
}

/// The pair sigma at which the share of shirts with a gap wider than `wider_than` is `share` [mm]: a reach in
/// sigmas is the trap for a sigma of 1.
inline Mm sigma_for_share(GapPlace place, double share, Mm trap, Mm wider_than) {
  return {(trap.v + wider_than.v) / trap_for_share(place, share, {1}).v};
}

/// A bad pallet counts as its share of shirts.
inline double share_with_bad_pallet(double share, double bad_share, int pallets) {
  return share + (bad_share - share) / pallets;
}

}  // namespace kirtle::test
