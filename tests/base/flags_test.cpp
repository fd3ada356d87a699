#include "base/flags.h"

#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <random>
#include <vector>

namespace kirtle {
namespace {

TEST(Flags, EachThatIsSetOnceAndInOrder) {
  std::mt19937 random(1);
  for (const std::size_t count : {0, 1, 7, 8, 9, 63, 64, 200}) {
    std::vector<std::uint8_t> flags(count);
    std::vector<std::size_t> want, got;
    for (std::size_t i = 0; i < count; ++i) {
      flags[i] = std::array<std::uint8_t, 5>{0, 0, 1, 3, 255}[random() % 5];
      if (flags[i] != 0) want.push_back(i);
    }
    for_each_flag(flags.data(), count, [&](std::size_t i) { got.push_back(i); });
    EXPECT_EQ(got, want);
  }
}

TEST(Flags, TopBitsFromTheFirstByteOn) {
  std::mt19937 random(2);
  for (int i = 0; i < 100; ++i) {
    const std::uint32_t want = random() & 0xFFFF;
    std::uint8_t bytes[16];
    for (int k = 0; k < 16; ++k)
      bytes[k] = static_cast<std::uint8_t>((want >> k & 1) << 7 | (random() & 127));
    EXPECT_EQ(top_bits(bytes), want);
  }
}

TEST(Flags, SixteenComparedOneByOne) {
  std::mt19937 random(3);
  for (int round = 0; round < 200; ++round) {
    std::array<std::uint16_t, 16> a, b;
    std::array<float, 16> v;
    std::uint32_t differ = 0, inside = 0;
    for (std::size_t i = 0; i < 16; ++i) {
      a[i] = static_cast<std::uint16_t>(random());
      b[i] = random() % 3 == 0 ? static_cast<std::uint16_t>(a[i] ^ (1U << (random() % 16))) : a[i];
      v[i] = std::array{0.0F, -0.49F, 0.5F, -0.5F, 0.4999999F, 3.0F, -7.0F}[random() % 7];
      differ |= static_cast<std::uint32_t>(a[i] != b[i]) << i;
      inside |= static_cast<std::uint32_t>(std::abs(v[i]) < 0.5F) << i;
    }
    EXPECT_EQ(differing(a.data(), b.data()), differ);
    EXPECT_EQ(within(v.data(), 0.5F), inside);
  }
}

}  // namespace
}  // namespace kirtle
