#pragma once
// What the headers say of one picture in a file, PNG or TIFF alike, and which plates it holds. Internal to
// plate/io.
#include "plate/io/plate_file.h"

#include <array>
#include <cstdint>
#include <vector>

namespace kirtle::detail {

/// How one number is stored: whole, 1, 2, 4, 8 or 16 bit; or floating point, 16, 32 or 64 bit.
struct StoredNumber {
  int bits = 8;
  bool is_float = false;
  /// The number of full code; 1 for floating point.
  double top() const { return is_float ? 1 : (1 << bits) - 1; }
  /// Bits of a plate in memory that hold these numbers.
  int plate_bits() const { return bits <= 8 ? 8 : 16; }
};

/// One plate of a page: where it lies and which stored numbers mean none and solid.
struct PagePlate {
  PlateEntry entry;
  bool rgb = false;            ///< this sample and the next two must be equal
  bool white_is_zero = false;  ///< of a grey: its numbers grow with darkness (MinIsWhite)
  double none = 0, solid = 1;  ///< of a spot or separated sample. For a grey the polarity decides
};

struct PlatePage {
  int width = 0, height = 0;
  double ppi = 0;
  StoredNumber number;
  int samples = 1;                                   ///< a pixel
  bool planar = false;                               ///< one sample of all pixels after the other
  std::vector<PagePlate> plates;                     ///< may be empty: a thumbnail, say
  std::vector<int> alphas;                           ///< samples that say see-through; ignored
  std::vector<std::array<std::uint8_t, 3>> palette;  ///< what the numbers stand for, if not empty

  /// Rows of the one can be taken for rows of the other.
  bool same_shape(const PlatePage& other) const {
    return width == other.width && height == other.height && number.bits == other.number.bits &&
           number.is_float == other.number.is_float && samples == other.samples && planar == other.planar;
  }
};

/// The entry of a plate with what the page says of all of them.
inline PlateEntry entry_of(const PlatePage& page, int page_number, int sample, SampleKind kind) {
  PlateEntry entry;
  entry.page = page_number;
  entry.sample = sample;
  entry.kind = kind;
  entry.width = page.width;
  entry.height = page.height;
  entry.bits = page.number.bits;
  entry.is_float = page.number.is_float;
  entry.ppi = page.ppi;
  return entry;
}

}  // namespace kirtle::detail
