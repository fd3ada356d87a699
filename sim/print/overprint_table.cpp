#include "print/overprint_table.h"

#include "base/check.h"
#include "layer/domain.h"
#include "light/delta_e_2000.h"
#include "screen/threshold.h"

#include <algorithm>
#include <cmath>
#include <mutex>

namespace kirtle {

namespace {

std::size_t hash_bytes(const void* data, std::size_t size, std::size_t seed) {
  const auto* bytes = static_cast<const unsigned char*>(data);
  for (std::size_t i = 0; i < size; ++i) seed = (seed ^ bytes[i]) * 1099511628211ull;  // FNV-1a
  return seed;
}

struct StackKeyHash {
  std::size_t operator()(const StackKey& key) const {
    return hash_bytes(key.data(), key.size(), 14695981039346656037ull);
  }
};

template <class T>
std::size_t held(const std::vector<T>& v) {
  return v.capacity() * sizeof(T);
}
constexpr std::size_t kEntryBytes = 96;  // of the map: node, key, bucket, and the allocator's own

std::size_t bytes_of(const Overprint& o) {
  return kEntryBytes + sizeof o + held(o.film) + held(o.film_rt) + held(o.film_ks) + held(o.grounds) +
         held(o.reflectance);
}

std::size_t bytes_of(const Cell& c) {
  return kEntryBytes + sizeof c + held(c.axes) + held(c.q) + held(c.form.c);
}

}  // namespace

std::size_t CellKeyHash::operator()(const CellKey& key) const {
  std::size_t h = hash_bytes(key.lower.data(), key.lower.size(), 14695981039346656037ull);
  h = hash_bytes(&key.fractional, sizeof key.fractional, h);
  return hash_bytes(key.rank.data(), key.rank.size(), h);
}

struct OverprintTable::Store {
  std::shared_mutex overprints_mutex, cells_mutex;
  std::unordered_map<StackKey, std::unique_ptr<Overprint>, StackKeyHash> overprints;
  std::unordered_map<CellKey, std::unique_ptr<Cell>, CellKeyHash> cells;
  std::size_t overprint_bytes = 0, cell_bytes = 0;  // each under its mutex
};

struct OverprintTable::Place {
  CellKey key;
  std::array<double, kMostPlates> share{};  ///< per plate: weight of the upper level
};

OverprintTable::OverprintTable(const Stack& stack, std::vector<PlateDots> plates, TableSettings settings)
    : stack_(stack),
      plates_(std::move(plates)),
      settings_(std::move(settings)),
      pair_form_(plates_),
      group_(plates_.size(), -1),
      levels_(plates_.size(), {0.0, 1.0}),
      store_(std::make_unique<Store>()) {
  KIRTLE_CHECK(plates_.size(), ==, static_cast<std::size_t>(stack_.plates()));
  KIRTLE_CHECK(plates_.size(), <=, static_cast<std::size_t>(kMostPlates));
  if (settings_.yule_nielsen_n) require_range("yule_nielsen_n", *settings_.yule_nielsen_n, 1, 100);
  find_groups();
  for (int i = 0; i < this->plates(); ++i) {
    if (plates_[i].field) choose_levels(i);
  }
}

OverprintTable::~OverprintTable() = default;

OverprintTable::Place OverprintTable::locate(std::span<const double> coverage) const {
  KIRTLE_CHECK(coverage.size(), ==, plates_.size());
  Place place;
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    const double a = std::clamp(coverage[i], 0.0, 1.0);
    const std::vector<double>& levels = levels_[i];
    const auto above = std::upper_bound(levels.begin(), levels.end(), a);
    const auto lower = static_cast<std::size_t>(above - levels.begin()) - 1;
    place.key.lower[i] = static_cast<std::uint8_t>(lower);
    if (levels[lower] == a) continue;
    place.key.fractional |= static_cast<std::uint16_t>(1u << i);
    place.share[i] = (a - levels[lower]) / (levels[lower + 1] - levels[lower]);
  }
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    if (group_[i] < 0 || joint_[group_[i]] || !(place.key.fractional >> i & 1u)) continue;
    for (std::size_t j = 0; j < plates_.size(); ++j) {
      if (j == i || group_[j] != group_[i] || !(place.key.fractional >> j & 1u)) continue;
      if (place.share[j] > place.share[i] || (place.share[j] == place.share[i] && j < i)) ++place.key.rank[i];
    }
  }
  return place;
}

std::vector<CellAxis> OverprintTable::axes_of(const CellKey& key) const {
  std::vector<CellAxis> axes;
  std::array<int, kMostPlates> axis_of_group;
  axis_of_group.fill(-1);
  for (int i = 0; i < plates(); ++i) {
    if (!(key.fractional >> i & 1u)) continue;
    const int group = group_[i];
    if (group < 0 || axis_of_group[group] < 0) {
      if (group >= 0) axis_of_group[group] = static_cast<int>(axes.size());
      axes.emplace_back();
      axes.back().joint = group >= 0 && joint_[group];
      axes.back().group = group;
    }
    CellAxis& axis = group < 0 ? axes.back() : axes[axis_of_group[group]];
    axis.plates[group < 0 ? 0 : axis.joint ? axis.count : key.rank[i]] = static_cast<std::uint8_t>(i);
    ++axis.count;
  }
  return axes;
}

std::vector<StackKey> OverprintTable::overprints_of(const CellKey& key,
                                                    const std::vector<CellAxis>& axes) const {
  std::vector<StackKey> keys{key.lower};
  for (const CellAxis& axis : axes) {
    const std::size_t before = keys.size();
    for (int state = 1; state < axis.states(); ++state) {
      for (std::size_t i = 0; i < before; ++i) {
        StackKey k = keys[i];
        for (int j = 0; j < axis.count; ++j) k[axis.plates[j]] += axis.present(j, state);
        keys.push_back(k);
      }
    }
  }
  return keys;
}

/// Weights of a cell's overprints, in the order of overprints_of.
void OverprintTable::cell_weights(const std::vector<CellAxis>& axes, std::span<const double> share,
                                  std::vector<double>& w) const {
  w.assign(1, 1.0);
  for (const CellAxis& axis : axes) {
    const std::size_t before = w.size();
    w.resize(before * axis.states());
    std::vector<double> joint;
    if (axis.joint) {
      joint.resize(axis.states());
      std::array<int, kMostPlates> plates{};
      std::array<double, kMostPlates> cover{};
      for (int j = 0; j < axis.count; ++j) {
        plates[j] = axis.plates[j];
        cover[j] = share[axis.plates[j]];
      }
      const auto count = static_cast<std::size_t>(axis.count);
      joint_[axis.group]->weights(std::span(plates).first(count), std::span(cover).first(count), joint);
    }
    for (int state = axis.states() - 1; state >= 0; --state) {
      double weight = 0;
      if (axis.joint) {
        weight = joint[state];
      } else {
        const double from = state == 0 ? 1.0 : share[axis.plates[state - 1]];
        const double to = state == axis.count ? 0.0 : share[axis.plates[state]];
        weight = from - to;
      }
      for (std::size_t i = 0; i < before; ++i) w[state * before + i] = w[i] * weight;
    }
  }
}

namespace {

std::vector<int> differing_plates(const StackKey& a, const StackKey& b, int plates) {
  std::vector<int> out;
  for (int i = 0; i < plates; ++i) {
    if (a[i] != b[i]) out.push_back(i);
  }
  return out;
}

}  // namespace

const Overprint& OverprintTable::overprint(const StackKey& key,
                                           std::vector<std::unique_ptr<Overprint>>& spare) const {
  {
    const std::shared_lock lock(store_->overprints_mutex);
    if (const auto it = store_->overprints.find(key); it != store_->overprints.end()) return *it->second;
  }
  std::vector<double> dose(plates_.size());
  for (std::size_t i = 0; i < dose.size(); ++i) dose[i] = levels_[i][key[i]];
  auto made = std::make_unique<Overprint>(stack_.at(dose));
  const std::size_t bytes = bytes_of(*made);
  const std::unique_lock lock(store_->overprints_mutex);
  if (store_->overprint_bytes + bytes > settings_.most_overprint_bytes)
    return *spare.emplace_back(std::move(made));
  const auto [at, is_new] = store_->overprints.try_emplace(key, std::move(made));
  if (is_new) store_->overprint_bytes += bytes;
  return *at->second;
}

std::vector<const Overprint*> OverprintTable::overprints(
    const std::vector<StackKey>& keys, std::vector<std::unique_ptr<Overprint>>& spare) const {
  std::vector<const Overprint*> out;
  for (const StackKey& key : keys) out.push_back(&overprint(key, spare));
  return out;
}

Spectrum OverprintTable::pair(const StackKey& p, const StackKey& q) const {
  std::vector<std::unique_ptr<Overprint>> spare;
  return pair_form_.pair(overprint(p, spare), overprint(q, spare), differing_plates(p, q, plates()));
}

const Cell& OverprintTable::cell(const CellKey& key, std::unique_ptr<Cell>& spare) const {
  {
    const std::shared_lock lock(store_->cells_mutex);
    if (const auto it = store_->cells.find(key); it != store_->cells.end()) return *it->second;
  }
  auto made = std::make_unique<Cell>();
  made->axes = axes_of(key);
  const std::vector<StackKey> keys = overprints_of(key, made->axes);
  made->overprints = static_cast<int>(keys.size());
  if (!settings_.yule_nielsen_n && made->overprints <= kMostPairedOverprints) {
    std::vector<std::unique_ptr<Overprint>> unkept;
    const std::vector<const Overprint*> prints = overprints(keys, unkept);
    made->q.reserve(3 * keys.size() * (keys.size() + 1) / 2);
    for (std::size_t p = 0; p < keys.size(); ++p) {
      for (std::size_t q = p; q < keys.size(); ++q) {
        const Spectrum r =
            pair_form_.pair(*prints[p], *prints[q], differing_plates(keys[p], keys[q], plates()));
        const XYZ xyz = xyz_from_reflectance(r, settings_.weights) * (p == q ? 1.0 : 2.0);
        made->q.insert(made->q.end(), {xyz.x, xyz.y, xyz.z});
      }
    }
  }
  const bool apart =
      std::all_of(made->axes.begin(), made->axes.end(), [](const CellAxis& axis) { return axis.count == 1; });
  if (!made->q.empty() && !made->axes.empty() && apart)
    made->form = cell_form(static_cast<int>(made->axes.size()), made->q);
  const std::size_t bytes = bytes_of(*made);
  const std::unique_lock lock(store_->cells_mutex);
  if (store_->cell_bytes + bytes > settings_.most_cell_bytes) {
    spare = std::move(made);
    return *spare;
  }
  const auto [at, is_new] = store_->cells.try_emplace(key, std::move(made));
  if (is_new) store_->cell_bytes += bytes;
  return *at->second;
}

std::size_t OverprintTable::kept_bytes() const {
  const std::shared_lock cells(store_->cells_mutex);
  const std::shared_lock prints(store_->overprints_mutex);
  return store_->cell_bytes + store_->overprint_bytes;
}

XYZ OverprintTable::mix(std::span<const double> coverage) const {
  const Place place = locate(coverage);
  std::unique_ptr<Cell> unkept;
  const Cell& c = cell(place.key, unkept);
  thread_local std::vector<double> w;
  cell_weights(c.axes, place.share, w);
  if (c.q.empty()) return xyz_from_reflectance(mix_spectra(place.key, w), settings_.weights);
  XYZ out;
  const double* q = c.q.data();
  for (int p = 0; p < c.overprints; ++p) {
    double x = 0, y = 0, z = 0;
    for (int r = p; r < c.overprints; ++r, q += 3) {
      x += w[r] * q[0];
      y += w[r] * q[1];
      z += w[r] * q[2];
    }
    out += XYZ{x, y, z} * w[p];
  }
  return out;
}

Spectrum OverprintTable::reflectance(std::span<const double> coverage) const {
  const Place place = locate(coverage);
  std::vector<double> w;
  cell_weights(axes_of(place.key), place.share, w);
  return mix_spectra(place.key, w);
}

Spectrum OverprintTable::mix_spectra(const CellKey& key, std::span<const double> w) const {
  const std::vector<StackKey> keys = overprints_of(key, axes_of(key));
  std::vector<std::unique_ptr<Overprint>> unkept;
  const std::vector<const Overprint*> prints = overprints(keys, unkept);
  if (settings_.yule_nielsen_n) {
    const double n = *settings_.yule_nielsen_n;
    Spectrum sum;
    for (std::size_t i = 0; i < keys.size(); ++i) {
      const Spectrum r = mean_reflectance(*prints[i]);
      for (std::size_t b = 0; b < kBands; ++b) sum[b] += w[i] * std::pow(r[b], 1 / n);
    }
    for (double& r : sum.v) r = std::pow(r, n);
    return sum;
  }
  if (keys.size() > static_cast<std::size_t>(kMostPairedOverprints)) return mean_flux(prints, w);
  Spectrum sum;
  for (std::size_t p = 0; p < keys.size(); ++p) {
    for (std::size_t q = p; q < keys.size(); ++q) {
      const double weight = w[p] * w[q] * (p == q ? 1.0 : 2.0);
      if (weight == 0) continue;
      sum += weight * pair_form_.pair(*prints[p], *prints[q], differing_plates(keys[p], keys[q], plates()));
    }
  }
  return sum;
}

Spectrum OverprintTable::mean_flux(const std::vector<const Overprint*>& prints,
                                   std::span<const double> w) const {
  // With hundreds of overprints in one place every pair shares little but the cloth: the area mean and the
  // mean flux over the cloth, weighted by the cloth's own scatter share.
  // Each fibre of the cloth by itself.
  std::vector<int> all;
  for (int i = 0; i < plates(); ++i) all.push_back(i);
  const Overprint& first = *prints.front();
  const Overprint& last = *prints.back();
  const std::size_t fibres = first.grounds.size();
  Spectrum down, through, back;
  std::vector<Spectrum> area(fibres), ground(fibres);
  for (std::size_t i = 0; i < prints.size(); ++i) {
    const Overprint& p = *prints[i];
    for (std::size_t b = 0; b < kBands; ++b) {
      const LayerRT pile = layers_above(p, 0, b);
      down[b] += w[i] * pile.r0;
      through[b] += w[i] * pile.t;
      back[b] += w[i] * pile.r0_back;
      for (std::size_t f = 0; f < fibres; ++f) {
        area[f][b] += w[i] * p.reflectance[f][b];
        ground[f][b] += w[i] * std::sqrt(p.grounds[f].reflectance[b]);
      }
    }
  }
  Spectrum out;
  for (std::size_t f = 0; f < fibres; ++f) {
    const Spectrum m = pair_form_.scatter_share(first, last, f, all);
    out += first.grounds[f].share * spectrum_of([&](std::size_t b) {
             const double rg = ground[f][b] * ground[f][b];
             const double flux =
                 down[b] + rg * through[b] * through[b] / lit_from_both_sides_unchecked(back[b], rg);
             return (1 - m[b]) * area[f][b] + m[b] * flux;
           });
  }
  return out;
}

}  // namespace kirtle
