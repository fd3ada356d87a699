#include "print/scatter_lanes.h"

#include "base/simd.h"

#include <algorithm>
#include <cstring>

namespace kirtle {

namespace {

using Lanes = float __attribute__((vector_size(32)));
using Four = float __attribute__((vector_size(16)));

KIRTLE_WIDE void plane_colours(const std::uint32_t* kind, std::size_t pixels, const float* const* planes,
                               std::size_t count, const ScatterColour* colours, XYZf* xyz) {
  for (std::size_t i = 0; i < pixels; ++i) {
    const ScatterColour* of_kind = colours + kind[i] * count;
    Four sum{};
    for (std::size_t q = 0; q < count; ++q) {
      Four c;
      std::memcpy(&c, of_kind[q].v, sizeof c);
      sum += c * planes[q][i];
    }
    xyz[i].x += sum[0];
    xyz[i].y += sum[1];
    xyz[i].z += sum[2];
  }
}

KIRTLE_INLINE void mix_at(const ScatterLane* of_kind, const float* const* planes, std::size_t count,
                          std::size_t i, Lanes& sum) {
  for (std::size_t q = 0; q < count; ++q) {
    Lanes c;
    std::memcpy(&c, of_kind[q].v, sizeof c);
    sum += c * planes[q][i];
  }
}

KIRTLE_WIDE void mix_all(const std::uint32_t* kind, std::size_t pixels, const float* const* planes,
                         std::size_t count, const ScatterLane* table, ScatterLane* out) {
  for (std::size_t i = 0; i < pixels; ++i) {
    Lanes sum{};
    mix_at(table + kind[i] * count, planes, count, i, sum);
    std::memcpy(out[i].v, &sum, sizeof sum);
  }
}

KIRTLE_WIDE void lanes_to_planes(const std::uint32_t* kind, std::size_t pixels, const ScatterLane* light,
                                 const ScatterLane* table, std::size_t stride, float* const* planes,
                                 std::size_t count) {
  for (std::size_t i = 0; i < pixels; ++i) {
    const ScatterLane* of_kind = table + kind[i] * stride;
    Lanes sum{};
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) {
      Lanes c;
      std::memcpy(&c, of_kind[lane].v, sizeof c);
      sum += c * light[i].v[lane];
    }
    for (std::size_t p = 0; p < count; ++p) planes[p][i] += sum[p];
  }
}

struct Round {
  const ScatterLane *ground, *back;
  const ScatterColour* colours;
  const float* const* kept_planes;
  const ScatterLane* kept;
  std::size_t kept_count;
  const float* const* next_planes;
  const ScatterLane* next;
  std::size_t next_count;
};

KIRTLE_WIDE void round_of(const std::uint32_t* kind, std::size_t pixels, std::size_t from, const Round& r,
                          ScatterLane* light, XYZf* xyz, float* squares) {
  Lanes sum{};
  for (std::size_t i = from; i < from + pixels; ++i) {
    const std::size_t k = kind[i];
    Lanes down, factor, gone{}, up{};
    std::memcpy(&down, light[i].v, sizeof down);
    std::memcpy(&factor, r.ground[k].v, sizeof factor);
    mix_at(r.kept + k * r.kept_count, r.kept_planes, r.kept_count, i, gone);
    mix_at(r.next + k * r.next_count, r.next_planes, r.next_count, i, up);
    up += (factor - gone) * down;
    Four colour{};
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) {
      Four c;
      std::memcpy(&c, r.colours[k * kScatterLanes + lane].v, sizeof c);
      colour += c * up[lane];
    }
    xyz[i].x += colour[0];
    xyz[i].y += colour[1];
    xyz[i].z += colour[2];
    std::memcpy(&factor, r.back[k].v, sizeof factor);
    down = factor * up;
    std::memcpy(light[i].v, &down, sizeof down);
    sum += down * down;
  }
  std::memcpy(squares, &sum, sizeof sum);
}

}  // namespace

void add_plane_colours(std::span<const std::uint32_t> kind, std::span<const float* const> planes,
                       std::span<const ScatterColour> colours, std::span<XYZf> xyz) {
  plane_colours(kind.data(), kind.size(), planes.data(), planes.size(), colours.data(), xyz.data());
}

void mix_planes(std::span<const std::uint32_t> kind, const PlaneMix& mix, std::span<ScatterLane> out) {
  mix_all(kind.data(), kind.size(), mix.planes.data(), mix.planes.size(), mix.table.data(), out.data());
}

void add_lanes(std::span<const std::uint32_t> kind, std::span<const ScatterLane> light,
               std::span<const ScatterLane> table, std::span<float* const> planes) {
  const std::size_t groups = (planes.size() + kScatterLanes - 1) / kScatterLanes;
  for (std::size_t g = 0; g < groups; ++g) {
    lanes_to_planes(kind.data(), kind.size(), light.data(), table.data() + g * kScatterLanes,
                    groups * kScatterLanes, planes.data() + g * kScatterLanes,
                    std::min(kScatterLanes, planes.size() - g * kScatterLanes));
  }
}

ScatterLane go_round(std::span<const std::uint32_t> kind, const RoundTables& tables, const PlaneMix& next,
                     std::span<ScatterLane> light, std::span<XYZf> xyz) {
  constexpr std::size_t kChunk = 1024;  // summed in float
  const Round round{tables.ground.data(),      tables.back.data(),       tables.colours.data(),
                    tables.kept.planes.data(), tables.kept.table.data(), tables.kept.planes.size(),
                    next.planes.data(),        next.table.data(),        next.planes.size()};
  double sums[kScatterLanes] = {};
  for (std::size_t from = 0; from < kind.size(); from += kChunk) {
    float squares[kScatterLanes];
    round_of(kind.data(), std::min(kChunk, kind.size() - from), from, round, light.data(), xyz.data(),
             squares);
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) sums[lane] += static_cast<double>(squares[lane]);
  }
  ScatterLane out;
  for (std::size_t lane = 0; lane < kScatterLanes; ++lane)
    out.v[lane] = static_cast<float>(sums[lane] / static_cast<double>(kind.size()));
  return out;
}

}  // namespace kirtle
