#pragma once
// Bytes that say yes or no, one a pixel.
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace kirtle {

/// Calls work(i) for every i < count with flags[i] != 0, rising. Best where most are 0.
template <class Work>
void for_each_flag(const std::uint8_t* flags, std::size_t count, const Work& work) {
  static_assert(std::endian::native == std::endian::little);
  std::size_t i = 0;
  for (; i + 8 <= count; i += 8) {
    std::uint64_t eight = 0;
    std::memcpy(&eight, flags + i, 8);
    while (eight != 0) {
      const int byte = std::countr_zero(eight) / 8;
      work(i + static_cast<std::size_t>(byte));
      eight &= ~(0xFFull << 8 * byte);
    }
  }
  for (; i < count; ++i) {
    if (flags[i] != 0) work(i);
  }
}

/// The top bits of 64 bytes, the first byte's lowest.
inline std::uint64_t top_bits(const std::uint8_t (&bytes)[64]) {
  std::uint64_t out = 0;
#ifdef __SSE2__
  for (int i = 0; i < 4; ++i) {
    char lanes __attribute__((vector_size(16)));
    std::memcpy(&lanes, bytes + 16 * i, sizeof lanes);
    out |= static_cast<std::uint64_t>(static_cast<std::uint32_t>(__builtin_ia32_pmovmskb128(lanes)))
           << (16 * i);
  }
#else
  for (int i = 0; i < 64; ++i) out |= static_cast<std::uint64_t>(bytes[i] >> 7) << i;
#endif
  return out;
}

}  // namespace kirtle
