#pragma once
// One box of the print at arm's length, from coverages to colours. Internal to the renderer.
#include "print/cover.h"
#include "print/mixer.h"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle::detail {

using Tuple = std::array<std::uint16_t, kMostPlates>;  ///< cover of each plate

/// Columns of a box: a multiple of kFormLanes, from a multiple of it on, so that the same sixteen pixels are
/// looked at together wherever the box begins.
constexpr int kMostBoxColumns = 512;

/// A plate that is not the same all over a box. Its rows have one pixel more on each side of the box, but for
/// columns that the print does not have.
struct Uneven {
  int plate = 0;
  const CoverRows* rows = nullptr;
};

/// Where the colours of a box go (light/colour_runs.h): xyz and begins are of its first pixel, which starts a
/// word; rows are `stride` pixels and `words` apart.
struct RunTarget {
  XYZf* xyz = nullptr;
  std::uint64_t* begins = nullptr;
  std::size_t stride = 0, words = 0;
};

/// Colours of a box in which some plate is uneven. cover: of the plates that are the same all over it.
/// height: of the print.
void render_box(const PixelBox& box, int height, Tuple cover, const std::vector<Uneven>& uneven, Mixer& mixer,
                const RunTarget& out);

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
