#pragma once
// Dots on a raster of device pixels: each period of the screen with its right number of inked pixels, and
// these balanced about its middle.
//
// Rounding the edges of dots to pixels leaves a little too much ink here and too little there, in a pattern
// that beats against the screen and shows as a moire that no plate asked for. So the raster is divided among
// the periods, each pixel going to the one that holds its centre; a period's pixels then get as much ink as
// their tones add up to, by giving or taking pixels at the edges of its dot, and pairs of pixels there change
// places until the ink's first and second moments are those of a dot with exact edges. What is left of the
// beat is small below half the screen's frequency. Holes and joined dots are no special case.
#include "screen/dot_period.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// A rectangle of device pixels that holds every period asked for whole. Order of calls: ask() for the
/// periods wanted, then every Row's tint() or other() for each pixel of them, then settle(), then inked().
/// What a pixel becomes depends on its own period alone, not on where the rectangle lies. Limits: left as the
/// thresholds make them are periods with a pixel that no tint decides, and those whose tones differ by more
/// than kEvenTone.
class DotCells {
  static constexpr int kNear = 160;  // edge pixels kept a period; a period with more is read again
  static constexpr double kToneSteps = 1 << 24;  // sums of whole steps depend on no order
  static constexpr double kAboveSteps = 1
                                        << 28;  // pixels that lie alike are alike, whatever the last bits say

  struct Pixel {
    std::uint32_t period;
    std::int32_t above;  ///< tone less threshold, in steps
  };
  struct EdgePixel {
    std::int32_t above;
    int x, y;
    DotMoments moments;
    bool ink;
  };
  struct Run {
    std::int64_t tone = 0, x = 0, xx = 0, ink_x = 0, ink_xx = 0;
    std::int32_t least = INT32_MAX, most = 0;  ///< tones, in steps
    int pixels = 0, ink = 0;
  };
  struct Period {
    PixelSums pixels, ink;
    std::int64_t tone = 0;
    std::int32_t least = INT32_MAX, most = 0;
    int near = 0;         ///< pixels near the edge
    int x = 0, y = -1;    ///< the uppermost, then leftmost pixel
    double u = 0, v = 0;  ///< its place from the dot's middle
    bool asked = false, whole = true;
  };

 public:
  static constexpr double kEvenTone = 0.06;

  /// exact: of the dots' shape. A period has 4 pixels at least. exact must outlive this.
  DotCells(int width, int height, const PeriodRange& range, const PeriodStep& step,
           const ExactMoments& exact);

  /// Number of a period within the range; of one outside, that of the nearest.
  std::uint32_t period(const PeriodIndex& dot) const {
    const int u = std::clamp(dot.u, range_.u0, range_.u1), v = std::clamp(dot.v, range_.v0, range_.v1);
    return static_cast<std::uint32_t>((v - range_.v0) * across_ + (u - range_.u0));
  }
  void ask(std::uint32_t period) { periods_[period].asked = true; }
  bool asked(std::uint32_t period) const { return periods_[period].asked; }
  /// Pixels of one row, from left to right. done() at its end. Rows from top to bottom.
  class Row {
   public:
    Row(DotCells& cells, int y) : cells_(cells), start_(cells.index(0, y)), y_(y) {}
    /// A pixel of a tint, its centre at (u, v) in that period: tone 0..1 asked of the dots, threshold 0..1
    /// there.
    void tint(std::uint32_t period, int x, double u, double v, double tone, double threshold) {
      if (period != period_) {
        done();
        period_ = period;
        cells_.start(period, x, y_, u, v);
      }
      const auto steps = static_cast<std::int32_t>(tone * kToneSteps + 0.5);
      const int ink = threshold < tone;
      run_.least = std::min(run_.least, steps);
      run_.most = std::max(run_.most, steps);
      run_.tone += steps;
      ++run_.pixels;
      run_.x += x;
      run_.xx += x * x;
      run_.ink += ink;
      run_.ink_x += ink * x;
      run_.ink_xx += ink * x * x;
      const auto above = static_cast<std::int32_t>((tone - threshold) * kAboveSteps);
      const std::size_t i = start_ + static_cast<std::size_t>(x);
      cells_.pixels_[i] = {period, above};
      cells_.ink_[i] = static_cast<std::uint8_t>(ink);
      if (above > -cells_.near_steps_ && above < cells_.near_steps_) cells_.near(period, x, y_);
    }
    /// A pixel of that period that no tint decides.
    void other(std::uint32_t period) { cells_.periods_[period].whole = false; }
    void done() {
      if (run_.pixels > 0) cells_.add(period_, run_, y_);
      run_ = {};
    }

   private:
    DotCells& cells_;
    std::size_t start_;
    int y_;
    std::uint32_t period_ = UINT32_MAX;
    Run run_;
  };
  void settle();
  /// Is there ink, all dots and holes held? For pixels given to tint().
  bool inked(int x, int y) const { return ink_[index(x, y)] != 0; }

 private:
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(x);
  }
  void start(std::uint32_t period, int x, int y, double u, double v);
  void add(std::uint32_t period, const Run& run, int y);
  void near(std::uint32_t period, int x, int y) {
    int& n = periods_[period].near;
    if (n < kNear)
      near_[period * std::size_t{kNear} + static_cast<std::size_t>(n)] =
          static_cast<std::uint32_t>(index(x, y));
    ++n;
  }
  void settle(std::size_t at);
  void gather(std::size_t at, bool near_only);
  DotMoments moments(const Period& p, const PixelSums& sums) const;
  void balance(int inked, DotMoments lack);

  int width_, height_;
  PeriodRange range_;
  int across_;
  PeriodStep step_;
  double area_;
  const ExactMoments& exact_;
  bool along_;
  std::int32_t near_steps_;
  std::vector<Period> periods_;
  std::vector<std::uint32_t> near_;  ///< kNear pixels a period
  std::vector<Pixel> pixels_;
  std::vector<std::uint8_t> ink_;  ///< by pixel
  std::vector<EdgePixel> edge_;    ///< of the period at work
};

}  // namespace kirtle
