// The loop of mix_lanes(), compiled once for any processor and once for AVX2 (cell_form_avx2.cpp); nothing of
// other headers is called here, so that no function of theirs is compiled twice.
#include "print/cell_form.h"

#include <cstring>

namespace kirtle::detail {

namespace {

constexpr int power(int base, int exponent) { return exponent == 0 ? 1 : base * power(base, exponent - 1); }

using Lanes = float __attribute__((vector_size(32)));
constexpr int kWide = 8;
static_assert(kFormLanes % kWide == 0);

/// Value at a[0 .. Plates - 1] of a polynomial.
template <int Plates>
[[gnu::always_inline]] inline void value_of(const float* c, const Lanes* a, Lanes& out) {
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
[[gnu::always_inline]] inline void value_of_many(int plates, const float* c, const Lanes* a, Lanes& out) {
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

[[gnu::always_inline]] inline void mix_all(const float* form, int plates, FormLanes& lanes) {
  for (int from = 0; from < kFormLanes; from += kWide) {
    Lanes a[kMostFormPlates], xyz{};
    for (int plate = 0; plate < plates; ++plate)
      std::memcpy(&a[plate], lanes.share[plate] + from, sizeof(Lanes));
    for (int channel = 0; channel < 3; ++channel) {
      const float* c = form + channel * power(3, plates);
      switch (plates) {
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
          value_of_many(plates, c, a, xyz);
      }
      std::memcpy(lanes.xyz[channel] + from, &xyz, sizeof(Lanes));
    }
  }
}

}  // namespace

}  // namespace kirtle::detail
