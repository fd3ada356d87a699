#pragma once
// Dots of a frequency-modulated screen as they print: clusters that the stencil loses, holes that it fills,
// edges moved by the ink spread.
#include "base/units.h"

#include <cstdint>
#include <memory>
#include <vector>

namespace kirtle {

/// One tile (noise_dots.h) as printed with one dot, ink spread and stencil.
///
/// Dots are squares of one size; where they touch along an edge they are one cluster, and so are the holes. A
/// cluster that the stencil cannot hold by its area (held_share in tone.h, with the area of round dots) is
/// there or not as a whole, by the chance of its first dot; once it has grown until it holds, it stays at
/// every darker tone. Holes likewise. So the tile remains a square of thresholds, only that some are later
/// and some earlier. Ink spread then moves every edge: a point is ink if any dot (inward: if every dot)
/// within reach of it is.
///
/// Limits: dots touching by a corner alone hold as two. Lost dots repeat with the tile, every 128 dots.
class NoisePrint {
 public:
  /// dot: side, > 0. spread: outward movement of every edge. smallest_dot: diameter that the stencil holds,
  /// >= 0.
  NoisePrint(Um dot, Um spread, Um smallest_dot);
  /// Is there ink at this place where the film's tone is `film`, 0..1? Dots lie in line with x and y, one
  /// with its corner at 0, 0.
  bool inked(double x_mm, double y_mm, double film) const;
  /// Coverage over the whole tile, 0..1, rising: film 0..1. Exact but for the edge's own raster, 1/16 of a
  /// dot.
  double printed(double film) const;
  /// Side of the tile.
  Mm tile() const;

 private:
  int rank(int x, int y) const;
  void lose_and_fill(Um dot, Um smallest_dot);
  void count();

  double side_mm_ = 0;
  double spread_ = 0;                ///< in dots
  int reach_ = 0;                    ///< dots that a moved edge can come from, each way
  std::vector<std::uint16_t> rank_;  ///< ink at film levels (1 / samples) above it
  std::vector<double> printed_;      ///< at film = i / samples
};

/// The same, kept: made once for each dot, spread and stencil. Thread-safe.
std::shared_ptr<const NoisePrint> noise_print(Um dot, Um spread, Um smallest_dot);

}  // namespace kirtle
