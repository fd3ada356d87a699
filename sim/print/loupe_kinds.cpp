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
  if (fields == 2) levels_ = 128;
  if (fields == 3) levels_ = 64;
  if (fields == 4) levels_ = 24, nodes_ = 8;
  if (fields > 4) levels_ = nodes_ = 4;
  shapes_.assign(bands_.size(), {});
  const int last = static_cast<int>(bands_.size()) - 1;
  for (int b = 0; b < static_cast<int>(kBands); ++b) {
    const auto above = std::upper_bound(bands_.begin(), bands_.end(), b);
    const int i = static_cast<int>(above - bands_.begin()) - 1;
    if (i < 0 || i == last) {
      shapes_[static_cast<std::size_t>(std::max(i, 0))][static_cast<std::size_t>(b)] += 1;
      continue;
    }
    // Catmull, Rom 1974: through the four bands about it.
    const double t = static_cast<double>(b - bands_[i]) / (bands_[i + 1] - bands_[i]);
    const double w[4] = {0.5 * t * (-1 + t * (2 - t)), 0.5 * (2 + t * t * (-5 + 3 * t)),
                         0.5 * t * (1 + t * (4 - 3 * t)), 0.5 * t * t * (t - 1)};
    for (int k = 0; k < 4; ++k)
      shapes_[static_cast<std::size_t>(std::clamp(i - 1 + k, 0, last))][static_cast<std::size_t>(b)] += w[k];
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

const LoupeKind& LoupeKinds::node(const LoupeKey& key) const {
  {
    const std::shared_lock lock(mutex_);
    if (const auto it = node_of_.find(key); it != node_of_.end()) return *it->second;
  }
  std::vector<double> dose(static_cast<std::size_t>(table_.plates()));
  for (std::size_t i = 0; i < dose.size(); ++i) {
    const bool field = table_.dots(static_cast<int>(i)).field;
    dose[i] = field ? static_cast<double>(key[i]) / nodes_ : (key[i] & kDeviceInk) != 0 ? 1.0 : 0.0;
  }
  auto made = std::make_unique<LoupeKind>(make(key, dose));
  const std::unique_lock lock(mutex_);
  return *node_of_.try_emplace(key, std::move(made)).first->second;
}

LoupeKind LoupeKinds::at(const LoupeKey& key) const {
  LoupeKey low = key;
  std::vector<double> dose(static_cast<std::size_t>(table_.plates()));
  std::array<float, kMostPlates> above{};  // weight of the node above, of each plate between nodes
  std::vector<std::size_t> between;
  for (std::size_t i = 0; i < dose.size(); ++i) {
    if (!table_.dots(static_cast<int>(i)).field) {
      dose[i] = (key[i] & kDeviceInk) != 0 ? 1 : 0;
      continue;
    }
    dose[i] = static_cast<double>(key[i]) / levels_;
    const double at = dose[i] * nodes_;
    low[i] = static_cast<std::uint8_t>(at);
    above[i] = static_cast<float>(at - low[i]);
    if (above[i] > 0) between.push_back(i);
  }
  const LoupeKind& first = node(low);
  if (between.empty()) return first;
  LoupeKind sum = first;
  for (LoupeKind::Band& band : sum.bands) band = {0, 0, 0, {}};
  for (GroundPart& part : sum.ground) part = {};
  for (unsigned corner = 0; corner < 1u << between.size(); ++corner) {
    LoupeKey corner_key = low;
    float w = 1;
    for (std::size_t j = 0; j < between.size(); ++j) {
      const bool up = (corner >> j & 1u) != 0;
      corner_key[between[j]] = static_cast<std::uint8_t>(low[between[j]] + up);
      w *= up ? above[between[j]] : 1 - above[between[j]];
    }
    const LoupeKind& kind = node(corner_key);
    // Where a film begins, its neighbour lies on another ground: worked out by itself.
    if (kind.parts != first.parts) return make(key, dose);
    for (std::size_t i = 0; i < sum.bands.size(); ++i) {
      sum.bands[i].through += w * kind.bands[i].through;
      sum.bands[i].back += w * kind.bands[i].back;
      for (int c = 0; c < 3; ++c) sum.bands[i].xyz[c] += w * kind.bands[i].xyz[c];
    }
    for (std::size_t i = 0; i < sum.ground.size(); ++i) {
      sum.ground[i].returned += w * kind.ground[i].returned;
      sum.ground[i].mean_um += w * kind.ground[i].mean_um;
    }
  }
  for (std::size_t i = 0; i < sum.bands.size(); ++i) {
    float rg = 0;
    for (std::size_t p = 0; p < sum.parts; ++p) rg += sum.ground[i * sum.parts + p].returned;
    LoupeKind::Band& band = sum.bands[i];
    band.up = rg * band.through / (1 - band.back * rg);
  }
  return sum;
}

LoupeKind LoupeKinds::make(const LoupeKey& key, std::span<const double> dose_in) const {
  const std::vector<double> dose(dose_in.begin(), dose_in.end());
  std::vector<std::size_t> tints;
  for (std::size_t i = 0; i < dose.size(); ++i) {
    if (!table_.dots(static_cast<int>(i)).field && (key[i] & kDeviceTint) != 0) tints.push_back(i);
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
  kind.parts = shared + 1;
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
      const Spectrum seen = spectrum_of([&](std::size_t b) { return through[b] * shapes_[i][b]; });
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
