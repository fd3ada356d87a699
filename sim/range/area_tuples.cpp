#include "range/area_tuples.h"

#include "base/check.h"
#include "base/parallel.h"
#include "print/cut_pixel.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <mutex>
#include <unordered_map>
#include <utility>

namespace kirtle {

namespace {

constexpr int kTileRows = 32;
constexpr std::uint64_t kPoints = 64, kFull = 65535;  // a pixel weighs kPoints * kFull

using Key = std::array<std::uint16_t, kMostTuplePlates>;  // coverages, each the least of its bin

struct KeyHash {
  std::size_t operator()(const Key& key) const {
    std::uint64_t h = 0;
    for (std::size_t i = 0; i < key.size(); i += 4) {
      std::uint64_t four = 0;
      for (std::size_t k = 0; k < 4; ++k) four = four << 16 | key[i + k];
      h = (h ^ four) * 0x9E3779B97F4A7C15ULL;
      h ^= h >> 29;
    }
    return h;
  }
};

/// Sums in whole numbers: they do not depend on the order in which tiles come in.
struct Sums {
  std::uint64_t weight = 0;
  std::array<std::uint64_t, kMostTuplePlates> above{};  ///< weight times coverage over the bin's least
};
using Bins = std::unordered_map<Key, Sums, KeyHash>;

/// None and all have bins of their own.
std::uint16_t bin_of(std::uint16_t cover, int shift) {
  if (cover == 0 || cover == kFull) return cover;
  return static_cast<std::uint16_t>(((cover - 1U) >> shift << shift) + 1U);
}

Key binned(const Key& key, std::size_t plates, int shift) {
  Key out{};
  for (std::size_t p = 0; p < plates; ++p) out[p] = bin_of(key[p], shift);
  return out;
}

void add(Bins& bins, const Key& exact, std::size_t plates, int shift, std::uint64_t weight) {
  const Key key = binned(exact, plates, shift);
  Sums& sums = bins[key];
  sums.weight += weight;
  for (std::size_t p = 0; p < plates; ++p) sums.above[p] += weight * (exact[p] - key[p]);
}

void merge(Bins& into, const Bins& from, std::size_t plates, int shift) {
  for (const auto& [old, sums] : from) {
    const Key key = binned(old, plates, shift);
    Sums& all = into[key];
    all.weight += sums.weight;
    for (std::size_t p = 0; p < plates; ++p)
      all.above[p] += sums.above[p] + sums.weight * static_cast<std::uint64_t>(old[p] - key[p]);
  }
}

/// What the picture's places show, found while tiles go by.
struct Places {
  int width = 0, height = 0;  ///< of the print
  int across = 0, down = 0;   ///< places
  std::vector<Key> keys{};    ///< not binned yet
  int x_of(int i) const { return static_cast<int>((i + 0.5) * width / across); }
  int y_of(int j) const { return static_cast<int>((j + 0.5) * height / down); }
};

/// Pixels of a picture of the print, across and down.
std::pair<int, int> picture_size(int width, int height, int picture_height) {
  constexpr int kMost = AreaTuples::kMostPictureSide;
  const double shape = static_cast<double>(width) / height;
  if (picture_height * shape <= kMost)
    return {std::max(1, static_cast<int>(std::lround(picture_height * shape))), picture_height};
  return {kMost, std::max(1, static_cast<int>(std::lround(kMost / shape)))};
}

class Tile {
 public:
  Tile(std::span<const PlateCover* const> covers, int y0, int rows, int width, int height)
      : width_(width), height_(height), y0_(y0), rows_(rows) {
    for (const PlateCover* cover : covers) plates_.push_back(cover->rows(y0 - 1, rows + 2));
  }

  void count(Bins& bins, int shift) {
    Key last{};
    std::uint64_t run = 0;
    for (int row = 0; row < rows_; ++row) {
      for (int x = 0; x < width_; ++x) {
        const Key key = at(x, row);
        if (!edges_.empty()) {
          share_out(bins, shift, key, x, row);
          continue;
        }
        if (run > 0 && key != last) {
          add(bins, last, plates_.size(), shift, run * kPoints * kFull);
          run = 0;
        }
        last = key;
        ++run;
      }
    }
    if (run > 0) add(bins, last, plates_.size(), shift, run * kPoints * kFull);
  }

  /// The side on which the middle of each place lies.
  void look(Places& places, Bins& bins, int shift) {
    const int first = std::max(0, static_cast<int>(static_cast<double>(y0_) * places.down / height_) - 1);
    for (int j = first; j < places.down && places.y_of(j) < y0_ + rows_; ++j) {
      if (places.y_of(j) < y0_) continue;
      for (int i = 0; i < places.across; ++i) {
        const int row = places.y_of(j) - y0_, x = places.x_of(i);
        Key key = at(x, row);
        for (const std::size_t p : edges_) key[p] = plates_[p].distance[index(x, row)] < 0 ? kFull : 0;
        add(bins, key, plates_.size(), shift, 0);
        places.keys[static_cast<std::size_t>(j) * static_cast<std::size_t>(places.across) +
                    static_cast<std::size_t>(i)] = key;
      }
    }
  }

 private:
  std::size_t index(int x, int row) const {
    return static_cast<std::size_t>(row + 1) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(x);
  }

  Key at(int x, int row) {
    const std::size_t i = index(x, row);
    Key key{};
    edges_.clear();
    for (std::size_t p = 0; p < plates_.size(); ++p) {
      key[p] = plates_[p].cover[i];
      if (detail::is_edge(plates_[p], i)) edges_.push_back(p);
    }
    return key;
  }

  void share_out(Bins& bins, int shift, Key key, int x, int row) {
    if (edges_.size() == 1) {
      const std::size_t e = edges_.front();
      const std::uint64_t inside = key[e];
      key[e] = kFull;
      if (inside > 0) add(bins, key, plates_.size(), shift, kPoints * inside);
      key[e] = 0;
      if (inside < kFull) add(bins, key, plates_.size(), shift, kPoints * (kFull - inside));
      return;
    }
    for (const std::size_t e : edges_) {
      float gx = 0, gy = 0;
      detail::slope(plates_[e], height_, x, row + 1, gx, gy);
      masks_[e] = detail::points_inside(plates_[e].distance[index(x, row)], gx, gy);
    }
    split(bins, shift, key, 0, ~std::uint64_t{0});
  }

  void split(Bins& bins, int shift, Key& key, std::size_t edge, std::uint64_t points) {
    if (points == 0) return;
    if (edge == edges_.size()) {
      add(bins, key, plates_.size(), shift, kFull * static_cast<std::uint64_t>(std::popcount(points)));
      return;
    }
    const std::size_t p = edges_[edge];
    key[p] = kFull;
    split(bins, shift, key, edge + 1, points & masks_[p]);
    key[p] = 0;
    split(bins, shift, key, edge + 1, points & ~masks_[p]);
  }

  int width_, height_, y0_, rows_;
  std::vector<CoverRows> plates_;
  std::vector<std::size_t> edges_;
  std::array<std::uint64_t, kMostTuplePlates> masks_{};
};

AreaTuples tuples_of(const Bins& bins, const Places& places, std::size_t plates, int shift) {
  AreaTuples out;
  out.plates = plates;
  out.step = 1 << shift;
  std::vector<const Bins::value_type*> sorted;
  std::uint64_t total = 0;
  for (const Bins::value_type& bin : bins) {
    sorted.push_back(&bin);
    total += bin.second.weight;
  }
  std::sort(sorted.begin(), sorted.end(), [](const auto* a, const auto* b) { return a->first < b->first; });
  std::unordered_map<Key, std::uint32_t, KeyHash> number;
  for (const auto* bin : sorted) {
    number.emplace(bin->first, static_cast<std::uint32_t>(out.share.size()));
    const Sums& sums = bin->second;
    for (std::size_t p = 0; p < plates; ++p) {
      const double more =
          sums.weight > 0 ? static_cast<double>(sums.above[p]) / static_cast<double>(sums.weight) : 0;
      out.cover.push_back((bin->first[p] + more) / static_cast<double>(kFull));
    }
    out.share.push_back(static_cast<double>(sums.weight) / static_cast<double>(total));
  }
  constexpr int kSide = AreaTuples::kPictureSide;
  out.width = places.across / kSide;
  out.height = places.down / kSide;
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x) {
      for (int s = 0; s < AreaTuples::kPictureSamples; ++s) {
        const std::size_t j = static_cast<std::size_t>(y * kSide + s / kSide),
                          i = static_cast<std::size_t>(x * kSide + s % kSide);
        out.picture.push_back(
            number.at(binned(places.keys[j * static_cast<std::size_t>(places.across) + i], plates, shift)));
      }
    }
  }
  return out;
}

}  // namespace

AreaTuples count_tuples(std::span<const PlateCover* const> covers, const TupleSettings& settings) {
  KIRTLE_CHECK(covers.size(), >, std::size_t{0});
  KIRTLE_CHECK(covers.size(), <=, kMostTuplePlates);
  KIRTLE_CHECK(settings.picture_height, <=, AreaTuples::kMostPictureSide);
  const int width = covers.front()->image().width, height = covers.front()->image().height;
  bool fields = false;
  for (const PlateCover* cover : covers) {
    KIRTLE_CHECK(cover->image().width, ==, width);
    KIRTLE_CHECK(cover->image().height, ==, height);
    fields = fields || cover->field() || !cover->settings().offset.is_zero();
  }
  Places places{width, height};
  if (settings.picture_height > 0) {
    const auto [across, down] = picture_size(width, height, settings.picture_height);
    places.across = AreaTuples::kPictureSide * across;
    places.down = AreaTuples::kPictureSide * down;
    places.keys.resize(static_cast<std::size_t>(places.across) * static_cast<std::size_t>(places.down));
  }
  // What wicks or is moved has a coverage of its own at nearly every pixel: steps of 1/256 from the start.
  int shift = fields ? 8 : 0;
  Bins all;
  std::mutex guard;
  const int tiles = (height + kTileRows - 1) / kTileRows;
  parallel_for(static_cast<std::size_t>(tiles), settings.threads, [&](std::size_t item, unsigned) {
    const int y0 = static_cast<int>(item) * kTileRows, rows = std::min(kTileRows, height - y0);
    int now = 0;
    {
      const std::lock_guard lock(guard);
      now = shift;
    }
    Tile tile(covers, y0, rows, width, height);
    Bins bins;
    tile.count(bins, now);
    tile.look(places, bins, now);
    const std::lock_guard lock(guard);
    merge(all, bins, covers.size(), shift);
    while (all.size() > settings.most && shift < 15) {
      ++shift;
      Bins wider;
      merge(wider, all, covers.size(), shift);
      all.swap(wider);
    }
  });
  return tuples_of(all, places, covers.size(), shift);
}

}  // namespace kirtle
