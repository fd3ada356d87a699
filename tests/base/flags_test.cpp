#include "base/flags.h"

#include <array>
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
    const std::uint64_t want = static_cast<std::uint64_t>(random()) << 32 | random();
    std::uint8_t bytes[64];
    for (int k = 0; k < 64; ++k)
      bytes[k] = static_cast<std::uint8_t>((want >> k & 1) << 7 | (random() & 127));
    EXPECT_EQ(top_bits(bytes), want);
  }
}

}  // namespace
}  // namespace kirtle
