#pragma once
// Dots on a raster of device pixels: each period of the screen with its right number of inked pixels, and
// these evenly about its middle.
//
// Rounding the edges of dots to pixels leaves a little too much ink here and too little there, in a pattern
// that beats against the screen and shows as a moire that no plate asked for. So the raster is divided among
// the periods, each pixel going to the one that holds its centre; a period's pixels then get as much ink as
// their tones add up to (first the number, then the first moments in x and y), by giving or taking pixels at
// the edges of its dot. What is left of the beat is of the second order. Holes and joined dots are no special
// case.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// The periods about dots u0..u1, v0..v1 of a screen, both ends included.
struct PeriodRange {
  int u0 = 0, v0 = 0, u1 = -1, v1 = -1;
};

/// One pixel of a period, as it stands to its dot's edge.
struct EdgePixel {
  std::int32_t above = 0;  ///< tone less threshold, in steps
  int x = 0, y = 0;
};

/// The period that holds (u, v), by its dot; at a border the next one, the last bits aside.
struct PeriodIndex {
  PeriodIndex(double u_at, double v_at) : u(nearest(u_at)), v(nearest(v_at)) {}
  int u, v;

 private:
  static int nearest(double x) {
    const double up = x + 0.5 + 1e-6;  // pixels of even screens lie on borders: aside
    const int whole = static_cast<int>(up);
    return static_cast<double>(whole) > up ? whole - 1 : whole;
  }
};

/// A rectangle of device pixels that holds every period asked for whole. Order of calls: ask() for the
/// periods wanted, then every Row's tint() or other() for each pixel of them, then settle(), then inked().
/// What a pixel becomes depends on its own period alone, not on where the rectangle lies. Limits: left as the
/// thresholds make them are periods with a pixel that no tint decides, and those whose tones differ by more
/// than kEvenTone.
class DotCells {
  static constexpr int kNear = 64;  // edge pixels kept a period; a period with more is read again
  static constexpr double kToneSteps = 1 << 24;  // sums of whole steps depend on no order
  static constexpr double kAboveSteps = 1
                                        << 28;  // pixels that lie alike are alike, whatever the last bits say
  static constexpr std::int32_t kNever = INT32_MIN, kAlways = INT32_MAX;

  struct Pixel {
    std::uint32_t period;
    std::int32_t above;
  };
  /// Sums over pixels of a row; tones in steps.
  struct Run {
    std::int64_t tone = 0, tone_x = 0;
    std::int32_t least = INT32_MAX, most = 0;  ///< tones
    int pixels = 0, x = 0, ink = 0, ink_x = 0;
  };
  struct Period {
    void add(const Run& run, int row) {
      tone += run.tone;
      tone_x += run.tone_x;
      tone_y += run.tone * row;
      least = std::min(least, run.least);
      most = std::max(most, run.most);
      pixels += run.pixels;
      x += run.x;
      y += std::int64_t{run.pixels} * row;
      ink += run.ink;
      ink_x += run.ink_x;
      ink_y += std::int64_t{run.ink} * row;
    }
    std::int64_t tone = 0, tone_x = 0, tone_y = 0, x = 0, y = 0, ink_x = 0, ink_y = 0;
    std::int32_t least = INT32_MAX, most = 0;
    int pixels = 0, ink = 0;
    int near = 0, near_ink = 0;  ///< pixels near the edge; those of them inked
    bool asked = false, whole = true;
  };

 public:
  static constexpr double kEvenTone = 0.06;

  /// area: of a period, in pixels, 4 at least.
  DotCells(int width, int height, const PeriodRange& range, double area);

  /// Number of a period within the range; of one outside, that of the nearest.
  std::uint32_t period(const PeriodIndex& dot) const {
    const int u = std::clamp(dot.u, range_.u0, range_.u1), v = std::clamp(dot.v, range_.v0, range_.v1);
    return static_cast<std::uint32_t>((v - range_.v0) * across_ + (u - range_.u0));
  }
  void ask(std::uint32_t period) { periods_[period].asked = true; }
  bool asked(std::uint32_t period) const { return periods_[period].asked; }
  /// Pixels of one row, from left to right. done() at its end.
  class Row {
   public:
    Row(DotCells& cells, int y) : cells_(cells), start_(cells.index(0, y)), y_(y) {}
    /// A pixel of a tint, its centre in that period: tone 0..1 asked of the dots, threshold 0..1 of its
    /// place.
    void tint(std::uint32_t period, int x, double tone, double threshold) {
      if (period != period_) {
        done();
        period_ = period;
      }
      const auto steps = static_cast<std::int32_t>(tone * kToneSteps + 0.5);
      const int ink = threshold < tone;
      run_.least = std::min(run_.least, steps);
      run_.most = std::max(run_.most, steps);
      ++run_.pixels;
      run_.x += x;
      run_.tone += steps;
      run_.tone_x += static_cast<std::int64_t>(steps) * x;
      run_.ink += ink;
      run_.ink_x += ink * x;
      const std::int32_t above = tone <= 0   ? kNever
                                 : tone >= 1 ? kAlways
                                             : static_cast<std::int32_t>((tone - threshold) * kAboveSteps);
      const std::size_t i = start_ + static_cast<std::size_t>(x);
      cells_.pixels_[i] = {period, above};
      cells_.ink_[i] = static_cast<std::uint8_t>(ink);
      if (above > -cells_.near_steps_ && above < cells_.near_steps_) cells_.near(period, {above, x, y_}, ink);
    }
    /// A pixel of that period that no tint decides.
    void other(std::uint32_t period) { cells_.periods_[period].whole = false; }
    void done() {
      if (run_.pixels > 0) cells_.periods_[period_].add(run_, y_);
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
  void near(std::uint32_t period, const EdgePixel& pixel, int ink) {
    Period& p = periods_[period];
    if (p.near < kNear) edges_[period * std::size_t{kNear} + static_cast<std::size_t>(p.near)] = pixel;
    ++p.near;
    p.near_ink += ink;
  }
  static bool fixed(const EdgePixel& p) { return p.above == kNever || p.above == kAlways; }
  void settle(std::size_t at);
  void gather(std::size_t at, std::vector<EdgePixel>& pixels) const;

  int width_, height_;
  PeriodRange range_;
  int across_;
  double area_;
  std::int32_t near_steps_;
  std::vector<Period> periods_;
  std::vector<EdgePixel> edges_;  ///< kNear a period
  std::vector<Pixel> pixels_;
  std::vector<std::uint8_t> ink_;  ///< by pixel
};

/// An even spread of 0..1 over the periods, by which counts are rounded so that they are right in the mean.
/// Source: the R2 sequence (powers of the inverse plastic number; Roberts 2018, from memory).
double rounding_share(const PeriodIndex& period);

}  // namespace kirtle
