#include "screen/noise_print.h"

#include "base/check.h"
#include "screen/noise_dots.h"
#include "screen/threshold.h"
#include "screen/tone.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <mutex>
#include <numeric>

namespace kirtle {

namespace {

constexpr int kSide = NoiseTile::kSide;
constexpr int kSamples = kSide * kSide;
constexpr std::uint32_t kDotSeed = 0xB5297A4Du, kHoleSeed = 0x68E31DA4u;

int wrapped(int i) { return (i % kSide + kSide) % kSide; }

/// Clusters of dots (or of holes) as they grow one sample after the other, and since when each sample is
/// held.
class Clusters {
 public:
  Clusters(double dot_over_limit, std::uint32_t seed)
      : dot_over_limit_(dot_over_limit), seed_(seed), parent_(kSamples, -1), cluster_(kSamples) {}

  /// Adds a sample; whatever is held from now on gets `step` in `since`.
  void add(int sample, int step, std::vector<int>& since) {
    parent_[sample] = sample;
    cluster_[sample] = {1, false, dot_chance(sample % kSide, sample / kSide, seed_), step, {sample}};
    const int x = sample % kSide, y = sample / kSide;
    for (const auto& [dx, dy] : {std::pair{1, 0}, std::pair{-1, 0}, std::pair{0, 1}, std::pair{0, -1}}) {
      const int other = wrapped(y + dy) * kSide + wrapped(x + dx);
      if (parent_[other] >= 0) join(sample, other);
    }
    Cluster& c = cluster_[root(sample)];
    c.held = c.held || c.chance < held_share_of_area(c.size * dot_over_limit_);
    if (!c.held) return;
    for (const int waiting : c.waiting) since[waiting] = step;
    c.waiting.clear();
  }

 private:
  struct Cluster {
    int size = 0;
    bool held = false;
    double chance = 0;  ///< of its first sample
    int first = 0;      ///< when that came
    std::vector<int> waiting;
  };
  int root(int sample) {
    while (parent_[sample] != sample) sample = parent_[sample] = parent_[parent_[sample]];
    return sample;
  }
  void join(int a, int b) {
    a = root(a);
    b = root(b);
    if (a == b) return;
    if (cluster_[a].size < cluster_[b].size) std::swap(a, b);
    Cluster &to = cluster_[a], &from = cluster_[b];
    parent_[b] = a;
    to.size += from.size;
    to.held = to.held || from.held;
    if (from.first < to.first) {
      to.first = from.first;
      to.chance = from.chance;
    }
    to.waiting.insert(to.waiting.end(), from.waiting.begin(), from.waiting.end());
    from.waiting.clear();
  }

  double dot_over_limit_;
  std::uint32_t seed_;
  std::vector<int> parent_;
  std::vector<Cluster> cluster_;
};

/// How far a point within a dot (0..1) lies from the dot `cells` further, along one axis.
double gap(double at, int cells) { return cells > 0 ? cells - at : cells < 0 ? at - (cells + 1) : 0; }

}  // namespace

NoisePrint::NoisePrint(Um dot, Um spread, Um smallest_dot) : rank_(kSamples) {
  KIRTLE_CHECK(dot.v, >, 0);
  KIRTLE_CHECK(smallest_dot.v, >=, 0);
  side_mm_ = to_mm(dot).v;
  spread_ = spread.v / dot.v;
  reach_ = static_cast<int>(std::ceil(std::abs(spread_)));
  const NoiseTile& tile = NoiseTile::instance();
  for (int i = 0; i < kSamples; ++i)
    rank_[i] = static_cast<std::uint16_t>(std::lround(tile.at(i % kSide, i / kSide) * kSamples - 0.5));
  if (smallest_dot.v > 0) lose_and_fill(dot, smallest_dot);
  count();
}

int NoisePrint::rank(int x, int y) const { return rank_[wrapped(y) * kSide + wrapped(x)]; }

Mm NoisePrint::tile() const { return {kSide * side_mm_}; }

void NoisePrint::lose_and_fill(Um dot, Um smallest_dot) {
  const double over = dot.v * dot.v / (std::acos(-1.0) / 4 * smallest_dot.v * smallest_dot.v);
  std::vector<int> order(kSamples), held_from(kSamples, kSamples - 1), open_to(kSamples, 0);
  for (int i = 0; i < kSamples; ++i) order[rank_[i]] = i;
  Clusters dots(over, kDotSeed), holes(over, kHoleSeed);
  for (int r = 0; r < kSamples; ++r) dots.add(order[r], r, held_from);
  std::vector<int> since(kSamples, kSamples - 1);  // counted from the darkest tone
  for (int r = kSamples - 1; r >= 0; --r) holes.add(order[r], kSamples - 1 - r, since);
  for (int i = 0; i < kSamples; ++i) {
    open_to[i] = kSamples - 1 - since[i];
    const int own = rank_[i];
    const bool late = held_from[i] > own, early = open_to[i] < own;
    // Both: a dot so small that neither it nor the hole holds; the nearer end of the scale decides.
    if (late && (!early || own < kSamples / 2)) {
      rank_[i] = static_cast<std::uint16_t>(held_from[i]);
    } else if (early) {
      rank_[i] = static_cast<std::uint16_t>(open_to[i]);
    }
  }
}

void NoisePrint::count() {
  // Points of a dot, evenly scattered so that no row of them runs along an edge (steps of the plastic number,
  // Roberts 2018, from memory), and for each the neighbours within reach; fewer where many dots are.
  const int points = reach_ <= 1 ? 256 : reach_ <= 3 ? 64 : 16;
  std::vector<double> inked_from(kSamples + 1, 0.0);  // by rank
  for (int k = 0; k < points; ++k) {
    const double px = std::fmod(0.5 + k * 0.7548776662466927, 1),
                 py = std::fmod(0.5 + k * 0.5698402909980532, 1);
    std::vector<std::array<int, 2>> near;
    for (int dy = -reach_; dy <= reach_; ++dy) {
      for (int dx = -reach_; dx <= reach_; ++dx)
        if (std::hypot(gap(px, dx), gap(py, dy)) <= std::abs(spread_)) near.push_back({dx, dy});
    }
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) {
        int r = rank(x, y);
        for (const auto& [dx, dy] : near) {
          const int other = rank(x + dx, y + dy);
          r = spread_ >= 0 ? std::min(r, other) : std::max(r, other);
        }
        inked_from[static_cast<std::size_t>(r) + 1] += 1;
      }
    }
  }
  printed_.resize(inked_from.size());
  std::partial_sum(inked_from.begin(), inked_from.end(), printed_.begin());
  for (double& p : printed_) p /= static_cast<double>(points) * kSamples;
}

double NoisePrint::printed(double film) const {
  if (!(film > 0)) return 0;
  if (film >= 1) return 1;
  const double at = film * kSamples;
  const auto i = static_cast<std::size_t>(at);
  return printed_[i] + (printed_[i + 1] - printed_[i]) * (at - static_cast<double>(i));
}

bool NoisePrint::inked(double x_mm, double y_mm, double film) const {
  if (!(film > 0)) return false;
  if (film >= 1) return true;
  const double x = x_mm / side_mm_, y = y_mm / side_mm_, level = film * kSamples - 0.5;
  const int cx = static_cast<int>(std::floor(x)), cy = static_cast<int>(std::floor(y));
  const double fx = x - cx, fy = y - cy;
  const bool outward = spread_ >= 0;
  const auto is_dot = [&](int dx, int dy) { return rank(cx + dx, cy + dy) < level; };
  if (is_dot(0, 0) == outward) return outward;
  for (int dy = -reach_; dy <= reach_; ++dy) {
    for (int dx = -reach_; dx <= reach_; ++dx) {
      if (std::hypot(gap(fx, dx), gap(fy, dy)) <= std::abs(spread_) && is_dot(dx, dy) == outward)
        return outward;
    }
  }
  return !outward;
}

std::shared_ptr<const NoisePrint> noise_print(Um dot, Um spread, Um smallest_dot) {
  static std::mutex mutex;
  static std::map<std::array<double, 3>, std::shared_ptr<const NoisePrint>> made;
  const std::lock_guard lock(mutex);
  std::shared_ptr<const NoisePrint>& print = made[{dot.v, spread.v, smallest_dot.v}];
  if (!print) print = std::make_shared<NoisePrint>(dot, spread, smallest_dot);
  return print;
}

}  // namespace kirtle
