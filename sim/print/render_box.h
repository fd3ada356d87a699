#pragma once
// Columns of the print at arm's length, from coverages to colours. Internal to the renderer.
#include "print/cover.h"
#include "print/mixer.h"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle::detail {

using Tuple = std::array<std::uint16_t, kMostPlates>;  ///< cover of each plate

constexpr int kGroup = kFormLanes;  ///< pixels looked at together, from a multiple of it on
static_assert(kGroup == kNearBlock && kGroup == kEvenCell);

/// A plate that is not the same all over a span. Its rows have one pixel more on each side of it, but for
/// columns that the print does not have.
struct Uneven {
  int plate = 0;
  const CoverRows* rows = nullptr;
};

/// Columns over which the same plates are uneven: whole groups, but for the print's right border.
struct BoxSpan {
  int x0 = 0, width = 0;  ///< x0: of the print
  Tuple cover{};          ///< of the plates that are the same all over it, and all around it
  std::array<Uneven, kMostPlates> uneven{};
  std::size_t count = 0;  ///< of uneven
};

/// Where the colours of rows go (light/colour_runs.h): xyz and begins are of the first pixel of the first
/// row; rows are `stride` pixels and `words` apart.
struct RunTarget {
  XYZf* xyz = nullptr;
  std::uint64_t* begins = nullptr;
  std::size_t stride = 0, words = 0;
};

/// Colours of rows y0 .. y0 + rows - 1 of spans that lie side by side; begins is set, and other bits of the
/// same words are left. The uneven plates' rows begin one row above. height: of the print.
void render_spans(std::span<const BoxSpan> spans, int rows, int height, Mixer& mixer, const RunTarget& out);

/// Area mean of a pixel cut by contours: masks holds for each of `edges` which of the 64 points lie inside
/// it. mix(tuple) gives the colour of one side; Colour needs += and * double.
template <class Colour, class Mix>
Colour mix_cut(std::span<const int> edges, std::span<const std::uint64_t> masks, Tuple cover,
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

}  // namespace kirtle::detail
