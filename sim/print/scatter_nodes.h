#pragma once
// The mean radii at which the ground under a piece of the print spreads the light of one band.
#include "print/loupe_kinds.h"

#include <span>
#include <vector>

namespace kirtle {

/// A mean radius at which light is spread, and sqrt(rho) of every kind there.
struct ScatterNode {
  double mean_um = 0;
  bool film = false;  ///< light of films, else of cloth
  std::vector<float> root;
};

/// One band of one fibre.
struct ScatterNodes {
  std::vector<ScatterNode> nodes;
  std::vector<float> still;  ///< of every kind: returned where it came in
  /// All that the ground under a kind returns.
  double ground(std::size_t kind) const;
  double returned = 0;  ///< at most this much of the light of one round goes round once more
};

/// entry: index of band and fibre in the kinds. Light that goes less far than 8 um or a quarter of the pitch
/// stays where it is (2 % of a dot at 55 lines).
ScatterNodes scatter_nodes(std::span<const LoupeKind> kinds, double pitch_um, std::size_t entry);

/// Steps of the light going down (root mean square) under which less than `tolerance` of reflectance is
/// missing.
double scatter_settled(const ScatterNodes& band, double tolerance);

}  // namespace kirtle
