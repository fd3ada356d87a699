#pragma once
// The overprint table contracted for a graphics card: no spectra there, only tristimulus values of pairs.
//
// Plates are of two kinds. Films (dots on top) are there or not: every pair p <= q of their overprints has
// its own value, and a pixel is the quadratic form w' Q w. Fields (soaked doses) lie on a lattice of their
// levels. At each node there is the value V and, for each field, the bend D by which the pair of that node
// and the next one along the field lies off the straight line. Between nodes, with t the place in the cell:
//     Q = linear(V) + sum_i 2 t_i (1 - t_i) linear(D_i)
// which is sim's own form where one field lies between levels; where several do, the bends add (their
// products are left out: checked against the table in tests/viewer).
#include "base/progress.h"
#include "print/overprint_table.h"

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

namespace kirtle {

constexpr int kMostFilms = 8;   ///< 256 overprints, sim's own limit for pairs
constexpr int kMostFields = 4;  ///< a cell of the lattice has 16 corners
/// Values that are worked out before anything is shown; the rest follows.
constexpr std::size_t kQuickValues = 50000;

class PairLattice {
 public:
  /// Can this table be contracted? Not with yule_nielsen_n, more than kMostFilms films or kMostFields fields.
  static bool fits(const OverprintTable& table);
  /// most_values: levels of fields are thinned out until no more values than this are worked out; 0 = none
  /// are. Throws Cancelled.
  static std::shared_ptr<const PairLattice> make(const OverprintTable& table, std::size_t most_values,
                                                 unsigned threads, const Progress& progress = {});

  /// X Y Z and 0 of every value under a light, in the order of `index`.
  std::vector<float> contracted(const ViewingWeights& weights) const;
  /// Where the value of a film pair at a node starts; it is followed by the bends, one a field.
  std::size_t index(std::size_t node, std::size_t pair) const {
    return (node * pairs_ + pair) * (1 + fields_.size());
  }
  static std::size_t pair_index(std::size_t p, std::size_t q) { return q * (q + 1) / 2 + p; }  ///< p <= q

  const std::vector<int>& films() const { return films_; }    ///< plates, in order
  const std::vector<int>& fields() const { return fields_; }  ///< plates, in order
  const std::vector<double>& levels(std::size_t field) const { return levels_[field]; }
  std::size_t nodes() const { return nodes_; }
  std::size_t pairs() const { return pairs_; }
  bool whole() const { return whole_; }  ///< no level was left out

  /// The slow twin of the shader: films' overprints with weights w (2^films, bit i = films()[i]), fields'
  /// doses 0..1.
  XYZ mix(std::span<const float> contracted, std::span<const double> w, std::span<const double> doses) const;

 private:
  std::vector<int> films_, fields_;
  std::vector<std::vector<double>> levels_;
  std::vector<std::vector<std::uint8_t>> level_of_;  ///< the table's own number of a level
  std::size_t nodes_ = 1, pairs_ = 1;
  bool whole_ = true;
  std::vector<float> spectra_;  ///< kBands a value
};

}  // namespace kirtle
