#include "print/few_directions.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace kirtle {

FewDirections few_directions(Rows rows, double tolerance) {
  const std::size_t n = rows.count, length = rows.length;
  FewDirections out;
  std::vector<std::vector<double>> directions, coordinates;  // one a direction
  std::vector<double> squared(n);
  for (std::size_t i = 0; i < n; ++i)
    squared[i] = std::inner_product(rows[i], rows[i] + length, rows[i], 0.0);
  while (directions.size() < std::min(n, length)) {
    const auto longest =
        static_cast<std::size_t>(std::max_element(squared.begin(), squared.end()) - squared.begin());
    if (!(squared[longest] > tolerance * tolerance)) break;
    std::vector<double> direction(rows[longest], rows[longest] + length);
    for (const std::vector<double>& before : directions) {  // once more, for what rounding left
      const double along = std::inner_product(direction.begin(), direction.end(), before.begin(), 0.0);
      for (std::size_t k = 0; k < length; ++k) direction[k] -= along * before[k];
    }
    const double norm =
        std::sqrt(std::inner_product(direction.begin(), direction.end(), direction.begin(), 0.0));
    for (double& v : direction) v /= norm;
    std::vector<double> along(n);
    for (std::size_t i = 0; i < n; ++i) {
      double* row = rows[i];
      along[i] = std::inner_product(row, row + length, direction.begin(), 0.0);
      double left = 0;
      for (std::size_t k = 0; k < length; ++k) {
        row[k] -= along[i] * direction[k];
        left += row[k] * row[k];
      }
      squared[i] = left;
    }
    squared[longest] = 0;
    out.pivots.push_back(longest);
    directions.push_back(std::move(direction));
    coordinates.push_back(std::move(along));
  }
  out.directions = Rows(directions.size(), length);
  out.coordinates = Rows(n, directions.size());
  for (std::size_t r = 0; r < directions.size(); ++r) {
    std::copy(directions[r].begin(), directions[r].end(), out.directions[r]);
    for (std::size_t i = 0; i < n; ++i) out.coordinates[i][r] = coordinates[r][i];
  }
  return out;
}

Rows directions_from_pivots(const FewDirections& few) {
  const std::size_t rank = few.pivots.size();
  Rows out(rank, rank);
  for (std::size_t r = 0; r < rank; ++r) {
    const double* of_pivot = few.coordinates[few.pivots[r]];
    out[r][r] = 1;
    for (std::size_t before = 0; before < r; ++before) {
      for (std::size_t k = 0; k <= before; ++k) out[r][k] -= of_pivot[before] * out[before][k];
    }
    for (std::size_t k = 0; k <= r; ++k) out[r][k] /= of_pivot[r];
  }
  return out;
}

}  // namespace kirtle
