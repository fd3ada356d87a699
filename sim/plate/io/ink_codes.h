#pragma once
// Stored numbers become ink codes: 0..255 for numbers of up to 8 bit, else 0..65535. Internal to plate/io.
#include "plate/io/plate_page.h"

namespace kirtle::detail {

/// Samples in a form that can be indexed: bytes for up to 8 bit, 16 bit, or float. Numbers that are stored
/// so are not copied.
class UnpackedRow {
 public:
  /// `count` samples, packed as files pack them: most significant bit first, no gap between samples; 16 bit
  /// and more in this machine's order.
  void unpack(const void* packed, int count, StoredNumber number);

  const std::uint8_t* bytes() const { return bytes_; }
  const std::uint16_t* words() const { return words_; }
  const float* floats() const { return floats_; }

 private:
  std::vector<std::uint8_t> byte_store_;
  std::vector<float> float_store_;
  const std::uint8_t* bytes_ = nullptr;
  const std::uint16_t* words_ = nullptr;
  const float* floats_ = nullptr;
};

/// ink = full code x (v - none) / (solid - none), held to 0..full code and rounded.
class InkCodes {
 public:
  /// `none`, `solid`: different stored numbers. A palette's grey stands for the number if it is not empty;
  /// none and solid then are greys, 0 or 255.
  InkCodes(StoredNumber number, double none, double solid,
           const std::vector<std::array<std::uint8_t, 3>>& palette);

  std::uint8_t of(std::uint8_t v) const { return byte_table_[v]; }
  std::uint16_t of(std::uint16_t v) const {
    return word_table_.empty() ? static_cast<std::uint16_t>(v ^ flip_) : word_table_[v];
  }
  /// v within 0..1.
  std::uint16_t of(float v) const;

  bool same() const { return word_table_.empty() && flip_ == 0 && !has_palette_ && same_; }

 private:
  double none_, solid_;
  bool same_ = false;  ///< stored number = ink code
  bool has_palette_ = false;
  std::array<std::uint8_t, 256> byte_table_{};
  std::vector<std::uint16_t> word_table_;  ///< empty: v ^ flip_
  std::uint16_t flip_ = 0;
};

/// IEEE 754 binary16.
float half_to_float(std::uint16_t half);

}  // namespace kirtle::detail
