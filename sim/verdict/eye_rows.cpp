#include "verdict/eye_rows.h"

#include "base/simd.h"
#include "verdict/eye_difference.h"

#include <cmath>

namespace kirtle {

namespace {

template <int kCount>
KIRTLE_WIDE void add(const Columns& columns, int y, float* __restrict to) {
  std::array<float, kCount> sum{};
  const float* middle = columns.row(y);
  for (int x = 0; x < kCount; ++x) sum[x] = to[x] + columns.weight * columns.kernel[0] * middle[x];
  for (int k = 1; k <= columns.half; ++k) {
    const float w = columns.weight * columns.kernel[k];
    const float *above = columns.row(y - k), *below = columns.row(y + k);
    for (int x = 0; x < kCount; ++x) sum[x] += w * (above[x] + below[x]);
  }
  for (int x = 0; x < kCount; ++x) to[x] = sum[x];
}

}  // namespace

KIRTLE_WIDE void blur_row(const float* __restrict centre, const float* __restrict kernel, int half, int count,
                          float* __restrict to) {
  for (int i = 0; i < count; ++i) to[i] = kernel[0] * centre[i];
  for (int k = 1; k <= half; ++k) {
    const float w = kernel[k];
    for (int i = 0; i < count; ++i) to[i] += w * (centre[i - k] + centre[i + k]);
  }
}

void add_columns(const Columns& columns, int y, int count, float* to) {
  if (count == kEyeTile) {
    add<kEyeTile>(columns, y, to);
  } else {
    for (int x = 0; x < count; ++x) add<1>(columns.from(x), y, to + x);
  }
}

KIRTLE_WIDE void small_differences(const std::array<const float*, 6>& metric,
                                   const std::array<const float*, 3>& change, int count,
                                   float* __restrict de) {
  const auto [m0, m1, m2, m3, m4, m5] = metric;
  const auto [c0, c1, c2] = change;
  for (int i = 0; i < count; ++i) {
    const float p = c0[i], q = c1[i], r = c2[i];
    const float squared =
        m0[i] * p * p + m1[i] * q * q + m2[i] * r * r + m3[i] * p * q + m4[i] * p * r + m5[i] * q * r;
    de[i] = std::sqrt(std::max(squared, 0.0F));
  }
}

}  // namespace kirtle
