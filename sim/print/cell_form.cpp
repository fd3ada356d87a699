#include "print/cell_form.h"

#include "base/check.h"
#include "base/simd.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <opencv2/core.hpp>

namespace kirtle {

namespace {

constexpr int power(int base, int exponent) { return exponent == 0 ? 1 : base * power(base, exponent - 1); }

/// Coefficients of (1 - a)^2, a (1 - a) and a^2 by power of a; indexed by how many of the two are present.
constexpr double kBasis[3][3] = {{1, -2, 1}, {0, 1, -1}, {0, 0, 1}};

void make_polynomial(int plates, std::span<const double> q, CellForm& form) {
  const int overprints = 1 << plates, count = power(3, plates);
  std::vector<double> c(static_cast<std::size_t>(3 * count));
  const double* xyz = q.data();
  for (int p = 0; p < overprints; ++p) {
    for (int r = p; r < overprints; ++r, xyz += 3) {
      for (int k = 0; k < count; ++k) {
        double factor = 1;
        for (int plate = 0, rest = k; plate < plates; ++plate, rest /= 3)
          factor *= kBasis[(p >> plate & 1) + (r >> plate & 1)][rest % 3];
        for (int channel = 0; factor != 0 && channel < 3; ++channel)
          c[channel * count + k] += factor * xyz[channel];
      }
    }
  }
  form.c.assign(c.begin(), c.end());
}

void make_squares(int plates, std::span<const double> q, CellForm& form) {
  const int overprints = 1 << plates;
  for (int channel = 0; channel < 3; ++channel) {
    cv::Mat_<double> matrix(overprints, overprints);
    const double* xyz = q.data() + channel;
    for (int p = 0; p < overprints; ++p) {
      for (int r = p; r < overprints; ++r, xyz += 3) matrix(p, r) = matrix(r, p) = p == r ? *xyz : 0.5 * *xyz;
    }
    cv::Mat_<double> values, vectors;
    KIRTLE_CHECK(cv::eigen(matrix, values, vectors), ==, true);
    // Weights are positive with the sum 1, so a term is at most its factor times its largest coefficient
    // squared.
    std::vector<std::pair<double, int>> terms;
    for (int k = 0; k < overprints; ++k) {
      double largest = 0;
      for (int i = 0; i < overprints; ++i) largest = std::max(largest, std::abs(vectors(k, i)));
      terms.emplace_back(std::abs(values(k)) * largest * largest, k);
    }
    std::sort(terms.begin(), terms.end());
    double left_out = 0;
    std::size_t from = 0;
    while (from < terms.size() && (left_out += terms[from].first) < kFormError) ++from;
    for (; from < terms.size(); ++from) {
      const int k = terms[from].second;
      std::vector<double> v(static_cast<std::size_t>(overprints));
      for (int i = 0; i < overprints; ++i) v[i] = std::sqrt(std::abs(values(k))) * vectors(k, i);
      // From values at the corners to coefficients of the products of coverages.
      for (int bit = 1; bit < overprints; bit *= 2) {
        for (int i = 0; i < overprints; ++i) {
          if (i & bit) v[i] -= v[i - bit];
        }
      }
      form.c.insert(form.c.end(), v.begin(), v.end());
      form.sign.push_back(values(k) < 0 ? -1.0F : 1.0F);
    }
    form.terms_end[channel] = static_cast<int>(form.sign.size());
  }
}

using Lanes = float __attribute__((vector_size(32)));
constexpr int kWide = 8;
static_assert(kFormLanes % kWide == 0);

/// Value at a[0 .. Plates - 1] of a polynomial with Powers coefficients a plate.
template <int Plates, int Powers>
KIRTLE_INLINE void value_of(const float* c, const Lanes* a, Lanes& out) {
  if constexpr (Plates == 0) {
    out = *c - Lanes{};
  } else {
    constexpr int kPart = power(Powers, Plates - 1);
    value_of<Plates - 1, Powers>(c + (Powers - 1) * kPart, a, out);
    for (int k = Powers - 2; k >= 0; --k) {
      Lanes next;
      value_of<Plates - 1, Powers>(c + k * kPart, a, next);
      out = out * a[Plates - 1] + next;
    }
  }
}

template <int Plates>
KIRTLE_INLINE void mix_wide(const CellForm& form, const Lanes* a, Lanes* xyz) {
  if constexpr (Plates <= kMostPolynomial) {
    for (int channel = 0; channel < 3; ++channel)
      value_of<Plates, 3>(form.c.data() + channel * power(3, Plates), a, xyz[channel]);
  } else {
    const float* c = form.c.data();
    int term = 0;
    for (int channel = 0; channel < 3; ++channel) {
      Lanes sum{};
      for (; term < form.terms_end[channel]; ++term, c += 1 << Plates) {
        Lanes v;
        value_of<Plates, 2>(c, a, v);
        sum += v * v * form.sign[term];
      }
      xyz[channel] = sum;
    }
  }
}

template <int Plates>
KIRTLE_INLINE void mix_all(const CellForm& form, FormLanes& lanes) {
  for (int from = 0; from < kFormLanes; from += kWide) {
    Lanes a[Plates], xyz[3];
    for (int plate = 0; plate < Plates; ++plate)
      std::memcpy(&a[plate], lanes.share[plate] + from, sizeof(Lanes));
    mix_wide<Plates>(form, a, xyz);
    for (int channel = 0; channel < 3; ++channel)
      std::memcpy(lanes.xyz[channel] + from, &xyz[channel], sizeof(Lanes));
  }
}

KIRTLE_INLINE void mix_by_count(const CellForm& form, FormLanes& lanes) {
  switch (form.plates) {
    case 1:
      return mix_all<1>(form, lanes);
    case 2:
      return mix_all<2>(form, lanes);
    case 3:
      return mix_all<3>(form, lanes);
    case 4:
      return mix_all<4>(form, lanes);
    case 5:
      return mix_all<5>(form, lanes);
    case 6:
      return mix_all<6>(form, lanes);
    case 7:
      return mix_all<7>(form, lanes);
    case 8:
      return mix_all<8>(form, lanes);
    default:
      KIRTLE_CHECK(form.plates, ==, 1);
  }
}

KIRTLE_AVX2 void mix_lanes_avx2(const CellForm& form, FormLanes& lanes) { mix_by_count(form, lanes); }

}  // namespace

CellForm cell_form(int plates, std::span<const double> q) {
  KIRTLE_CHECK(plates, >=, 1);
  KIRTLE_CHECK(plates, <=, kMostFormPlates);
  const std::size_t overprints = std::size_t{1} << plates;
  KIRTLE_CHECK(q.size(), ==, 3 * overprints * (overprints + 1) / 2);
  CellForm form;
  form.plates = plates;
  if (plates <= kMostPolynomial) {
    make_polynomial(plates, q, form);
  } else {
    make_squares(plates, q, form);
  }
  return form;
}

void detail::mix_lanes_anywhere(const CellForm& form, FormLanes& lanes) { mix_by_count(form, lanes); }

void mix_lanes(const CellForm& form, FormLanes& lanes) {
  if (has_avx2()) {
    mix_lanes_avx2(form, lanes);
  } else {
    detail::mix_lanes_anywhere(form, lanes);
  }
}

}  // namespace kirtle
