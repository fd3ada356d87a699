#pragma once
// Seeded values for property tests; the generator's output is fixed by the C++ standard, unlike its
// distributions.
#include <cmath>
#include <cstdint>
#include <random>

namespace kirtle::test {

class RandomValues {
 public:
  explicit RandomValues(std::uint32_t seed) : engine_(seed) {}
  /// Evenly in low..high.
  double even(double low, double high) {
    return low + (high - low) * (static_cast<double>(engine_()) / 4294967295.0);
  }
  /// Evenly in the logarithm, or exactly 0 one time in eight.
  double log_or_zero(double low, double high) {
    return engine_() % 8 == 0 ? 0 : low * std::pow(high / low, even(0, 1));
  }

 private:
  std::mt19937 engine_;
};

}  // namespace kirtle::test
