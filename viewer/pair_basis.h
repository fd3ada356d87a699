#pragma once
// The pair values of films in a shorter form, for the graphics card: with weights w of the overprints,
//     w' Q w = y' M y,  y = B' w,
// where B has a column for each of a few directions in which the values Q vary. 64 overprints of six films
// need 2080 pairs a point, but some 16 directions.
#include "light/colour.h"

#include <span>
#include <vector>

namespace kirtle {

struct PairBasis {
  int rank = 0;               ///< directions, a multiple of 4
  std::vector<float> states;  ///< B: rank numbers an overprint, -1..1
  std::vector<float> form;    ///< M: X Y Z 0 of each pair a <= b of directions, index b (b + 1) / 2 + a; 2 M
                              ///< where a != b
  /// The slow twin of the shader: w, one weight an overprint.
  XYZ mix(std::span<const double> w) const;
};

/// The fewest directions, in fours, with which every overprint alone stays within `most_de00` of its own
/// value.
/// contracted: X Y Z 0 of each pair, as PairLattice::contracted gives them, without fields; overprints: 1 to
/// 256.
PairBasis make_pair_basis(std::span<const float> contracted, std::size_t overprints, const XYZ& white,
                          double most_de00 = 0.05);

}  // namespace kirtle
