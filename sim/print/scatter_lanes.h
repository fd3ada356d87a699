#pragma once
// What scatter does at every pixel, eight bands or planes side by side. Tables go by the kind of pile that
// lies there; the values do not depend on the processor.
#include "print/mixer.h"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

constexpr std::size_t kScatterLanes = 8;

struct alignas(32) ScatterLane {
  float v[kScatterLanes] = {};
};
struct alignas(16) ScatterColour {
  float v[4] = {};  ///< X, Y, Z, 0
};

/// Planes of numbers and what kinds make of them.
struct PlaneMix {
  std::vector<const float*> planes;
  std::vector<ScatterLane> table;  ///< of every kind one a plane
};

/// xyz += the sum of planes times the colours of the pixel's kind: one a plane.
void add_plane_colours(std::span<const std::uint32_t> kind, std::span<const float* const> planes,
                       std::span<const ScatterColour> colours, std::span<XYZf> xyz);

/// out = the mix at every pixel.
void mix_planes(std::span<const std::uint32_t> kind, const PlaneMix& mix, std::span<ScatterLane> out);

/// The sum over lanes of light times table[(kind groups + p / 8) 8 + lane].v[p % 8], where groups are of
/// eight planes, set as planes[p] or added to it.
void lanes_to_planes(std::span<const std::uint32_t> kind, std::span<const ScatterLane> light,
                     std::span<const ScatterLane> table, bool add, std::span<float* const> planes);

constexpr std::size_t kScatterRun = 64;  ///< pixels

/// A mix at those runs of pixels where it is not next to nothing.
struct SparseMix {
  std::vector<std::uint32_t> at;    ///< one a run: where its values begin, in runs; kNone: none are kept
  std::vector<ScatterLane> values;  ///< kScatterRun each
  static constexpr std::uint32_t kNone = UINT32_MAX;
};
/// least: runs whose values are all under this are not kept.
SparseMix mix_sparsely(std::span<const std::uint32_t> kind, const PlaneMix& mix, float least);

/// Tables of eight bands whose light goes round, by kind.
struct RoundTables {
  std::vector<ScatterLane> ground, back;
  std::vector<ScatterColour> colours;  ///< of every kind one a lane
  SparseMix kept;                      ///< what of a film's light does not come back where it went in
};

/// One round: light going up = (ground - kept) light + next; its colour is added to xyz, and the part that
/// the layers above turn back is the new light. Returns the mean squares of that.
ScatterLane go_round(std::span<const std::uint32_t> kind, const RoundTables& tables, const PlaneMix& next,
                     std::span<ScatterLane> light, std::span<XYZf> xyz);

}  // namespace kirtle
