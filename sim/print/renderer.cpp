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

constexpr int kTileRows = 32;
constexpr int kBoxColumns = 128;
using Tuple = std::array<std::uint16_t, kMostPlates>;

/// A plate that is not the same all over a box.
struct Uneven {
  int plate;
  CoverRows rows;
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
  const std::size_t width = static_cast<std::size_t>(width_);
  KIRTLE_CHECK(out.size(), ==, width * rows);
  for (int x0 = 0; x0 < width_; x0 += kBoxColumns)
    xyz_box({x0, y0, std::min(kBoxColumns, width_ - x0), rows}, mixer, out.data() + x0, width);
}

void PrintRenderer::xyz_box(const PixelBox& box, Mixer& mixer, XYZf* out, std::size_t stride) const {
  // One pixel more on each side, for the slope of the distances.
  const int left = std::max(box.x0 - 1, 0), right = std::min(box.x0 + box.width + 1, width_);
  const PixelBox around{left, box.y0 - 1, right - left, box.rows + 2};
  Tuple cover{};
  std::vector<Uneven> uneven;
  for (std::size_t p = 0; p < covers_.size(); ++p) {
    if (const std::optional<std::uint16_t> even = covers_[p].even_cover(around)) {
      cover[p] = *even;
    } else {
      uneven.push_back({static_cast<int>(p), covers_[p].box(around)});
    }
  }
  if (uneven.empty()) {
    const XYZf xyz = mixer.mix(cover.data());
    for (int row = 0; row < box.rows; ++row)
      std::fill_n(out + static_cast<std::size_t>(row) * stride, box.width, xyz);
    return;
  }
  std::vector<int> edges;
  std::array<std::uint64_t, kMostPlates> masks{};
  const std::size_t wide = static_cast<std::size_t>(box.width);
  std::array<std::uint16_t, kBoxColumns> cut;    // which of the uneven plates cut the pixel
  std::array<std::uint16_t, kBoxColumns> other;  // not 0: it differs from its left neighbour
  std::vector<std::uint8_t> follows(wide * static_cast<std::size_t>(box.rows));
  for (int row = 0; row < box.rows; ++row) {
    const std::size_t first = static_cast<std::size_t>(row + 1) * static_cast<std::size_t>(around.width) +
                              static_cast<std::size_t>(box.x0 - left);
    cut.fill(0);
    other.fill(0);
    other[0] = 1;
    for (std::size_t u = 0; u < uneven.size(); ++u) {
      const std::uint16_t* c = uneven[u].rows.cover.data() + first;
      for (std::size_t x = 1; x < wide; ++x)
        other[x] = static_cast<std::uint16_t>(other[x] | (c[x] ^ c[x - 1]));
      if (uneven[u].rows.distance.empty()) continue;
      const float* d = uneven[u].rows.distance.data() + first;
      const auto bit = static_cast<std::uint16_t>(1u << u);
      for (std::size_t x = 0; x < wide; ++x)
        cut[x] = static_cast<std::uint16_t>(cut[x] | (std::abs(d[x]) < kEdgeHalfWidth ? bit : 0));
    }
    XYZf* to = out + static_cast<std::size_t>(row) * stride;
    for (std::size_t x = 0; x < wide; ++x) {
      if (cut[x] == 0 && other[x] == 0 && cut[x - 1] == 0) {
        follows[static_cast<std::size_t>(row) * wide + x] = 1;
        continue;
      }
      const std::size_t i = first + x;
      for (const Uneven& u : uneven) cover[u.plate] = u.rows.cover[i];
      if (cut[x] == 0) {
        mixer.put(cover.data(), to + x);
      } else if (std::has_single_bit(cut[x])) {
        const int e = uneven[std::countr_zero(cut[x])].plate;
        const double share = cover[e] / 65535.0;
        cover[e] = 65535;
        const XYZ in = to_double(mixer.mix(cover.data()));
        cover[e] = 0;
        const XYZ beside = to_double(mixer.mix(cover.data()));
        to[x] = to_float(in * share + beside * (1 - share));
      } else {
        edges.clear();
        for (std::size_t u = 0; u < uneven.size(); ++u) {
          if (!(cut[x] >> u & 1u)) continue;
          float gx = 0, gy = 0;
          slope(uneven[u].rows, height_, static_cast<int>(x) + box.x0 - left, row + 1, gx, gy);
          masks[edges.size()] = points_inside(uneven[u].rows.distance[i], gx, gy);
          edges.push_back(uneven[u].plate);
        }
        to[x] = to_float(mix_cut<XYZ>(edges, masks, cover,
                                      [&](const Tuple& t) { return to_double(mixer.mix(t.data())); }));
      }
    }
  }
  mixer.settle();
  for (int row = 0; row < box.rows; ++row) {
    XYZf* to = out + static_cast<std::size_t>(row) * stride;
    for (std::size_t x = 1; x < wide; ++x) {
      if (follows[static_cast<std::size_t>(row) * wide + x]) to[x] = to[x - 1];
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
  const int width_out = scaled(width_, scale), height_out = scaled(height_, scale);
  Shrinker shrinker(width_, height_, width_out, height_out);
  std::vector<XYZf> small(static_cast<std::size_t>(width_out));
  std::vector<XYZf> band(width * static_cast<std::size_t>(std::min(band_rows(threads), height_)));
  int rows_out = 0;
  const auto keep = [&](unsigned, int y0, int, std::span<const XYZf> xyz) {
    std::copy(xyz.begin(), xyz.end(),
              band.begin() + static_cast<std::ptrdiff_t>(width) * (y0 % band_rows(threads)));
  };
  render_bands(threads, progress, keep, [&](int y0, int rows) {
    const std::span<const XYZf> done(band.data(), width * static_cast<std::size_t>(rows));
    if (scale == 1) return sink(y0, rows, done);
    for (int y = 0; y < rows; ++y) {
      shrinker.add(done.subspan(width * static_cast<std::size_t>(y), width),
                   [&](const std::vector<XYZ>& row) {
                     std::transform(row.begin(), row.end(), small.begin(), to_float);
                     sink(rows_out++, 1, small);
                   });
    }
  });
}

int PrintRenderer::band_rows(unsigned threads) {
  constexpr int kTilesAThread = 8;
  return static_cast<int>(threads == 0 ? default_threads() : threads) * kTilesAThread * kTileRows;
}

void PrintRenderer::render_bands(unsigned threads, const Progress& progress,
                                 const std::function<void(unsigned, int, int, std::span<const XYZf>)>& work,
                                 const std::function<void(int, int)>& done) const {
  if (threads == 0) threads = default_threads();
  const std::size_t width = static_cast<std::size_t>(width_);
  std::vector<Mixer> mixers;
  for (unsigned t = 0; t < threads; ++t) mixers.emplace_back(table_);
  std::vector<std::vector<XYZf>> tiles(threads, std::vector<XYZf>(width * kTileRows));
  const int band = band_rows(threads);
  for (int first = 0; first < height_; first += band) {
    const int end = std::min(first + band, height_);
    const auto count = static_cast<std::size_t>((end - first + kTileRows - 1) / kTileRows);
    parallel_for(count, threads, [&](std::size_t item, unsigned worker) {
      const int y0 = first + static_cast<int>(item) * kTileRows, rows = std::min(kTileRows, end - y0);
      const std::span<XYZf> xyz(tiles[worker].data(), width * static_cast<std::size_t>(rows));
      xyz_rows(y0, rows, mixers[worker], xyz);
      work(worker, y0, rows, xyz);
    });
    done(first, end - first);
    if (progress && !progress(static_cast<double>(end) / height_)) throw Cancelled();
  }
}

}  // namespace kirtle
