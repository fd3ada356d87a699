#pragma once
// Rows of pixels that an EyeDifference goes through, laid side by side in registers.
#include <algorithm>
#include <array>
#include <cstddef>

namespace kirtle {

/// One row blurred: `count` pixels from the centre on, with `half` more on either side. kernel: half of it,
/// centre first.
void blur_row(const float* centre, const float* kernel, int half, int count, float* to);

/// A plane blurred down its columns.
struct Columns {
  const float* top;  ///< of the first column
  int stride, height;
  const float* kernel;
  int half;
  float weight;
  Columns from(int x) const { return {top + x, stride, height, kernel, half, weight}; }
  const float* row(int y) const {
    return top + static_cast<std::ptrdiff_t>(std::clamp(y, 0, height - 1)) * stride;
  }
};

/// Adds one pixel each, in row y, of `count` columns.
void add_columns(const Columns& columns, int y, int count, float* to);

/// dE00 of small changes of one row of pixels, by the quadratic form of each: the squares of the three
/// channels, then the products of first and second, first and third, second and third.
void small_differences(const std::array<const float*, 6>& metric, const std::array<const float*, 3>& change,
                       int count, float* de);

}  // namespace kirtle
