#pragma once
// A cell's quadratic form as numbers that serve many pixels at once, in float.
//
// Where f plates are fractional and their dots fall independently, XYZ is a polynomial of degree 2 in each of
// their coverages: 3^f coefficients, worked out by Horner's rule. (Sums of squares of its eigenvectors would
// take nearly all of them to be exact: 189 of 192 at f = 6.) Compared with OverprintTable::mix, the double
// twin: within dE00 0.01 (tests).
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

constexpr int kMostFormPlates = 8;
constexpr int kFormLanes = 16;              ///< pixels mixed at once
constexpr float kFormShare = 1 / 65535.0F;  ///< from a cover of 16 bits

struct CellForm {
  int plates = 0;        ///< f; 0 = this cell has no such form
  std::vector<float> c;  ///< 3^f coefficients each of X, Y and Z; the first plate's power changes fastest
};

/// q: XYZ of every pair p <= q of the 2^f overprints, off-diagonals counted twice, row by row (Cell::q).
/// f 1..8.
CellForm cell_form(int plates, std::span<const double> q);

/// Coverages of up to kFormLanes pixels, plate by plate, and the colours they make.
struct FormLanes {
  alignas(32) float share[kMostFormPlates][kFormLanes];
  alignas(32) float xyz[3][kFormLanes];
};
/// Fills lanes.xyz. Each lane's result depends on nothing but its own shares.
void mix_lanes(const CellForm& form, FormLanes& lanes);

namespace detail {
/// The same by the code for any processor: the same bits.
void mix_lanes_anywhere(const CellForm& form, FormLanes& lanes);
/// By the code for AVX2; c: CellForm::c.
void mix_lanes_avx2(const float* c, int plates, FormLanes& lanes);
}  // namespace detail

}  // namespace kirtle
