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
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// A rectangle of device pixels that holds every period asked for whole. Order of calls: ask() for the
/// periods wanted, then row() for every row from the top, then settle(), then inked().
/// What a pixel becomes depends on its own period alone, not on where the rectangle lies. Limits: left as the
/// thresholds make them are periods with a pixel that no tint decides, and those whose tones differ by more
/// than kEvenTone.
class DotCells {
 public:
  static constexpr double kEvenTone = 0.06;
  static constexpr double kNoTint = -1;  ///< or less: for a tone

  /// A period has 4 pixels at least. Not for noise.
  DotCells(int width, int height, const PeriodRange& range, const PeriodStep& step, DotShape shape);

  /// Number of a period within the range; of one outside, that of the nearest.
  std::uint32_t period(const PeriodIndex& dot) const {
    const int u = std::clamp(dot.u, range_.u0, range_.u1), v = std::clamp(dot.v, range_.v0, range_.v1);
    return static_cast<std::uint32_t>((v - range_.v0) * across_ + (u - range_.u0));
  }
  /// The same of many places of the screen, in periods.
  void periods(std::span<const double> u, std::span<const double> v, std::span<std::uint32_t> out) const;
  void ask(std::uint32_t period) { periods_[period].asked = true; }
  /// How near a threshold must be to the tone for its pixel to be one that may be given or taken: 0..1.
  double near_tone() const { return near_steps_ / kAboveSteps; }

  /// Pixels of one row that lie side by side: period, place in it, tone 0..1 asked of the dots, threshold
  /// there.
  struct RowPart {
    int x = 0, y = 0;  ///< of the first
    std::span<const std::uint32_t> period;
    std::span<const double> u, v, tone, threshold;
  };
  /// Outside columns from .. to - 1 only periods asked for count.
  void row(const RowPart& part, int from, int to);
  void settle();
  /// Is there ink, all dots and holes held? For pixels of tints in row(); row by row, 1 or 0.
  const std::uint8_t* inked(int x, int y) const { return ink_.data() + index(x, y); }

 private:
  static constexpr int kNear = 160;  // edge pixels kept a period; a period with more is read again
  static constexpr double kToneSteps = 1 << 24;  // sums of whole steps depend on no order
  static constexpr double kAboveSteps = 1
                                        << 28;  // pixels that lie alike are alike, whatever the last bits say

  struct Period {
    PixelSums pixels, ink;
    std::int64_t tone = 0;                     ///< in steps
    std::int32_t least = INT32_MAX, most = 0;  ///< tones, in steps
    int near = 0;                              ///< pixels near the edge
    int x = 0, y = -1;                         ///< the uppermost, then leftmost pixel
    double u = 0, v = 0;                       ///< its place from the dot's middle
    bool asked = false, whole = true;
  };
  /// The pixels of a period that may change, side by side for wide registers.
  struct Edge {
    std::vector<std::uint64_t> order;  ///< by what lies above the threshold, then by pixel
    std::vector<double> u, v, uu, uv, vv, energy;
    std::array<std::vector<double>, 2> bar;  ///< of those without and with ink: 0, of the others huge
    std::vector<double> then;
    std::size_t pixel(std::size_t i) const { return order[i] & 0xFFFFFFFFu; }
    void resize(std::size_t size);
    bool ink(std::size_t i) const { return bar[1][i] == 0; }
    void set_ink(std::size_t i, bool ink);
    DotMoments moments(std::size_t i) const { return {u[i], v[i], uu[i], uv[i], vv[i]}; }
  };

  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(x);
  }
  void add(std::uint32_t period, int x, int y, int count, double u, double v);
  void settle(std::size_t at);
  void settle_counted(std::size_t at);
  void settle_cut(std::size_t at);
  DotMoments covered_part(const Period& p, std::size_t pixel, double& area) const;
  void ink_first(const Period& p, int inked);
  PeriodIndex dot(std::size_t at) const;
  /// (u, v) of a pixel, from the dot's middle.
  std::array<double, 2> place(const Period& p, std::size_t pixel) const;
  void gather(std::size_t at, bool near_only);
  DotMoments moments(const Period& p, const PixelSums& sums) const;
  void balance(int inked, DotMoments lack);
  int best(int from, int to, bool ink, const DotMoments& before, double& least);

  int width_, height_;
  PeriodRange range_;
  int across_;
  PeriodStep step_;
  double area_;
  DotShape shape_;
  const ExactMoments& exact_;
  bool along_;    ///< the raster's rows, columns or diagonals
  bool squared_;  ///< its rows and columns
  std::int32_t near_steps_;
  std::vector<Period> periods_;
  std::vector<std::uint32_t> near_;       ///< kNear pixels a period
  std::vector<std::int32_t> above_;       ///< by pixel: tone less threshold, in steps
  std::vector<std::uint32_t> period_of_;  ///< by pixel
  std::vector<std::uint8_t> ink_;         ///< by pixel
  std::vector<std::int32_t> tone_;        ///< of the row at work, in steps
  Edge edge_;                             ///< of the period at work
};

}  // namespace kirtle
