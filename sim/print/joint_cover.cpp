#include "print/joint_cover.h"

#include "base/check.h"
#include "screen/threshold.h"

#include <algorithm>
#include <array>
#include <bit>
#include <numeric>

namespace kirtle {

namespace {

constexpr std::size_t kMostPlates = 12;

/// Splits the samples in `mask` by each plate in turn and counts those that end in each overprint.
template <std::size_t Words>
void count_overprints(const std::array<std::uint64_t, Words>& mask,
                      std::span<const std::uint64_t* const> inked, std::size_t state, std::span<double> out) {
  if (inked.empty()) {
    int n = 0;
    for (const std::uint64_t word : mask) n += std::popcount(word);
    out[state] += n;
    return;
  }
  std::array<std::uint64_t, Words> with, without;
  bool any_with = false, any_without = false;
  const std::size_t plate = inked.size() - 1;
  for (std::size_t i = 0; i < Words; ++i) {
    with[i] = mask[i] & inked[plate][i];
    without[i] = mask[i] & ~inked[plate][i];
    any_with = any_with || with[i] != 0;
    any_without = any_without || without[i] != 0;
  }
  if (any_with) count_overprints(with, inked.first(plate), state | std::size_t{1} << plate, out);
  if (any_without) count_overprints(without, inked.first(plate), state, out);
}

}  // namespace

JointCover::JointCover(DotShape shape, std::span<const DotShift> shifts) {
  KIRTLE_CHECK(shifts.size(), <=, kMostPlates);
  std::vector<double> threshold(kSamples);
  for (const DotShift& shift : shifts) {
    const auto same = std::find(shifts.begin(), shifts.end(), shift) - shifts.begin();
    if (static_cast<std::size_t>(same) < plates_.size()) {
      plates_.push_back(plates_[static_cast<std::size_t>(same)]);
      continue;
    }
    for (int i = 0; i < kSamples; ++i) {
      threshold[i] =
          dot_threshold(shape, (i % kSide + 0.5) / kSide - shift.u, (i / kSide + 0.5) / kSide - shift.v);
    }
    Plate plate;
    plate.order.resize(kSamples);
    std::iota(plate.order.begin(), plate.order.end(), std::uint16_t{0});
    // Ties by index, so that the order is the same with every sort.
    std::sort(plate.order.begin(), plate.order.end(), [&](std::uint16_t a, std::uint16_t b) {
      return threshold[a] != threshold[b] ? threshold[a] < threshold[b] : a < b;
    });
    plate.rank.resize(kSamples);
    plate.inked.assign(static_cast<std::size_t>(kSamples + 1) * kWords, 0);
    for (int level = 0; level < kSamples; ++level) {
      const std::uint16_t sample = plate.order[level];
      plate.rank[sample] = static_cast<std::uint16_t>(level);
      std::uint64_t* here = plate.inked.data() + static_cast<std::size_t>(level) * kWords;
      std::copy_n(here, kWords, here + kWords);
      here[kWords + sample / 64] |= std::uint64_t{1} << sample % 64;
    }
    plates_.push_back(std::move(plate));
  }
}

void JointCover::weights(std::span<const int> plates, std::span<const double> coverage,
                         std::span<double> out) const {
  const std::size_t n = plates.size();
  KIRTLE_CHECK(n, <=, kMostPlates);
  KIRTLE_CHECK(coverage.size(), ==, n);
  KIRTLE_CHECK(out.size(), ==, std::size_t{1} << n);
  std::array<int, kMostPlates> level{};
  std::array<double, kMostPlates> part{};
  std::array<const std::uint64_t*, kMostPlates> inked{};
  std::array<std::uint64_t, kWords> whole;
  whole.fill(~std::uint64_t{0});
  std::array<int, kMostPlates> cut{};  // samples that some plate inks in part
  std::size_t cuts = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Plate& plate = plates_[plates[i]];
    const double at = std::clamp(coverage[i], 0.0, 1.0) * kSamples;
    level[i] = std::min(static_cast<int>(at), kSamples);
    part[i] = at - level[i];
    inked[i] = plate.inked.data() + static_cast<std::size_t>(level[i]) * kWords;
    if (!(part[i] > 0)) continue;
    const int sample = plate.order[level[i]];
    if (std::find(cut.begin(), cut.begin() + cuts, sample) == cut.begin() + cuts) cut[cuts++] = sample;
    whole[sample / 64] &= ~(std::uint64_t{1} << sample % 64);
  }
  std::fill(out.begin(), out.end(), 0.0);
  count_overprints(whole, std::span<const std::uint64_t* const>(inked.data(), n), 0, out);
  for (std::size_t c = 0; c < cuts; ++c) {
    // Largest share first: the smaller lie within it.
    std::array<double, kMostPlates> share{};
    std::array<std::size_t, kMostPlates> largest_first{};
    for (std::size_t i = 0; i < n; ++i) {
      const int rank = plates_[plates[i]].rank[cut[c]];
      share[i] = rank < level[i] ? 1.0 : rank == level[i] ? part[i] : 0.0;
      std::size_t at = i;
      for (; at > 0 && share[largest_first[at - 1]] < share[i]; --at)
        largest_first[at] = largest_first[at - 1];
      largest_first[at] = i;
    }
    double above = 1;
    std::size_t state = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t plate = largest_first[i];
      out[state] += above - share[plate];
      above = share[plate];
      state |= std::size_t{1} << plate;
    }
    out[state] += above;
  }
  for (double& w : out) w /= kSamples;
}

}  // namespace kirtle
