#include "print/renderer.h"

#include "base/check.h"
#include "base/parallel.h"
#include "print/cut_pixel.h"
#include "print/render_box.h"
#include "print/shrinker.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

namespace kirtle {

using detail::is_edge;
using detail::mix_cut;
using detail::points_inside;
using detail::slope;
using detail::Tuple;

namespace {

constexpr int kTileRows = 64;
constexpr int kCellColumns = 64;  // for which it is found out whether a plate is the same all over them
static_assert(kCellColumns == 64 /* a word of ColourRuns */ && kCellColumns % kFormLanes == 0 &&
              detail::kMostBoxColumns % kCellColumns == 0);

/// Where a box ends that starts with a cell. Cells are joined while that costs less than a box of its own for
/// the next: every uneven plate of a box is looked at all over it and around it. uneven_in(cell): the plates
/// that are uneven there.
template <class UnevenIn>
int end_of_box(int from, int cells, const UnevenIn& uneven_in) {
  constexpr int kAround = 26;  // columns beside a box that are looked at, too
  std::uint32_t plates = uneven_in(from);
  if (plates == 0) return from + 1;
  const auto cost = [](std::uint32_t of, int count) {
    return std::popcount(of) * (count * kCellColumns + kAround);
  };
  int to = from + 1;
  for (; to < cells && (to - from) * kCellColumns < detail::kMostBoxColumns; ++to) {
    const std::uint32_t next = uneven_in(to), both = plates | next;
    if (next == 0 || cost(both, to - from + 1) > cost(plates, to - from) + cost(next, 1)) break;
    plates = both;
  }
  return to;
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

RenderWorker::RenderWorker(const OverprintTable& table)
    : mixer(table), rows(static_cast<std::size_t>(table.plates())) {}

void PrintRenderer::xyz_rows(int y0, int rows, RenderWorker& worker, std::span<XYZf> out) const {
  const ColourRuns colours = runs(y0, rows, worker);
  KIRTLE_CHECK(3 * out.size(), ==, colours.xyz.size());
  colours.fill();
  std::copy_n(worker.xyz.begin(), out.size(), out.begin());
}

ColourRuns PrintRenderer::runs(int y0, int rows, RenderWorker& worker) const {
  const std::size_t width = static_cast<std::size_t>(width_), words = ColourRuns::words(width_);
  const std::size_t pixels = width * static_cast<std::size_t>(rows);
  worker.xyz.resize(std::max(worker.xyz.size(), pixels));
  worker.begins.resize(std::max(worker.begins.size(), words * static_cast<std::size_t>(rows)));
  // Side by side, cells in which no plate changes, and boxes of those in which some do.
  const int cells = (width_ + kCellColumns - 1) / kCellColumns;
  std::vector<std::vector<std::optional<std::uint16_t>>> even(covers_.size());
  for (auto& cells_of_plate : even) cells_of_plate.resize(static_cast<std::size_t>(cells));
  for (std::size_t p = 0; p < covers_.size(); ++p) find_even(p, 0, cells, y0, rows, even[p]);
  const auto uneven_in = [&](int cell) {
    std::uint32_t plates = 0;
    for (std::size_t p = 0; p < even.size(); ++p)
      plates |= static_cast<std::uint32_t>(!even[p][static_cast<std::size_t>(cell)]) << p;
    return plates;
  };
  std::vector<detail::Uneven> uneven;
  std::optional<Tuple> before;  // of the cell before, if it is even
  for (int from = 0; from < cells;) {
    const int to = end_of_box(from, cells, uneven_in);
    const PixelBox box = box_of(from, to, y0, rows);
    detail::Tuple cover{};
    uneven.clear();
    for (std::size_t p = 0; p < covers_.size(); ++p) {
      const auto begin = even[p].begin() + from, end = even[p].begin() + to;
      const bool same =
          begin->has_value() && std::all_of(begin, end, [&](const auto& e) { return e == *begin; });
      if (same) {
        cover[p] = **begin;
      } else {
        covers_[p].box(with_border(box), worker.scratch, worker.rows[p]);
        uneven.push_back({static_cast<int>(p), &worker.rows[p]});
      }
    }
    const std::size_t x0 = static_cast<std::size_t>(box.x0);
    const detail::RunTarget out{worker.xyz.data() + x0, worker.begins.data() + x0 / 64, width, words};
    if (!uneven.empty()) {
      detail::render_box(box, height_, cover, uneven, worker.mixer, out);
      before.reset();
    } else {
      // One colour all over the cell: where the cell before has it, too, it goes on.
      const bool begins = cover != before;
      XYZf xyz;
      if (begins) {
        worker.mixer.put(cover.data(), &xyz);
        worker.mixer.settle();
      }
      for (std::size_t row = 0; row < static_cast<std::size_t>(rows); ++row) {
        out.begins[row * words] = begins;
        if (begins) out.xyz[row * width] = xyz;
      }
      before = cover;
    }
    from = to;
  }
  return {width_,
          rows,
          {&worker.xyz.data()->x, 3 * pixels},
          {worker.begins.data(), words * static_cast<std::size_t>(rows)}};
}

/// Of a plate, in which cells it is the same all over: many at once while it is.
void PrintRenderer::find_even(std::size_t plate, int from_cell, int to_cell, int y0, int rows,
                              std::span<std::optional<std::uint16_t>> even) const {
  constexpr int kMostAtOnce = 16;
  const int count = to_cell - from_cell;
  if (count <= kMostAtOnce) {
    const auto cover = covers_[plate].even_cover(with_border(box_of(from_cell, to_cell, y0, rows)));
    std::fill(even.begin() + from_cell, even.begin() + to_cell, cover);
    if (cover || count == 1) return;
  }
  const int middle = from_cell + count / 2;
  find_even(plate, from_cell, middle, y0, rows, even);
  find_even(plate, middle, to_cell, y0, rows, even);
}

PixelBox PrintRenderer::box_of(int from_cell, int to_cell, int y0, int rows) const {
  const int x0 = from_cell * kCellColumns;
  return {x0, y0, std::min(to_cell * kCellColumns, width_) - x0, rows};
}

/// One pixel more on each side, for the slope of the distances.
PixelBox PrintRenderer::with_border(const PixelBox& box) const {
  const int left = std::max(box.x0 - 1, 0), right = std::min(box.x0 + box.width + 1, width_);
  return {left, box.y0 - 1, right - left, box.rows + 2};
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
  const auto keep = [&](unsigned, int y0, const ColourRuns& colours) {
    colours.fill();
    std::copy(colours.xyz.begin(), colours.xyz.end(),
              &band[width * static_cast<std::size_t>(y0 % band_rows(threads))].x);
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
                                 const std::function<void(unsigned, int, const ColourRuns&)>& work,
                                 const std::function<void(int, int)>& done) const {
  if (threads == 0) threads = default_threads();
  std::vector<RenderWorker> workers;
  for (unsigned t = 0; t < threads; ++t) workers.emplace_back(table_);
  const int band = band_rows(threads);
  for (int first = 0; first < height_; first += band) {
    const int end = std::min(first + band, height_);
    const auto count = static_cast<std::size_t>((end - first + kTileRows - 1) / kTileRows);
    parallel_for(count, threads, [&](std::size_t item, unsigned worker) {
      const int y0 = first + static_cast<int>(item) * kTileRows, rows = std::min(kTileRows, end - y0);
      work(worker, y0, runs(y0, rows, workers[worker]));
    });
    done(first, end - first);
    if (progress && !progress(static_cast<double>(end) / height_)) throw Cancelled();
  }
}

}  // namespace kirtle
