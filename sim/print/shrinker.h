#pragma once
// Rows of colours made smaller by area means, as they come.
#include "print/renderer.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

namespace kirtle {

inline XYZ to_double(const XYZf& c) {
  return {static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)};
}
inline XYZf to_float(const XYZ& c) {
  return {static_cast<float>(c.x), static_cast<float>(c.y), static_cast<float>(c.z)};
}

/// Area means of plate rows into smaller rows, top down.
class Shrinker {
 public:
  Shrinker(int width_in, int height_in, int width_out, int height_out)
      : width_in_(width_in),
        height_in_(height_in),
        width_out_(width_out),
        height_out_(height_out),
        tall_(3 * static_cast<std::size_t>(width_in)),
        sum_(static_cast<std::size_t>(width_out)) {}

  /// Adds one plate row; calls done(row) whenever an output row is complete.
  template <class Done>
  void add(std::span<const XYZf> row, const Done& done) {
    const double per_row =
        static_cast<double>(height_out_) / height_in_;  // output rows a plate row covers, <= 1
    double from = y_in_ * per_row;
    ++y_in_;
    const double to = y_in_ * per_row;
    while (y_out_ < height_out_) {
      const double end = std::min(to, y_out_ + 1.0), share = end - from;
      const float* in = &row.data()->x;
      for (std::size_t i = 0; i < tall_.size(); ++i) tall_[i] += static_cast<double>(in[i]) * share;
      const bool last = y_in_ == height_in_ && y_out_ == height_out_ - 1;
      if (!last && to < y_out_ + 1.0 - 1e-9) return;
      narrow();
      done(sum_);
      std::fill(tall_.begin(), tall_.end(), 0.0);
      ++y_out_;
      from = end;
      if (to - from < 1e-9) return;
    }
  }

 private:
  /// From tall_ into sum_.
  void narrow() {
    const double per_pixel = static_cast<double>(width_in_) / width_out_;
    for (int x = 0; x < width_out_; ++x) {
      const double from = x * per_pixel, to = (x + 1) * per_pixel;
      const int first = static_cast<int>(from), last = std::min(static_cast<int>(std::ceil(to)), width_in_);
      XYZ sum;
      for (int i = first; i < last; ++i) {
        const double share = (std::min(to, i + 1.0) - std::max(from, static_cast<double>(i))) / per_pixel;
        const double* c = tall_.data() + 3 * static_cast<std::size_t>(i);
        sum += XYZ{c[0], c[1], c[2]} * share;
      }
      sum_[static_cast<std::size_t>(x)] = sum;
    }
  }

  int width_in_, height_in_, width_out_, height_out_;
  int y_in_ = 0, y_out_ = 0;
  std::vector<double> tall_;  ///< of the output row at work, at plate width
  std::vector<XYZ> sum_;
};

}  // namespace kirtle
