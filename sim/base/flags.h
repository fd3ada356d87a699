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

/// The top bits of sixteen bytes, the first byte's lowest.
inline std::uint32_t top_bits(const std::uint8_t (&bytes)[16]) {
#ifdef __SSE2__
  char lanes __attribute__((vector_size(16)));
  std::memcpy(&lanes, bytes, sizeof lanes);
  return static_cast<std::uint32_t>(__builtin_ia32_pmovmskb128(lanes));
#else
  std::uint32_t out = 0;
  for (int i = 0; i < 16; ++i) out |= static_cast<std::uint32_t>(bytes[i] >> 7) << i;
  return out;
#endif
}

/// Of sixteen neighbours, the first in the lowest bit: where a differs from b.
inline std::uint32_t differing(const std::uint16_t* a, const std::uint16_t* b) {
#ifdef __SSE2__
  using Lanes = std::int16_t __attribute__((vector_size(16)));
  using Bytes = char __attribute__((vector_size(16)));
  Lanes a0, a1, b0, b1;
  std::memcpy(&a0, a, sizeof a0);
  std::memcpy(&a1, a + 8, sizeof a1);
  std::memcpy(&b0, b, sizeof b0);
  std::memcpy(&b1, b + 8, sizeof b1);
  const Bytes packed = std::bit_cast<Bytes>(__builtin_ia32_packsswb128(a0 != b0, a1 != b1));
  return static_cast<std::uint32_t>(__builtin_ia32_pmovmskb128(packed));
#else
  std::uint32_t out = 0;
  for (int i = 0; i < 16; ++i) out |= static_cast<std::uint32_t>(a[i] != b[i]) << i;
  return out;
#endif
}

/// The same: where v lies between -limit and limit.
inline std::uint32_t within(const float* v, float limit) {
  std::uint32_t out = 0;
#ifdef __SSE2__
  using Lanes = float __attribute__((vector_size(16)));
  for (int i = 0; i < 16; i += 4) {
    Lanes lanes;
    std::memcpy(&lanes, v + i, sizeof lanes);
    const auto inside = (lanes < limit) & (lanes > -limit);
    out |= static_cast<std::uint32_t>(__builtin_ia32_movmskps(std::bit_cast<Lanes>(inside))) << i;
  }
#else
  for (int i = 0; i < 16; ++i) out |= static_cast<std::uint32_t>(v[i] < limit && v[i] > -limit) << i;
#endif
  return out;
}

}  // namespace kirtle
