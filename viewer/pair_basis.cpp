#include "pair_basis.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "pair_lattice.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle {

namespace {

using Matrix = Eigen::MatrixXd;

XYZ value_at(std::span<const float> contracted, std::size_t pair) {
  const float* v = contracted.data() + 4 * pair;
  return {static_cast<double>(v[0]), static_cast<double>(v[1]), static_cast<double>(v[2])};
}

PairBasis basis_of(const Matrix& directions, const Eigen::VectorXd& scale,
                   const std::array<Matrix, 3>& values, Eigen::Index rank) {
  PairBasis out;
  out.rank = static_cast<int>(rank);
  const Matrix u = directions.leftCols(rank);
  Matrix b = scale.cwiseInverse().asDiagonal() * u;
  const Eigen::VectorXd largest = b.cwiseAbs().colwise().maxCoeff().transpose();
  b = b * largest.cwiseInverse().asDiagonal();
  // As the card keeps them: 16 bits, signed.
  for (Eigen::Index s = 0; s < b.rows(); ++s)
    for (Eigen::Index k = 0; k < rank; ++k)
      out.states.push_back(static_cast<float>(std::round(b(s, k) * 32767) / 32767));
  std::array<Matrix, 3> m;
  for (std::size_t c = 0; c < 3; ++c)
    m[c] = largest.asDiagonal() * (u.transpose() * values[c] * u) * largest.asDiagonal();
  for (Eigen::Index q = 0; q < rank; ++q) {
    for (Eigen::Index p = 0; p <= q; ++p) {
      for (const Matrix& of : m) out.form.push_back(static_cast<float>((p == q ? 1 : 2) * of(p, q)));
      out.form.push_back(0);
    }
  }
  return out;
}

}  // namespace

XYZ PairBasis::mix(std::span<const double> w) const {
  const auto n = static_cast<std::size_t>(rank);
  std::vector<double> y(n);
  for (std::size_t s = 0; s < w.size(); ++s)
    for (std::size_t k = 0; k < n; ++k) y[k] += w[s] * static_cast<double>(states[s * n + k]);
  XYZ sum;
  for (std::size_t q = 0; q < n; ++q)
    for (std::size_t p = 0; p <= q; ++p) sum += value_at(form, PairLattice::pair_index(p, q)) * (y[p] * y[q]);
  return sum;
}

PairBasis make_pair_basis(std::span<const float> contracted, std::size_t overprints, const XYZ& white,
                          double most_de00) {
  KIRTLE_CHECK(contracted.size(), >=, 4 * (overprints * (overprints + 1) / 2));
  const auto n = static_cast<Eigen::Index>(overprints);
  std::array<Matrix, 3> values{Matrix(n, n), Matrix(n, n), Matrix(n, n)};
  for (std::size_t q = 0; q < overprints; ++q) {
    for (std::size_t p = 0; p <= q; ++p) {
      const XYZ v = value_at(contracted, PairLattice::pair_index(p, q));
      const auto i = static_cast<Eigen::Index>(p), j = static_cast<Eigen::Index>(q);
      values[0](i, j) = values[0](j, i) = v.x;
      values[1](i, j) = values[1](j, i) = v.y;
      values[2](i, j) = values[2](j, i) = v.z;
    }
  }
  // Scaled so that an error counts about as it does in lightness, the cube root of Y: dark overprints count.
  Eigen::VectorXd scale(n);
  for (Eigen::Index s = 0; s < n; ++s) scale[s] = 1 / std::cbrt(std::max(values[1](s, s), 1e-3));
  Matrix side(n, 3 * n);
  for (Eigen::Index c = 0; c < 3; ++c) {
    Matrix& of = values[static_cast<std::size_t>(c)];
    of = scale.asDiagonal() * of * scale.asDiagonal();
    side.middleCols(c * n, n) = of;
  }
  // Directions by size: eigenvectors of side side', largest last.
  const Eigen::SelfAdjointEigenSolver<Matrix> solver(side * side.transpose());
  const Matrix directions = solver.eigenvectors().rowwise().reverse();
  PairBasis out;
  for (Eigen::Index rank = std::min<Eigen::Index>(4, n);; rank = std::min(rank + 4, n)) {
    out = basis_of(directions, scale, values, rank);
    double worst = 0;
    std::vector<double> w(overprints, 0.0);
    for (std::size_t s = 0; s < overprints; ++s) {
      w[s] = 1;
      const Lab own = lab_from_xyz(value_at(contracted, PairLattice::pair_index(s, s)), white);
      worst = std::max(worst, delta_e_2000(lab_from_xyz(out.mix(w), white), own));
      w[s] = 0;
    }
    if (worst <= most_de00 || rank == n) return out;
  }
}

}  // namespace kirtle
