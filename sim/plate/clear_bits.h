#pragma once
// Where in a plate a contour can start, found 64 pixels at a time: one bit a pixel. Internal to contour.cpp.
#include "base/flags.h"
#include "plate/contour.h"
#include "plate/plate_samples.h"

#include <algorithm>
#include <vector>

namespace kirtle::detail {

/// An edge or a thin line has at most so many fractional pixels across.
constexpr int kLongestAcross = 7;

/// Memory of ClearBits, to be used again.
struct ClearRows {
  std::vector<std::uint64_t> none, solid, clear;
};

/// Which pixels of a box are nothing and which solid ("clear"), with what follows from their neighbours.
template <class Sample>
class ClearBits {
 public:
  /// Of 64 pixels, the lowest bit the leftmost.
  struct Word {
    std::uint64_t fractional = 0;   ///< neither, and few enough such pixels in its row or its column
    std::uint64_t sharp_right = 0;  ///< nothing or solid, with the other to the right
    std::uint64_t sharp_below = 0;  ///< the same with the other below
    std::uint64_t any() const { return fractional | sharp_right | sharp_below; }
  };

  /// The box lies within the plate.
  ClearBits(const PlateSamples<Sample>& plate, const PixelBox& box, ClearRows& memory)
      : words_(static_cast<std::size_t>(box.width + 63) / 64),
        height_(plate.height()),
        none_(memory.none),
        solid_(memory.solid),
        clear_(memory.clear) {
    first_ = std::max(0, box.y0 - kLongestAcross);
    const int end = std::min(height_, box.y0 + box.rows + kLongestAcross);
    const std::size_t rows = static_cast<std::size_t>(end - first_);
    none_.resize(rows * words_);
    solid_.resize(rows * words_);
    clear_.resize(rows * words_);
    const int last = box.width % 64;
    inside_ = last == 0 ? ~std::uint64_t{0} : (std::uint64_t{1} << last) - 1;
    const auto lo = static_cast<Sample>(plate.highest_none()), hi = static_cast<Sample>(plate.least_solid());
    for (int y = first_; y < end; ++y) {
      const Sample* v = plate.pointer_to(box.x0, y);
      for (std::size_t word = 0; word < words_; ++word) {
        const int count = std::min(64, box.width - static_cast<int>(word) * 64);
        const std::size_t at = static_cast<std::size_t>(y - first_) * words_ + word;
        none_[at] = bits(v + word * 64, count, [lo](Sample s) { return s <= lo; });
        solid_[at] = bits(v + word * 64, count, [hi](Sample s) { return s >= hi; });
        clear_[at] = none_[at] | solid_[at];
      }
    }
  }

  std::size_t words() const { return words_; }

  Word look(int y, std::size_t word) const {
    const std::size_t at = static_cast<std::size_t>(y - first_) * words_ + word;
    const bool more = word + 1 < words_;
    const std::uint64_t none = none_[at], solid = solid_[at];
    Word out;
    const std::uint64_t none_right = none >> 1 | (more ? none_[at + 1] << 63 : 0);
    const std::uint64_t solid_right = solid >> 1 | (more ? solid_[at + 1] << 63 : 0);
    out.sharp_right = (none & solid_right) | (solid & none_right);
    if (y + 1 < height_) out.sharp_below = (none & solid_[at + words_]) | (solid & none_[at + words_]);
    const std::uint64_t between = ~(none | solid) & (more ? ~std::uint64_t{0} : inside_);
    if (between != 0) out.fractional = between & (few_in_row(at, word) | few_in_column(y, word));
    return out;
  }

 private:
  template <class Test>
  static std::uint64_t bits(const Sample* v, int count, const Test& test) {
    std::uint64_t out = 0;
    for (int first = 0; first < count; first += 16) {
      std::uint8_t flags[16]{};  // 255 where true
      if (count - first >= 16) {
        for (int i = 0; i < 16; ++i) flags[i] = test(v[first + i]) ? 255 : 0;
      } else {
        for (int i = first; i < count; ++i) flags[i - first] = test(v[i]) ? 255 : 0;
      }
      out |= std::uint64_t{top_bits(flags)} << first;
    }
    return out;
  }

  /// Pixels with a clear one at most i to the left and one at most j to the right, i + j = kLongestAcross
  /// + 1. What lies beyond the box counts as clear.
  std::uint64_t few_in_row(std::size_t at, std::size_t word) const {
    constexpr std::uint64_t kAll = ~std::uint64_t{0};
    const bool more = word + 1 < words_;
    const std::uint64_t here = clear_[at] | (more ? 0 : ~inside_);
    const std::uint64_t before = word > 0 ? clear_[at - 1] : kAll;
    const std::uint64_t after = more ? clear_[at + 1] | (word + 2 < words_ ? 0 : ~inside_) : kAll;
    if (here == 0 && before >> (64 - kLongestAcross) == 0 && after << (64 - kLongestAcross) == 0) return 0;
    std::uint64_t left[kLongestAcross + 1]{}, out = 0, right = 0;
    for (int i = 1; i <= kLongestAcross; ++i) left[i] = left[i - 1] | here << i | before >> (64 - i);
    for (int j = 1; j <= kLongestAcross; ++j) {
      right |= here >> j | after << (64 - j);
      out |= right & left[kLongestAcross + 1 - j];
    }
    return out;
  }

  /// The same up and down; beyond the plate nothing is clear.
  std::uint64_t few_in_column(int y, std::size_t word) const {
    const auto row = [&](int at) {
      return at < 0 || at >= height_ ? 0 : clear_[static_cast<std::size_t>(at - first_) * words_ + word];
    };
    std::uint64_t up[kLongestAcross + 1]{}, out = 0, down = 0;
    for (int i = 1; i <= kLongestAcross; ++i) up[i] = up[i - 1] | row(y - i);
    if (up[kLongestAcross] == 0) return 0;
    for (int j = 1; j <= kLongestAcross; ++j) {
      down |= row(y + j);
      out |= down & up[kLongestAcross + 1 - j];
    }
    return out;
  }

  std::size_t words_;
  int height_, first_ = 0;
  std::uint64_t inside_;  ///< pixels of a row's last word that lie in the box
  std::vector<std::uint64_t>&none_, &solid_, &clear_;
};

}  // namespace kirtle::detail
