#include "print/mixer.h"

#include "print/shrinker.h"

#include <algorithm>
#include <bit>
#include <cstring>

namespace kirtle {

namespace {
constexpr std::size_t kSlots = std::size_t{1} << 15;
}  // namespace

Mixer::Mixer(const OverprintTable& table)
    : table_(table),
      plates_(static_cast<std::size_t>(table.plates())),
      keys_(kSlots * plates_),
      values_(kSlots),
      used_(kSlots),
      shares_(plates_) {
  std::array<std::uint16_t, kMostPlates> groups{};
  for (int i = 0; i < table.plates(); ++i) {
    levels_.push_back(table.levels(i).size() > 2 ? &table.levels(i) : nullptr);
    if (table.screen_group(i) >= 0) groups[table.screen_group(i)] |= static_cast<std::uint16_t>(1u << i);
  }
  std::copy_if(groups.begin(), groups.end(), std::back_inserter(same_screen_),
               [](std::uint16_t g) { return g != 0; });
}

XYZf Mixer::mix(const std::uint16_t* cover) {
  std::uint64_t h = 0;
  for (std::size_t i = 0; i < plates_; ++i) h = (h ^ cover[i]) * 0x9E3779B97F4A7C15ull;
  const std::size_t slot = h >> 49;
  static_assert(kSlots == std::size_t{1} << 15);
  std::uint16_t* key = keys_.data() + slot * plates_;
  if (used_[slot] && std::memcmp(key, cover, plates_ * sizeof *key) == 0) return values_[slot];
  for (std::size_t i = 0; i < plates_; ++i) shares_[i] = cover[i] / 65535.0;
  used_[slot] = 1;
  std::copy_n(cover, plates_, key);
  return values_[slot] = to_float(table_.mix(shares_));
}

/// The tuple's cell, its shares in lane_; none if the cell has no form.
std::optional<CellKey> Mixer::cell_of(const std::uint16_t* cover) {
  if (!table_.pair_form()) return std::nullopt;
  CellKey key;
  int count = 0;
  for (std::size_t i = 0; i < plates_; ++i) {
    double share = cover[i] / 65535.0;
    if (levels_[i] != nullptr) {
      const std::vector<double>& levels = *levels_[i];
      const auto above = std::upper_bound(levels.begin(), levels.end(), share);
      const auto lower = static_cast<std::size_t>(above - levels.begin()) - 1;
      key.lower[i] = static_cast<std::uint8_t>(lower);
      share = levels[lower] == share ? 0.0 : (share - levels[lower]) / (levels[lower + 1] - levels[lower]);
    } else if (cover[i] == 65535) {
      key.lower[i] = 1;
      continue;
    }
    if (share == 0) continue;
    key.fractional |= static_cast<std::uint16_t>(1u << i);
    lane_[count++] = static_cast<float>(share);
  }
  if (count == 0 || count > kMostFormPlates) return std::nullopt;
  for (const std::uint16_t group : same_screen_) {
    if (std::popcount(static_cast<unsigned>(group & key.fractional)) > 1) return std::nullopt;
  }
  return key;
}

Mixer::Batch& Mixer::batch_of(const CellKey& key) {
  if (last_batch_ < batches_used_ && batches_[last_batch_].key == key) return batches_[last_batch_];
  for (last_batch_ = 0; last_batch_ < batches_used_; ++last_batch_) {
    if (batches_[last_batch_].key == key) return batches_[last_batch_];
  }
  if (batches_used_ == batches_.size()) batches_.emplace_back();
  Batch& batch = batches_[batches_used_++];
  batch.key = key;
  batch.form = &table_.form(key);
  batch.count = 0;
  return batch;
}

void Mixer::put(const std::uint16_t* cover, XYZf* out) {
  const std::optional<CellKey> key = cell_of(cover);
  if (!key) {
    *out = mix(cover);
    return;
  }
  Batch& batch = batch_of(*key);
  for (int i = 0; i < batch.form->plates; ++i) batch.lanes.share[i][batch.count] = lane_[i];
  batch.out[batch.count] = out;
  if (++batch.count == kFormLanes) mix_batch(batch);
}

void Mixer::mix_batch(Batch& batch) {
  for (int plate = 0; plate < batch.form->plates; ++plate)
    std::fill(batch.lanes.share[plate] + batch.count, batch.lanes.share[plate] + kFormLanes, 0.0F);
  mix_lanes(*batch.form, batch.lanes);
  for (int i = 0; i < batch.count; ++i)
    *batch.out[i] = {batch.lanes.xyz[0][i], batch.lanes.xyz[1][i], batch.lanes.xyz[2][i]};
  batch.count = 0;
}

void Mixer::settle() {
  for (std::size_t i = 0; i < batches_used_; ++i) {
    if (batches_[i].count > 0) mix_batch(batches_[i]);
  }
  batches_used_ = 0;
}

}  // namespace kirtle
