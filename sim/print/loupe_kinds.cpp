#include "print/loupe_kinds.h"

#include "layer/kubelka_munk.h"
#include "print/loupe_plate.h"
#include "print/scatter.h"

#include <algorithm>
#include <mutex>

namespace kirtle {

std::size_t LoupeKeyHash::operator()(const LoupeKey& key) const {
  std::size_t h = 14695981039346656037ull;
  for (const std::uint8_t byte : key) h = (h ^ byte) * 1099511628211ull;  // FNV-1a
  return h ^ (h >> 29);
}

LoupeKinds::LoupeKinds(const OverprintTable& table, std::vector<int> bands)
    : table_(table), bands_(std::move(bands)) {
  int fields = 0;
  for (int i = 0; i < table.plates(); ++i) fields += table.dots(i).field;
  if (fields == 4) levels_ = 22;
  if (fields > 4) levels_ = 12;
  for (std::size_t i = 0; i < bands_.size(); ++i) {
    tents_.push_back(spectrum_of([&](std::size_t b) {
      const int at = static_cast<int>(b), here = bands_[i];
      const bool end = at < here ? i == 0 : i + 1 == bands_.size();
      if (at == here || end) return 1.0;
      const int other = at < here ? bands_[i - 1] : bands_[i + 1];
      return std::max(0.0, static_cast<double>(at - other) / (here - other));
    }));
  }
  for (int plate = -1; plate < table.plates(); ++plate) {
    std::vector<double> dose(static_cast<std::size_t>(table.plates()), 0.0);
    if (plate >= 0) dose[static_cast<std::size_t>(plate)] = 1;
    const Overprint o = table.stack().at(dose);
    if (plate < 0)
      for (const Ground& ground : o.grounds) fibre_shares_.push_back(ground.share);
    for (const int band : bands_) {
      for (const Ground& ground : o.grounds)
        widest_um_ = std::max(widest_um_, mean_scatter_um(ground.scatter.at(static_cast<std::size_t>(band))));
    }
  }
}

std::size_t LoupeKinds::size() const {
  const std::shared_lock lock(mutex_);
  return kinds_.size();
}

const LoupeKind& LoupeKinds::at(const LoupeKey& key) const {
  {
    const std::shared_lock lock(mutex_);
    if (const auto it = kinds_.find(key); it != kinds_.end()) return *it->second;
  }
  auto made = std::make_unique<LoupeKind>(make(key));
  const std::unique_lock lock(mutex_);
  return *kinds_.try_emplace(key, std::move(made)).first->second;
}

LoupeKind LoupeKinds::make(const LoupeKey& key) const {
  std::vector<double> dose(static_cast<std::size_t>(table_.plates()));
  std::vector<std::size_t> tints;
  for (std::size_t i = 0; i < dose.size(); ++i) {
    if (table_.dots(static_cast<int>(i)).field) {
      dose[i] = static_cast<double>(key[i]) / levels_;
    } else {
      dose[i] = (key[i] & kDeviceInk) != 0 ? 1 : 0;
      if ((key[i] & kDeviceTint) != 0) tints.push_back(i);
    }
  }
  const Overprint o = table_.stack().at(dose);
  // The films that stay, whichever dots are there: tried with each alone, with none and with all.
  std::size_t shared = o.film.size();
  const auto stays = [&](const std::vector<double>& other) {
    if (shared > 0 && other != dose) shared = std::min(shared, shared_film(o, table_.stack().at(other)));
  };
  for (const double all : {0.0, 1.0}) {
    std::vector<double> other = dose;
    for (const std::size_t i : tints) other[i] = all;
    stays(other);
    for (const std::size_t i : tints) {
      std::vector<double> one = other;
      one[i] = 1 - all;
      stays(one);
    }
  }
  LoupeKind kind;
  kind.parts = static_cast<int>(shared) + 1;
  const Spectrum through = spectrum_of([&](std::size_t band) { return layers_above(o, shared, band).t; });
  for (const Ground& ground : o.grounds) {
    for (std::size_t i = 0; i < bands_.size(); ++i) {
      const auto band = static_cast<std::size_t>(bands_[i]);
      // As flux_band: a film of the ground returns its own share spread by itself; what passes it, by what
      // lies below.
      double rg = ground.reflectance[band];
      std::vector<std::pair<double, double>> parts{{1, mean_scatter_um(ground.scatter.at(band))}};
      for (std::size_t j = 0; j < shared; ++j) {
        const LayerRT layer = o.film_rt[j].at(band);
        rg = reflectance_over_unchecked(layer, rg);
        const double own = rg > 0 ? layer.r0 / rg : 1;
        for (auto& part : parts) part.first *= 1 - own;
        parts.emplace_back(own, mean_scatter_um(o.film_ks[j].at(band)));
      }
      const LayerRT above = layers_above(o, shared, band);
      const Spectrum seen = spectrum_of([&](std::size_t b) { return through[b] * tents_[i][b]; });
      const XYZ xyz = xyz_from_reflectance(seen, table_.weights());
      kind.bands.push_back(
          {static_cast<float>(above.t),
           static_cast<float>(above.r0_back),
           static_cast<float>(rg * above.t / lit_from_both_sides_unchecked(above.r0_back, rg)),
           {static_cast<float>(xyz.x), static_cast<float>(xyz.y), static_cast<float>(xyz.z)}});
      for (const auto& [share, mean] : parts)
        kind.ground.push_back({static_cast<float>(share * rg), static_cast<float>(mean)});
    }
  }
  return kind;
}

}  // namespace kirtle
