#include "print/renderer.h"

#include "base/check.h"
#include "base/parallel.h"
#include "print/cut_pixel.h"
#include "print/shrinker.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstring>

namespace kirtle {

using detail::is_edge;
using detail::points_inside;
using detail::slope;

namespace {

constexpr std::size_t kSlots = std::size_t{1} << 15;
constexpr int kTileRows = 32;
using Tuple = std::array<std::uint16_t, kMostPlates>;

/// Coverage rows of every plate, with one row more on each side for the slope of the distances.
struct Tile {
  std::vector<CoverRows> plates;
};

/// Area mean of a pixel cut by contours. mix(tuple) gives the colour of one side; Colour needs += and *
/// double.
template <class Colour, class Mix>
Colour mix_cut(const std::vector<int>& edges, std::span<const std::uint64_t> masks, Tuple cover,
               const Mix& mix) {
  Colour sum{};
  const unsigned combinations = 1u << edges.size();
  for (unsigned c = 0; c < combinations; ++c) {
    std::uint64_t points = ~std::uint64_t{0};
    for (std::size_t e = 0; e < edges.size(); ++e) {
      const bool inside = c >> e & 1u;
      points &= inside ? masks[e] : ~masks[e];
      cover[edges[e]] = inside ? 65535 : 0;
    }
    if (points == 0) continue;
    sum += mix(cover) * (std::popcount(points) / 64.0);
  }
  return sum;
}

}  // namespace

Mixer::Mixer(const OverprintTable& table)
    : table_(table),
      plates_(static_cast<std::size_t>(table.plates())),
      keys_(kSlots * plates_),
      values_(kSlots),
      used_(kSlots),
      shares_(plates_) {}

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

PrintRenderer::PrintRenderer(const OverprintTable& table, const std::vector<PlateCover>& covers)
    : table_(table), covers_(covers) {
  KIRTLE_CHECK(covers.size(), ==, static_cast<std::size_t>(table.plates()));
  KIRTLE_CHECK(covers.size(), >, std::size_t{0});
  width_ = covers.front().image().width;
  height_ = covers.front().image().height;
  for (const PlateCover& cover : covers) {
    KIRTLE_CHECK(cover.image().width, ==, width_);
    KIRTLE_CHECK(cover.image().height, ==, height_);
  }
}

void PrintRenderer::xyz_rows(int y0, int rows, Mixer& mixer, std::span<XYZf> out) const {
  const std::size_t n = covers_.size(), width = static_cast<std::size_t>(width_);
  KIRTLE_CHECK(out.size(), ==, width * rows);
  Tile tile;
  for (const PlateCover& cover : covers_) tile.plates.push_back(cover.rows(y0 - 1, rows + 2));
  std::vector<int> edges;
  std::array<std::uint64_t, kMostPlates> masks{};
  Tuple cover{}, last{};
  XYZf last_xyz;
  bool have_last = false;
  for (int row = 0; row < rows; ++row) {
    for (int x = 0; x < width_; ++x) {
      const std::size_t i = static_cast<std::size_t>(row + 1) * width + static_cast<std::size_t>(x);
      edges.clear();
      for (std::size_t p = 0; p < n; ++p) {
        cover[p] = tile.plates[p].cover[i];
        if (is_edge(tile.plates[p], i)) edges.push_back(static_cast<int>(p));
      }
      XYZf& xyz = out[static_cast<std::size_t>(row) * width + static_cast<std::size_t>(x)];
      if (edges.empty()) {
        if (!have_last || cover != last) {
          last_xyz = mixer.mix(cover.data());
          last = cover;
          have_last = true;
        }
        xyz = last_xyz;
      } else if (edges.size() == 1) {
        const int e = edges.front();
        const double share = cover[e] / 65535.0;
        cover[e] = 65535;
        const XYZ in = to_double(mixer.mix(cover.data()));
        cover[e] = 0;
        const XYZ beside = to_double(mixer.mix(cover.data()));
        xyz = to_float(in * share + beside * (1 - share));
      } else {
        for (std::size_t e = 0; e < edges.size(); ++e) {
          const CoverRows& plate = tile.plates[edges[e]];
          float gx = 0, gy = 0;
          slope(plate, height_, x, row + 1, gx, gy);
          masks[e] = points_inside(plate.distance[i], gx, gy);
        }
        xyz = to_float(mix_cut<XYZ>(edges, masks, cover,
                                    [&](const Tuple& t) { return to_double(mixer.mix(t.data())); }));
      }
    }
  }
}

Spectrum PrintRenderer::reflectance_at(int x, int y) const {
  std::vector<double> share(covers_.size());
  std::vector<int> edges;
  std::array<std::uint64_t, kMostPlates> masks{};
  Tuple cover{};
  for (std::size_t p = 0; p < covers_.size(); ++p) {
    share[p] = covers_[p].cover_at(x, y);
    const CoverRows rows = covers_[p].rows(y - 1, 3);
    const std::size_t i = static_cast<std::size_t>(width_) + static_cast<std::size_t>(x);
    if (!is_edge(rows, i)) continue;
    float gx = 0, gy = 0;
    slope(rows, height_, x, 1, gx, gy);
    masks[edges.size()] = points_inside(rows.distance[i], gx, gy);
    edges.push_back(static_cast<int>(p));
  }
  const auto mix = [&](const std::vector<double>& shares) { return table_.reflectance(shares); };
  if (edges.empty()) return mix(share);
  if (edges.size() == 1) {
    const double in = share[edges.front()];
    share[edges.front()] = 1;
    const Spectrum inside = mix(share);
    share[edges.front()] = 0;
    return inside * in + mix(share) * (1 - in);
  }
  return mix_cut<Spectrum>(edges, masks, cover, [&](const Tuple& t) {
    std::vector<double> s = share;
    for (const int e : edges) s[e] = t[e] / 65535.0;
    return mix(s);
  });
}

XYZ PrintRenderer::xyz_at(int x, int y) const {
  return xyz_from_reflectance(reflectance_at(x, y), table_.weights());
}

int PrintRenderer::scaled(int pixels, double scale) {
  return std::max(1, static_cast<int>(std::lround(pixels * scale)));
}

void PrintRenderer::render(double scale, unsigned threads, const Progress& progress,
                           const std::function<void(int, int, std::span<const XYZf>)>& sink) const {
  KIRTLE_CHECK(scale, >, 0.0);
  KIRTLE_CHECK(scale, <=, 1.0);
  if (threads == 0) threads = default_threads();
  const std::size_t width = static_cast<std::size_t>(width_);
  const int tiles = (height_ + kTileRows - 1) / kTileRows;
  const int batch = static_cast<int>(threads) * 4;
  std::vector<Mixer> mixers;
  for (unsigned t = 0; t < threads; ++t) mixers.emplace_back(table_);
  std::vector<XYZf> buffer(width * kTileRows * static_cast<std::size_t>(std::min(batch, tiles)));
  const int width_out = scaled(width_, scale), height_out = scaled(height_, scale);
  Shrinker shrinker(width_, height_, width_out, height_out);
  std::vector<XYZf> small(static_cast<std::size_t>(width_out));
  int rows_out = 0;
  for (int first = 0; first < tiles; first += batch) {
    const int count = std::min(batch, tiles - first);
    parallel_for(static_cast<std::size_t>(count), threads, [&](std::size_t item, unsigned worker) {
      const int y0 = (first + static_cast<int>(item)) * kTileRows, rows = std::min(kTileRows, height_ - y0);
      xyz_rows(y0, rows, mixers[worker], std::span(buffer).subspan(item * width * kTileRows, width * rows));
    });
    const int y0 = first * kTileRows, rows = std::min(count * kTileRows, height_ - y0);
    const std::span<const XYZf> done(buffer.data(), width * rows);
    if (scale == 1) {
      sink(y0, rows, done);
    } else {
      for (int y = 0; y < rows; ++y) {
        shrinker.add(done.subspan(width * y, width), [&](const std::vector<XYZ>& row) {
          std::transform(row.begin(), row.end(), small.begin(), to_float);
          sink(rows_out++, 1, small);
        });
      }
    }
    if (progress && !progress(static_cast<double>(y0 + rows) / height_)) throw Cancelled();
  }
}

}  // namespace kirtle
