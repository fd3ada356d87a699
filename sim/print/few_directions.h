#pragma once
// Many rows of numbers held by few directions: pivoted Gram-Schmidt (Businger, Golub 1965,
// doi:10.1007/BF01436084, which does it by reflections).
#include <cstddef>
#include <vector>

namespace kirtle {

/// Rows of one length, one after another.
struct Rows {
  std::size_t count = 0, length = 0;
  std::vector<double> values;
  Rows() = default;
  Rows(std::size_t rows, std::size_t columns) : count(rows), length(columns), values(rows * columns, 0.0) {}
  double* operator[](std::size_t row) { return values.data() + row * length; }
  const double* operator[](std::size_t row) const { return values.data() + row * length; }
};

struct FewDirections {
  Rows directions;                  ///< of length 1, at right angles
  Rows coordinates;                 ///< of every row, one a direction
  std::vector<std::size_t> pivots;  ///< the row from which each direction comes
};

/// Directions until what is left of every row is at most `tolerance` long (square root of the sum of
/// squares), each along the longest that is left.
FewDirections few_directions(Rows rows, double tolerance);

/// Coefficients of the pivots' rows, one row a direction, that make up the directions.
Rows directions_from_pivots(const FewDirections& few);

}  // namespace kirtle
