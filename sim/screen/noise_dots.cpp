#include "screen/noise_dots.h"

#include "base/check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

namespace kirtle {

namespace {

constexpr int kSide = NoiseTile::kSide;
constexpr int kSamples = kSide * kSide;
constexpr int kReach = 9;  // six standard deviations
constexpr double kSigma = 1.5;

/// How crowded each sample is by the points that are set, and which are set.
class Crowd {
 public:
  Crowd() : crowding_(kSamples, 0), set_(kSamples, 0) {
    for (int dy = -kReach; dy <= kReach; ++dy) {
      for (int dx = -kReach; dx <= kReach; ++dx) {
        const double r2 = static_cast<double>(dx * dx + dy * dy);
        weight_[static_cast<std::size_t>((dy + kReach) * (2 * kReach + 1) + dx + kReach)] =
            static_cast<std::int32_t>(std::lround(1e6 * std::exp(-r2 / (2 * kSigma * kSigma))));
      }
    }
  }
  void put(int sample, bool point) {
    set_[sample] = point;
    const int x0 = sample % kSide, y0 = sample / kSide, sign = point ? 1 : -1;
    std::size_t w = 0;
    for (int dy = -kReach; dy <= kReach; ++dy) {
      const int row = (y0 + dy + kSide) % kSide * kSide;
      for (int dx = -kReach; dx <= kReach; ++dx)
        crowding_[row + (x0 + dx + kSide) % kSide] += sign * weight_[w++];
    }
  }
  bool is_set(int sample) const { return set_[sample] != 0; }
  /// The most crowded of the points set; the first of equals.
  int tightest_cluster() const {
    int best = -1;
    for (int i = 0; i < kSamples; ++i)
      if (set_[i] && (best < 0 || crowding_[i] > crowding_[best])) best = i;
    return best;
  }
  /// The least crowded of those not set.
  int largest_void() const {
    int best = -1;
    for (int i = 0; i < kSamples; ++i)
      if (!set_[i] && (best < 0 || crowding_[i] < crowding_[best])) best = i;
    return best;
  }

 private:
  std::array<std::int32_t, (2 * kReach + 1) * (2 * kReach + 1)> weight_{};
  std::vector<std::int32_t> crowding_;
  std::vector<std::uint8_t> set_;
};

}  // namespace

NoiseTile::NoiseTile() : rank_(kSamples) {
  Crowd crowd;
  constexpr int kFirst = kSamples / 10;
  std::uint32_t state = 1;
  for (int n = 0; n < kFirst;) {
    state = state * 1664525u + 1013904223u;  // Numerical Recipes' generator, from memory; any would do
    const int sample = static_cast<int>(state >> 8) % kSamples;
    if (crowd.is_set(sample)) continue;
    crowd.put(sample, true);
    ++n;
  }
  // Points move from clusters to voids until the tightest cluster is where the largest void would be.
  for (;;) {
    const int from = crowd.tightest_cluster();
    crowd.put(from, false);
    const int to = crowd.largest_void();
    crowd.put(to, true);
    if (to == from) break;
  }
  Crowd fewer = crowd;
  for (int rank = kFirst - 1; rank >= 0; --rank) {
    const int sample = fewer.tightest_cluster();
    fewer.put(sample, false);
    rank_[sample] = static_cast<std::uint16_t>(rank);
  }
  // Beyond half, the tightest cluster of what is left is the largest void of what is set: one rule for all.
  for (int rank = kFirst; rank < kSamples; ++rank) {
    const int sample = crowd.largest_void();
    crowd.put(sample, true);
    rank_[sample] = static_cast<std::uint16_t>(rank);
  }
}

const NoiseTile& NoiseTile::instance() {
  static const NoiseTile tile;
  return tile;
}

double NoiseTile::at(int x, int y) const {
  const auto wrapped = [](int i) { return (i % kSide + kSide) % kSide; };
  return (rank_[wrapped(y) * kSide + wrapped(x)] + 0.5) / kSamples;
}

bool noise_inked(double x_mm, double y_mm, double film, Um dot) {
  KIRTLE_CHECK(dot.v, >, 0);
  const double side_mm = to_mm(dot).v;
  return NoiseTile::instance().at(static_cast<int>(std::floor(x_mm / side_mm)),
                                  static_cast<int>(std::floor(y_mm / side_mm))) < film;
}

}  // namespace kirtle
