#include "pair_lattice.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>

namespace kirtle {

namespace {

/// Every k-th of `count` levels, ends kept, so that `keep` are left.
std::vector<std::uint8_t> thinned(std::size_t count, std::size_t keep) {
  std::vector<std::uint8_t> out;
  for (std::size_t i = 0; i < keep; ++i) {
    const double at = static_cast<double>(i) * static_cast<double>(count - 1) / static_cast<double>(keep - 1);
    out.push_back(static_cast<std::uint8_t>(std::lround(at)));
  }
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

}  // namespace

bool PairLattice::fits(const OverprintTable& table) {
  int fields = 0;
  for (int i = 0; i < table.plates(); ++i) fields += table.dots(i).field;
  return table.pair_form() && fields <= kMostFields && table.plates() - fields <= kMostFilms;
}

std::shared_ptr<const PairLattice> PairLattice::make(const OverprintTable& table, std::size_t most_values,
                                                     unsigned threads, const Progress& progress) {
  KIRTLE_CHECK(fits(table), ==, true);
  auto out = std::make_shared<PairLattice>();
  for (int i = 0; i < table.plates(); ++i) (table.dots(i).field ? out->fields_ : out->films_).push_back(i);
  const std::size_t overprints = std::size_t{1} << out->films_.size(), fields = out->fields_.size();
  out->pairs_ = overprints * (overprints + 1) / 2;
  std::vector<std::size_t> keep;
  for (const int field : out->fields_) keep.push_back(table.levels(field).size());
  const auto values = [&] {
    std::size_t n = out->pairs_ * (1 + fields);
    for (const std::size_t k : keep) n *= k;
    return n;
  };
  while (most_values > 0 && values() > most_values) {
    const auto largest = std::max_element(keep.begin(), keep.end());
    if (largest == keep.end() || *largest <= 3) break;
    --*largest;
    out->whole_ = false;
  }
  for (std::size_t f = 0; f < fields; ++f) {
    const std::vector<double>& all = table.levels(out->fields_[f]);
    out->level_of_.push_back(thinned(all.size(), keep[f]));
    out->levels_.emplace_back();
    for (const std::uint8_t level : out->level_of_[f]) out->levels_[f].push_back(all[level]);
    out->nodes_ *= out->levels_[f].size();
  }
  out->spectra_.assign(out->nodes_ * out->pairs_ * (1 + fields) * kBands, 0.0F);

  // Values of a node at one film pair: field by field from the lowest number, first field fastest.
  const auto key_of = [&](std::size_t node, std::size_t films, std::size_t raised) {
    StackKey key{};
    for (std::size_t i = 0; i < out->films_.size(); ++i)
      key[static_cast<std::size_t>(out->films_[i])] = static_cast<std::uint8_t>(films >> i & 1u);
    for (std::size_t f = 0; f < fields; ++f) {
      const std::size_t n = out->levels_[f].size(), at = node % n + (f == raised ? 1 : 0);
      node /= n;
      key[static_cast<std::size_t>(out->fields_[f])] = out->level_of_[f][std::min(at, n - 1)];
    }
    return key;
  };
  constexpr std::size_t kNone = 99;
  std::mutex mutex;
  std::size_t done = 0;
  std::atomic<bool> stop{false};
  const std::size_t items = out->nodes_ * overprints;
  parallel_for(items, threads, [&](std::size_t item, unsigned) {
    if (stop) return;
    const std::size_t node = item / overprints, q = item % overprints;
    for (std::size_t p = 0; p <= q; ++p) {
      float* to = out->spectra_.data() + out->index(node, pair_index(p, q)) * kBands;
      const StackKey pk = key_of(node, p, kNone), qk = key_of(node, q, kNone);
      const Spectrum v = table.pair(pk, qk);
      std::transform(v.v.begin(), v.v.end(), to, [](double r) { return static_cast<float>(r); });
      for (std::size_t f = 0; f < fields; ++f) {
        to += kBands;
        const StackKey pu = key_of(node, p, f), qu = key_of(node, q, f);
        if (pu == pk) continue;  // the last level has no next one
        const Spectrum between =
            p == q ? table.pair(pk, qu) : 0.5 * (table.pair(pk, qu) + table.pair(pu, qk));
        const Spectrum next = table.pair(pu, qu);
        for (std::size_t b = 0; b < kBands; ++b)
          to[b] = static_cast<float>(between[b] - 0.5 * (v[b] + next[b]));
      }
    }
    if (item % 64 != 0 || !progress) return;
    const std::lock_guard lock(mutex);
    done += 64;
    if (!progress(std::min(1.0, static_cast<double>(done) / static_cast<double>(items)))) stop = true;
  });
  if (stop) throw Cancelled();
  return out;
}

std::vector<float> PairLattice::contracted(const ViewingWeights& weights) const {
  const std::size_t values = spectra_.size() / kBands;
  std::vector<float> xyz(values * 3), out(values * 4);
  xyz_from_reflectances(spectra_, weights, xyz);
  for (std::size_t i = 0; i < values; ++i) std::copy_n(xyz.data() + 3 * i, 3, out.data() + 4 * i);
  return out;
}

XYZ PairLattice::mix(std::span<const float> contracted, std::span<const double> w,
                     std::span<const double> doses) const {
  const std::size_t fields = fields_.size();
  std::vector<std::size_t> lower(fields);
  std::vector<double> t(fields);
  for (std::size_t f = 0; f < fields; ++f) {
    const auto above = std::upper_bound(levels_[f].begin(), levels_[f].end(), doses[f]);
    lower[f] = std::min(static_cast<std::size_t>(above - levels_[f].begin()) - 1, levels_[f].size() - 2);
    t[f] = (doses[f] - levels_[f][lower[f]]) / (levels_[f][lower[f] + 1] - levels_[f][lower[f]]);
  }
  const auto value = [&](std::size_t i) {
    const float* v = contracted.data() + 4 * i;
    return XYZ{static_cast<double>(v[0]), static_cast<double>(v[1]), static_cast<double>(v[2])};
  };
  XYZ sum;
  for (std::size_t corner = 0; corner < std::size_t{1} << fields; ++corner) {
    std::size_t node = 0, stride = 1;
    double at = 1;
    for (std::size_t f = 0; f < fields; ++f) {
      const bool up = corner >> f & 1u;
      node += stride * (lower[f] + (up ? 1 : 0));
      stride *= levels_[f].size();
      at *= up ? t[f] : 1 - t[f];
    }
    for (std::size_t q = 0; q < w.size(); ++q) {
      for (std::size_t p = 0; p <= q; ++p) {
        const double pair = w[p] * w[q] * (p == q ? 1 : 2);
        if (pair == 0) continue;
        const std::size_t i = index(node, pair_index(p, q));
        sum += value(i) * (pair * at);
        for (std::size_t f = 0; f < fields; ++f) {
          // The bend belongs to the lower node along its own field; `at` holds its 1 - t.
          if (!(corner >> f & 1u)) sum += value(i + 1 + f) * (pair * at * 2 * t[f]);
        }
      }
    }
  }
  return sum;
}

}  // namespace kirtle
