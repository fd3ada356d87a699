#include "print/mixer.h"

#include "print/shrinker.h"

#include <algorithm>
#include <bit>

namespace kirtle {

namespace {
constexpr std::size_t kSlots = std::size_t{1} << 15;
constexpr std::size_t kLevelBits = 5;
static_assert(kLevelBits * kMostPlates <= 64);
}  // namespace

Mixer::Mixer(const OverprintTable& table)
    : table_(table),
      plates_(static_cast<std::size_t>(table.plates())),
      keys_(kSlots * plates_),
      values_(kSlots),
      used_(kSlots),
      shares_(plates_) {
  std::array<std::uint32_t, kMostPlates> groups{};
  for (int i = 0; i < table.plates(); ++i) {
    levels_.push_back(table.levels(i).size() > 2 ? &table.levels(i) : nullptr);
    two_levels_ = two_levels_ && levels_.back() == nullptr;
    if (table.screen_group(i) >= 0) groups[table.screen_group(i)] |= 1u << i;
  }
  std::copy_if(groups.begin(), groups.end(), std::back_inserter(same_screen_),
               [](std::uint32_t g) { return g != 0; });
}

XYZf Mixer::mix(const std::uint16_t* cover) {
  std::uint64_t h = 0;
  for (std::size_t i = 0; i < plates_; ++i) h = (h ^ cover[i]) * 0x9E3779B97F4A7C15ull;
  const std::size_t slot = h >> 49;
  static_assert(kSlots == std::size_t{1} << 15);
  std::uint16_t* key = keys_.data() + slot * plates_;
  unsigned differences = 0;  // a handful of plates: a call of memcmp() costs more
  for (std::size_t i = 0; i < plates_; ++i) differences |= key[i] ^ cover[i];
  if (used_[slot] && differences == 0) return values_[slot];
  for (std::size_t i = 0; i < plates_; ++i) shares_[i] = cover[i] / 65535.0;
  used_[slot] = 1;
  std::copy_n(cover, plates_, key);
  return values_[slot] = to_float(table_.mix(shares_));
}

/// Where a tuple lies, its shares in lane_.
Mixer::Place Mixer::place_of(const std::uint16_t* cover) {
  Place place;
  std::size_t count = 0;
  for (std::size_t i = 0; i < plates_; ++i) {
    if (two_levels_ || levels_[i] == nullptr) {
      const bool solid = cover[i] == 65535, between = cover[i] != 0 && !solid;
      place.lower |= static_cast<std::uint64_t>(solid) << (kLevelBits * i);
      place.fractional |= static_cast<std::uint32_t>(between) << i;
      lane_[count] = static_cast<float>(cover[i]) * kFormShare;
      count += between;
      continue;
    }
    const double dose = cover[i] / 65535.0;
    const std::vector<double>& levels = *levels_[i];
    const auto above = std::upper_bound(levels.begin(), levels.end(), dose);
    const auto lower = static_cast<std::size_t>(above - levels.begin()) - 1;
    place.lower |= static_cast<std::uint64_t>(lower) << (kLevelBits * i);
    if (levels[lower] == dose) continue;
    place.fractional |= 1u << i;
    lane_[count++] = static_cast<float>((dose - levels[lower]) / (levels[lower + 1] - levels[lower]));
  }
  return place;
}

bool Mixer::has_form(std::uint32_t fractional) const {
  if (!table_.pair_form() || fractional == 0 || std::popcount(fractional) > kMostFormPlates) return false;
  return std::none_of(same_screen_.begin(), same_screen_.end(),
                      [&](std::uint32_t group) { return std::popcount(group & fractional) > 1; });
}

const CellForm& Mixer::form_at(const Place& place, std::unique_ptr<Cell>& spare) const {
  CellKey key;
  key.fractional = static_cast<std::uint16_t>(place.fractional);
  for (std::size_t i = 0; i < plates_; ++i)
    key.lower[i] = static_cast<std::uint8_t>(place.lower >> (kLevelBits * i) & ((1u << kLevelBits) - 1));
  return table_.form(key, spare);
}

const CellForm* Mixer::form_of(std::uint32_t fractional, std::uint32_t solid) {
  Place place;
  place.fractional = fractional;
  for (std::size_t i = 0; i < plates_; ++i)
    place.lower |= static_cast<std::uint64_t>(solid >> i & 1u) << (kLevelBits * i);
  if (form_ != nullptr && form_place_ == place) return form_;
  if (!has_form(fractional)) return nullptr;
  form_place_ = place;
  return form_ = &form_at(place, form_spare_);
}

/// Null if the cell has no form.
Mixer::Batch* Mixer::batch_of(const Place& place) {
  for (last_batch_ = 0; last_batch_ < batches_used_; ++last_batch_) {
    if (batches_[last_batch_].place == place) return &batches_[last_batch_];
  }
  if (!has_form(place.fractional)) return nullptr;
  if (batches_used_ == batches_.size()) batches_.emplace_back();
  Batch& batch = batches_[batches_used_++];
  batch.place = place;
  batch.form = &form_at(place, batch.spare);
  batch.count = 0;
  return &batch;
}

void Mixer::put(const std::uint16_t* cover, XYZf* out) {
  const Place place = place_of(cover);
  Batch* batch = last_batch_ < batches_used_ && batches_[last_batch_].place == place ? &batches_[last_batch_]
                                                                                     : batch_of(place);
  if (batch == nullptr) {
    *out = mix(cover);
    return;
  }
  for (int i = 0; i < batch->form->plates; ++i) batch->lanes.share[i][batch->count] = lane_[i];
  batch->out[batch->count] = out;
  if (++batch->count == kFormLanes) mix_batch(*batch);
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
