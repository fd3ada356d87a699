#pragma once
// A generator whose numbers are the same everywhere (std distributions differ between standard libraries).
// Source: SplitMix64, Steele, Lea, Flood 2014, doi:10.1145/2660193.2660195.
#include <cstdint>

namespace kirtle::test {

class RandomNumbers {
 public:
  explicit RandomNumbers(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
  }
  double between(double low, double high) {
    return low + (high - low) * (static_cast<double>(next() >> 11) * 0x1p-53);
  }

 private:
  std::uint64_t state_;
};

}  // namespace kirtle::test
