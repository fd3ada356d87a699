#include "print/scatter_lanes.h"

#include "base/simd.h"

#include <algorithm>
#include <cstring>

namespace kirtle {

namespace {

using Lanes = float __attribute__((vector_size(32)));
using Four = float __attribute__((vector_size(16)));

/// sum += the planes at a pixel times the entries of its kind: of lanes or of colours.
template <class Vector, class Entry>
KIRTLE_INLINE void mix_at(const Entry* of_kind, const float* const* planes, std::size_t count, std::size_t i,
                          Vector& sum) {
  static_assert(sizeof(Vector) == sizeof(of_kind->v));
  for (std::size_t q = 0; q < count; ++q) {
    Vector c;
    std::memcpy(&c, of_kind[q].v, sizeof c);
    sum += c * planes[q][i];
  }
}

KIRTLE_INLINE void add_to(XYZf& xyz, const Four& colour) {
  xyz.x += colour[0];
  xyz.y += colour[1];
  xyz.z += colour[2];
}

KIRTLE_WIDE void plane_colours(const std::uint32_t* kind, std::size_t pixels, const float* const* planes,
                               std::size_t count, const ScatterColour* colours, XYZf* xyz) {
  for (std::size_t i = 0; i < pixels; ++i) {
    Four sum{};
    mix_at(colours + kind[i] * count, planes, count, i, sum);
    add_to(xyz[i], sum);
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

KIRTLE_WIDE void take_lanes(const std::uint32_t* kind, std::size_t pixels, const ScatterLane* light,
                            const ScatterLane* table, std::size_t stride, bool add, float* const* planes,
                            std::size_t count) {
  for (std::size_t i = 0; i < pixels; ++i) {
    const ScatterLane* of_kind = table + kind[i] * stride;
    Lanes sum{};
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) {
      Lanes c;
      std::memcpy(&c, of_kind[lane].v, sizeof c);
      sum += c * light[i].v[lane];
    }
    for (std::size_t p = 0; p < count; ++p) planes[p][i] = add ? planes[p][i] + sum[p] : sum[p];
  }
}

/// Of up to kScatterRun pixels; true if any value is `least` or more away from nothing.
KIRTLE_WIDE bool mix_run(const std::uint32_t* kind, std::size_t from, std::size_t pixels,
                         const float* const* planes, std::size_t count, const ScatterLane* table, float least,
                         ScatterLane* out) {
  int far = 0;
  for (std::size_t i = 0; i < pixels; ++i) {
    Lanes sum{};
    mix_at(table + kind[from + i] * count, planes, count, from + i, sum);
    std::memcpy(out[i].v, &sum, sizeof sum);
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) far |= sum[lane] >= least || sum[lane] <= -least;
  }
  return far != 0;
}

struct Round {
  const ScatterLane *ground, *back;
  const ScatterColour* colours;
  const float* const* planes;
  const ScatterLane* table;
  std::size_t count;
};

/// kept: of these pixels, or null where nothing is.
KIRTLE_WIDE void round_of(const std::uint32_t* kind, std::size_t from, std::size_t pixels, const Round& r,
                          const ScatterLane* kept, ScatterLane* light, XYZf* xyz, float* squares) {
  Lanes sum;
  std::memcpy(&sum, squares, sizeof sum);
  for (std::size_t i = from; i < from + pixels; ++i) {
    const std::size_t k = kind[i];
    Lanes down, factor, up{};
    std::memcpy(&down, light[i].v, sizeof down);
    std::memcpy(&factor, r.ground[k].v, sizeof factor);
    if (kept != nullptr) {
      Lanes gone;
      std::memcpy(&gone, kept[i - from].v, sizeof gone);
      factor -= gone;
    }
    mix_at(r.table + k * r.count, r.planes, r.count, i, up);
    up += factor * down;
    Four colour{};
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) {
      Four c;
      std::memcpy(&c, r.colours[k * kScatterLanes + lane].v, sizeof c);
      colour += c * up[lane];
    }
    add_to(xyz[i], colour);
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

void lanes_to_planes(std::span<const std::uint32_t> kind, std::span<const ScatterLane> light,
                     std::span<const ScatterLane> table, bool add, std::span<float* const> planes) {
  const std::size_t groups = (planes.size() + kScatterLanes - 1) / kScatterLanes;
  for (std::size_t g = 0; g < groups; ++g) {
    take_lanes(kind.data(), kind.size(), light.data(), table.data() + g * kScatterLanes,
               groups * kScatterLanes, add, planes.data() + g * kScatterLanes,
               std::min(kScatterLanes, planes.size() - g * kScatterLanes));
  }
}

SparseMix mix_sparsely(std::span<const std::uint32_t> kind, const PlaneMix& mix, float least) {
  SparseMix out;
  std::vector<ScatterLane> run(kScatterRun);
  for (std::size_t from = 0; from < kind.size(); from += kScatterRun) {
    const bool any = mix_run(kind.data(), from, std::min(kScatterRun, kind.size() - from), mix.planes.data(),
                             mix.planes.size(), mix.table.data(), least, run.data());
    out.at.push_back(any ? static_cast<std::uint32_t>(out.values.size() / kScatterRun) : SparseMix::kNone);
    if (any) out.values.insert(out.values.end(), run.begin(), run.end());
  }
  return out;
}

ScatterLane go_round(std::span<const std::uint32_t> kind, const RoundTables& tables, const PlaneMix& next,
                     std::span<ScatterLane> light, std::span<XYZf> xyz) {
  const Round round{tables.ground.data(), tables.back.data(), tables.colours.data(),
                    next.planes.data(),   next.table.data(),  next.planes.size()};
  double sums[kScatterLanes] = {};
  for (std::size_t from = 0, run = 0; from < kind.size(); from += kScatterRun, ++run) {
    const std::uint32_t at = tables.kept.at.empty() ? SparseMix::kNone : tables.kept.at[run];
    float squares[kScatterLanes] = {};  // in float over a run
    round_of(kind.data(), from, std::min(kScatterRun, kind.size() - from), round,
             at == SparseMix::kNone ? nullptr : tables.kept.values.data() + at * kScatterRun, light.data(),
             xyz.data(), squares);
    for (std::size_t lane = 0; lane < kScatterLanes; ++lane) sums[lane] += static_cast<double>(squares[lane]);
  }
  ScatterLane out;
  for (std::size_t lane = 0; lane < kScatterLanes; ++lane)
    out.v[lane] = static_cast<float>(sums[lane] / static_cast<double>(kind.size()));
  return out;
}

}  // namespace kirtle
