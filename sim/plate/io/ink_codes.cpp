#include "plate/io/ink_codes.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <cstring>

namespace kirtle::detail {
namespace {

template <int kBits>
void unpack_bits(const std::uint8_t* packed, int count, std::uint8_t* out) {
  constexpr int kPerByte = 8 / kBits;
  constexpr unsigned kMask = (1u << kBits) - 1;
  int i = 0;
  for (; i + kPerByte <= count; i += kPerByte, ++packed) {
    for (int k = 0; k < kPerByte; ++k)
      out[i + k] = static_cast<std::uint8_t>(*packed >> (8 - kBits - k * kBits) & kMask);
  }
  for (int k = 0; i + k < count; ++k)
    out[i + k] = static_cast<std::uint8_t>(*packed >> (8 - kBits - k * kBits) & kMask);
}

/// memcpy: rows of tiles need not be aligned.
template <class Stored>
void unpack_floats(const void* packed, int count, float* out) {
  const auto* bytes = static_cast<const std::uint8_t*>(packed);
  for (int i = 0; i < count; ++i) {
    Stored v;
    std::memcpy(&v, bytes + static_cast<std::size_t>(i) * sizeof v, sizeof v);
    if constexpr (sizeof v == 2) {
      out[i] = half_to_float(v);
    } else {
      out[i] = static_cast<float>(v);
    }
  }
}

}  // namespace

float half_to_float(std::uint16_t half) {
  const int exponent = half >> 10 & 31;
  const int fraction = half & 1023;
  float v = 0;
  if (exponent == 31) {
    v = fraction != 0 ? NAN : INFINITY;
  } else if (exponent == 0) {
    v = std::ldexp(static_cast<float>(fraction), -24);
  } else {
    v = std::ldexp(static_cast<float>(fraction + 1024), exponent - 25);
  }
  return (half & 0x8000) != 0 ? -v : v;
}

void UnpackedRow::unpack(const void* packed, int count, StoredNumber number) {
  const auto size = static_cast<std::size_t>(count);
  if (number.is_float) {
    float_store_.resize(size);
    if (number.bits == 16) unpack_floats<std::uint16_t>(packed, count, float_store_.data());
    if (number.bits == 32) unpack_floats<float>(packed, count, float_store_.data());
    if (number.bits == 64) unpack_floats<double>(packed, count, float_store_.data());
    floats_ = float_store_.data();
    return;
  }
  if (number.bits == 16) {
    words_ = static_cast<const std::uint16_t*>(packed);
    return;
  }
  bytes_ = static_cast<const std::uint8_t*>(packed);
  if (number.bits == 8) return;
  byte_store_.resize(size);
  if (number.bits == 1) unpack_bits<1>(bytes_, count, byte_store_.data());
  if (number.bits == 2) unpack_bits<2>(bytes_, count, byte_store_.data());
  if (number.bits == 4) unpack_bits<4>(bytes_, count, byte_store_.data());
  bytes_ = byte_store_.data();
}

InkCodes::InkCodes(StoredNumber number, double none, double solid,
                   const std::vector<std::array<std::uint8_t, 3>>& palette)
    : none_(none), solid_(solid), has_palette_(!palette.empty()) {
  KIRTLE_CHECK(none, !=, solid);
  const double top = number.top();
  same_ = none == 0 && solid == top && !number.is_float && (number.bits == 8 || number.bits == 16);
  if (number.is_float) return;
  const auto share = [&](double v) { return std::clamp((v - none) / (solid - none), 0.0, 1.0); };
  if (number.plate_bits() == 8) {
    for (std::size_t v = 0; v < byte_table_.size(); ++v) {
      double stored = static_cast<double>(v);
      if (has_palette_) stored = v < palette.size() ? palette[v][0] : 0;
      byte_table_[v] = static_cast<std::uint8_t>(std::lround(255 * share(stored)));
    }
    return;
  }
  if (none == 0 && solid == top) return;
  if (none == top && solid == 0) {
    flip_ = 0xffff;
    return;
  }
  word_table_.resize(65536);
  for (std::size_t v = 0; v < word_table_.size(); ++v)
    word_table_[v] = static_cast<std::uint16_t>(std::lround(65535 * share(static_cast<double>(v))));
}

std::uint16_t InkCodes::of(float v) const {
  const double share = std::clamp((static_cast<double>(v) - none_) / (solid_ - none_), 0.0, 1.0);
  return static_cast<std::uint16_t>(share * 65535 + 0.5);
}

}  // namespace kirtle::detail
