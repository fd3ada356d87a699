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
// Cells worked out together: the distances of all plates over them stay in the cache.
constexpr int kCellsTogether = 32;
// Even cells between two that are not, which are worked out with them: a box of its own costs more.
constexpr int kLeastGap = 2;

/// What of one plate lies over some cells: rows where it is uneven, else its one cover.
struct OverCells {
  std::array<const CoverRows*, kCellsTogether> rows{};
  std::array<std::uint16_t, kCellsTogether> cover{};
};

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
    : mixer(table), even(static_cast<std::size_t>(table.plates())) {}

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
  std::fill_n(worker.begins.begin(), words * static_cast<std::size_t>(rows), std::uint64_t{0});
  const int cells = (width_ + kEvenCell - 1) / kEvenCell;
  for (std::size_t p = 0; p < covers_.size(); ++p) {
    worker.even[p].resize(static_cast<std::size_t>(cells));
    covers_[p].even_cells(y0, rows, worker.scratch, worker.even[p]);
  }
  for (int from = 0; from < cells; from += kCellsTogether)
    render_cells(from, std::min(from + kCellsTogether, cells), y0, rows, worker);
  return {width_,
          rows,
          {&worker.xyz.data()->x, 3 * pixels},
          {worker.begins.data(), words * static_cast<std::size_t>(rows)}};
}

void PrintRenderer::render_cells(int from, int to, int y0, int rows, RenderWorker& worker) const {
  std::array<OverCells, kMostPlates> over;
  std::size_t boxes = 0;
  for (std::size_t p = 0; p < covers_.size(); ++p) {
    const auto& even = worker.even[p];
    for (int cell = from; cell < to;) {
      if (even[static_cast<std::size_t>(cell)]) {
        over[p].cover[static_cast<std::size_t>(cell - from)] = *even[static_cast<std::size_t>(cell)];
        ++cell;
        continue;
      }
      int end = cell + 1, gap = 0;  // end: behind the last uneven one
      for (int next = end; next < to && gap < kLeastGap; ++next) {
        gap = even[static_cast<std::size_t>(next)] ? gap + 1 : 0;
        if (gap == 0) end = next + 1;
      }
      if (boxes == worker.rows.size()) worker.rows.emplace_back();
      CoverRows& own = worker.rows[boxes++];
      covers_[p].box(with_border(box_of(cell, end, y0, rows)), worker.scratch, own);
      for (; cell < end; ++cell) over[p].rows[static_cast<std::size_t>(cell - from)] = &own;
    }
  }
  worker.spans.clear();
  for (int cell = from; cell < to; ++cell) {
    const PixelBox box = box_of(cell, cell + 1, y0, rows);
    detail::BoxSpan span;
    span.x0 = box.x0;
    span.width = box.width;
    const std::size_t at = static_cast<std::size_t>(cell - from);
    bool as_before = cell > from;
    for (std::size_t p = 0; p < covers_.size(); ++p) {
      as_before = as_before && over[p].rows[at] == over[p].rows[at - 1];
      if (over[p].rows[at] != nullptr) {
        span.uneven[span.count++] = {static_cast<int>(p), over[p].rows[at]};
      } else {
        span.cover[p] = over[p].cover[at];
      }
    }
    if (as_before) {
      worker.spans.back().width += span.width;
    } else {
      worker.spans.push_back(span);
    }
  }
  detail::render_spans(
      worker.spans, rows, height_, worker.mixer,
      {worker.xyz.data(), worker.begins.data(), static_cast<std::size_t>(width_), ColourRuns::words(width_)});
}

PixelBox PrintRenderer::box_of(int from_cell, int to_cell, int y0, int rows) const {
  const int x0 = from_cell * kEvenCell;
  return {x0, y0, std::min(to_cell * kEvenCell, width_) - x0, rows};
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
