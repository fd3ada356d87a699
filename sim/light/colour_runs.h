#pragma once
// Rows of colours, given where they change.
#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>

namespace kirtle {

/// Colours of `rows` rows of `width` pixels, each given where it begins; pixels in between may hold anything.
struct ColourRuns {
  int width = 0, rows = 0;
  std::span<float> xyz;             ///< X, Y, Z of each pixel
  std::span<std::uint64_t> begins;  ///< words() a row; bit i of word w: a colour begins at pixel 64 w + i

  static std::size_t words(int width) { return static_cast<std::size_t>(width + 63) / 64; }
  std::size_t words() const { return words(width); }

  /// work(pixel) for each at which a colour begins, row by row.
  template <class Work>
  void for_each_begin(const Work& work) const {
    for (std::size_t row = 0; row < static_cast<std::size_t>(rows); ++row) {
      for (std::size_t word = 0; word < words(); ++word) {
        const std::size_t first = row * static_cast<std::size_t>(width) + 64 * word;
        for (std::uint64_t rest = begins[row * words() + word]; rest != 0; rest &= rest - 1)
          work(first + static_cast<std::size_t>(std::countr_zero(rest)));
      }
    }
  }

  /// Gives every pixel its colour.
  void fill() const {
    std::size_t from = 0;
    const auto fill_to = [&](std::size_t end) {
      for (std::size_t i = from + 1; i < end; ++i) std::copy_n(&xyz[3 * from], 3, &xyz[3 * i]);
      from = end;
    };
    for_each_begin(fill_to);
    fill_to(static_cast<std::size_t>(rows) * static_cast<std::size_t>(width));
  }
};

}  // namespace kirtle
