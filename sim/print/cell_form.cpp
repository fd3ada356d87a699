#include "print/cell_form.h"

#include "base/check.h"
#include "base/simd.h"

#include <cstring>

namespace kirtle {

namespace {

constexpr int power(int base, int exponent) { return exponent == 0 ? 1 : base * power(base, exponent - 1); }

/// Coefficients of (1 - a)^2, a (1 - a) and a^2 by power of a; indexed by how many of the two are present.
constexpr double kBasis[3][3] = {{1, -2, 1}, {0, 1, -1}, {0, 0, 1}};

using Lanes = float __attribute__((vector_size(32)));
constexpr int kWide = 8;
static_assert(kFormLanes % kWide == 0);

/// Value at a[0 .. Plates - 1] of a polynomial.
template <int Plates>
KIRTLE_INLINE void value_of(const float* c, const Lanes* a, Lanes& out) {
  if constexpr (Plates == 0) {
    out = *c - Lanes{};
  } else {
    constexpr int kPart = power(3, Plates - 1);
    Lanes next{};
    value_of<Plates - 1>(c + 2 * kPart, a, out);
    value_of<Plates - 1>(c + kPart, a, next);
    out = out * a[Plates - 1] + next;
    value_of<Plates - 1>(c, a, next);
    out = out * a[Plates - 1] + next;
  }
}

/// The same of more plates than are worth code of their own: the first four as above, the others like the
/// digits of a counter.
KIRTLE_INLINE void value_of_many(int plates, const float* c, const Lanes* a, Lanes& out) {
  constexpr int kUnrolled = 4, kPart = power(3, kUnrolled);
  Lanes sum[kMostFormPlates]{};
  for (int part = power(3, plates - kUnrolled) - 1; part >= 0; --part) {
    value_of<kUnrolled>(c + part * kPart, a, out);
    for (int plate = kUnrolled, rest = part; plate < plates; ++plate, rest /= 3) {
      const int exponent = rest % 3;
      sum[plate] = exponent == 2 ? out : sum[plate] * a[plate] + out;
      if (exponent != 0) break;
      out = sum[plate];
    }
  }
}

KIRTLE_INLINE void mix_all(const CellForm& form, FormLanes& lanes) {
  const std::size_t count = form.c.size() / 3;
  for (int from = 0; from < kFormLanes; from += kWide) {
    Lanes a[kMostFormPlates], xyz{};
    for (int plate = 0; plate < form.plates; ++plate)
      std::memcpy(&a[plate], lanes.share[plate] + from, sizeof(Lanes));
    for (std::size_t channel = 0; channel < 3; ++channel) {
      const float* c = form.c.data() + channel * count;
      switch (form.plates) {
        case 1:
          value_of<1>(c, a, xyz);
          break;
        case 2:
          value_of<2>(c, a, xyz);
          break;
        case 3:
          value_of<3>(c, a, xyz);
          break;
        case 4:
          value_of<4>(c, a, xyz);
          break;
        default:
          value_of_many(form.plates, c, a, xyz);
      }
      std::memcpy(lanes.xyz[channel] + from, &xyz, sizeof(Lanes));
    }
  }
}

KIRTLE_AVX2 void mix_lanes_avx2(const CellForm& form, FormLanes& lanes) { mix_all(form, lanes); }

}  // namespace

CellForm cell_form(int plates, std::span<const double> q) {
  KIRTLE_CHECK(plates, >=, 1);
  KIRTLE_CHECK(plates, <=, kMostFormPlates);
  const std::size_t overprints = std::size_t{1} << plates;
  KIRTLE_CHECK(q.size(), ==, 3 * overprints * (overprints + 1) / 2);
  // Of each pair of overprints the products of coverages, multiplied out plate by plate.
  const int count = power(3, plates);
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

void detail::mix_lanes_anywhere(const CellForm& form, FormLanes& lanes) { mix_all(form, lanes); }

void mix_lanes(const CellForm& form, FormLanes& lanes) {
  if (has_avx2()) {
    mix_lanes_avx2(form, lanes);
  } else {
    detail::mix_lanes_anywhere(form, lanes);
  }
}

}  // namespace kirtle
