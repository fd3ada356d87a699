#pragma once
// Bytes that are 0 or 1, one a pixel, most of them 0.
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace kirtle {

/// Calls work(i) for every i < count with flags[i] == 1, rising.
template <class Work>
void for_each_flag(const std::uint8_t* flags, std::size_t count, const Work& work) {
  static_assert(std::endian::native == std::endian::little);
  std::size_t i = 0;
  for (; i + 8 <= count; i += 8) {
    std::uint64_t eight = 0;
    std::memcpy(&eight, flags + i, 8);
    for (; eight != 0; eight &= eight - 1) work(i + static_cast<std::size_t>(std::countr_zero(eight)) / 8);
  }
  for (; i < count; ++i) {
    if (flags[i] != 0) work(i);
  }
}

}  // namespace kirtle
