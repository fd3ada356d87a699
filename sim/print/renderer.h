#pragma once
// The print at arm's length: plates to XYZ, tile by tile.
//
// Per pixel: the coverage of every plate (cover.h), mixed by the overprint table. Edges are geometry: a pixel
// cut by one contour is the area mean of its two sides; cut by several, each side is found on an 8 x 8 grid
// of points, so that two plates that butt leave nothing between them that is not there. Tuples of coverage
// that repeat are worked out once.
#include "base/progress.h"
#include "light/colour_runs.h"
#include "print/cover.h"
#include "print/mixer.h"
#include "print/render_box.h"

#include <deque>
#include <functional>
#include <optional>
#include <span>
#include <vector>

namespace kirtle {

/// What a thread that renders keeps from row to row. One a thread.
struct RenderWorker {
  explicit RenderWorker(const OverprintTable& table);
  Mixer mixer;
  CoverScratch scratch;
  std::vector<std::vector<std::optional<std::uint16_t>>> even;  ///< by plate: PlateCover::even_cells()
  std::deque<CoverRows> rows;                                   ///< of plates where they are uneven
  std::vector<detail::BoxSpan> spans;
  std::vector<XYZf> xyz;
  std::vector<std::uint64_t> begins;
};

class PrintRenderer {
 public:
  /// covers: one a plate of the table, in its order, all of one size. Both must outlive this.
  PrintRenderer(const OverprintTable& table, const std::vector<PlateCover>& covers);

  int width() const { return width_; }
  int height() const { return height_; }

  /// Rows y0 .. y0 + rows - 1 at plate resolution into out (rows * width).
  void xyz_rows(int y0, int rows, RenderWorker& worker, std::span<XYZf> out) const;

  /// One pixel in double, from the plates up, nothing cached: the slow twin.
  Spectrum reflectance_at(int x, int y) const;
  XYZ xyz_at(int x, int y) const;

  /// The whole print. scale 0 < scale <= 1: each output pixel is the area mean, in XYZ, of the plate pixels
  /// under it. sink gets rows in order, from the top. The values do not depend on `threads`. Throws
  /// Cancelled.
  void render(double scale, unsigned threads, const Progress& progress,
              const std::function<void(int y0, int rows, std::span<const XYZf> xyz)>& sink) const;

  /// The whole print at plate resolution, for work that can be done where the rows are made: work(worker, y0,
  /// colours) in `threads` threads (0 = default_threads(); worker < threads), then done(y0, rows) in order,
  /// from the top. Rows come in bands of at most band_rows(threads). Throws Cancelled.
  void render_bands(unsigned threads, const Progress& progress,
                    const std::function<void(unsigned worker, int y0, const ColourRuns& colours)>& work,
                    const std::function<void(int y0, int rows)>& done) const;
  static int band_rows(unsigned threads);

  /// Size of the picture at a scale.
  static int scaled(int pixels, double scale);

 private:
  /// Rows at plate resolution, in the worker's memory.
  ColourRuns runs(int y0, int rows, RenderWorker& worker) const;
  void render_cells(int from, int to, int y0, int rows, RenderWorker& worker) const;
  PixelBox box_of(int from_cell, int to_cell, int y0, int rows) const;
  PixelBox with_border(const PixelBox& box) const;

  const OverprintTable& table_;
  const std::vector<PlateCover>& covers_;
  int width_ = 0, height_ = 0;
};

}  // namespace kirtle
