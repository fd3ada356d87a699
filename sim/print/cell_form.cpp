#include "print/cell_form.h"

#include "base/check.h"
#include "base/simd.h"
#include "print/cell_form_lanes.inl"

namespace kirtle {

namespace {

/// Coefficients of (1 - a)^2, a (1 - a) and a^2 by power of a; indexed by how many of the two are present.
constexpr double kBasis[3][3] = {{1, -2, 1}, {0, 1, -1}, {0, 0, 1}};

}  // namespace

CellForm cell_form(int plates, std::span<const double> q) {
  KIRTLE_CHECK(plates, >=, 1);
  KIRTLE_CHECK(plates, <=, kMostFormPlates);
  const std::size_t overprints = std::size_t{1} << plates;
  KIRTLE_CHECK(q.size(), ==, 3 * overprints * (overprints + 1) / 2);
  // Of each pair of overprints the products of coverages, multiplied out plate by plate.
  const int count = detail::power(3, plates);
  std::vector<double> c(static_cast<std::size_t>(3 * count)), factor(static_cast<std::size_t>(count));
  const double* xyz = q.data();
  for (unsigned p = 0; p < overprints; ++p) {
    for (unsigned r = p; r < overprints; ++r, xyz += 3) {
      factor[0] = 1;
      for (int plate = 0, filled = 1; plate < plates; ++plate, filled *= 3) {
        const double* basis = kBasis[(p >> plate & 1u) + (r >> plate & 1u)];
        for (int power_of = 2; power_of >= 0; --power_of) {
          for (int k = 0; k < filled; ++k) factor[power_of * filled + k] = factor[k] * basis[power_of];
        }
      }
      for (int channel = 0; channel < 3; ++channel) {
        for (int k = 0; k < count; ++k) c[channel * count + k] += factor[k] * xyz[channel];
      }
    }
  }
  CellForm form;
  form.plates = plates;
  form.c.assign(c.begin(), c.end());
  return form;
}

void detail::mix_lanes_anywhere(const CellForm& form, FormLanes& lanes) {
  mix_all(form.c.data(), form.plates, lanes);
}

void mix_lanes(const CellForm& form, FormLanes& lanes) {
  if (has_avx2()) {
    detail::mix_lanes_avx2(form.c.data(), form.plates, lanes);
  } else {
    detail::mix_all(form.c.data(), form.plates, lanes);
  }
}

}  // namespace kirtle
