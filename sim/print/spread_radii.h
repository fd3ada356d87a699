#pragma once
// The spread of light at any mean radius, made up of the spreads at a few.
#include "print/few_directions.h"

#include <vector>

namespace kirtle {

/// What a spread changes, P - 1 with P of scatter.h, at few radii; at radii between them by least squares
/// over the frequencies of a raster (weight 1 / frequency, as edges have it), within 3e-4 (8e-5 measured).
class SpreadRadii {
 public:
  /// radii: all that will be asked for [um], > 0, at least one.
  SpreadRadii(std::vector<double> radii, double pitch_um);

  const std::vector<double>& nodes_um() const { return nodes_; }
  /// One a node.
  std::vector<double> weights(double mean_um) const;

  /// Coordinates in which the length of a combination of nodes is its size on such a raster; one row, in
  /// place.
  void to_lengths(double* weights) const;
  /// The combinations of nodes whose sum over coordinates has those coordinates: the inverse transposed.
  void from_lengths(double* coordinates) const;

 private:
  std::vector<double> changes_of(double mean_um) const;
  double moment(const std::vector<double>& a, const std::vector<double>& b) const;

  std::vector<double> nodes_, frequency_, weight_;  ///< frequencies: (2 pi f)^2
  std::vector<std::vector<double>> changes_;        ///< of every node at every frequency
  Rows root_;                                       ///< Cholesky: lower
};

}  // namespace kirtle
