// Light that goes down once more, and again, until it has settled: bands side by side, what they send
// sideways by few planes.
#include "print/scatter_solver.h"

namespace kirtle {

namespace {

constexpr int kMostRounds = 200;
constexpr std::size_t kSamples = 2048, kMostSamplesOfKind = 64;
constexpr float kLeastKept = 1e-3F;  // of the light of a later round, itself a small part

}  // namespace

/// Pixels of every kind, evenly among its own.
void ScatterSolver::choose_samples() {
  const std::size_t most = std::clamp<std::size_t>(kSamples / kinds_, 1, kMostSamplesOfKind);
  const auto pixels = static_cast<double>(piece_.kind.size());
  std::vector<std::size_t> step(kinds_), seen(kinds_, 0), taken(kinds_, 0);
  for (std::size_t k = 0; k < kinds_; ++k)
    step[k] = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(area_[k] * pixels)) / most);
  for (std::size_t i = 0; i < piece_.kind.size(); ++i) {
    const std::uint32_t k = piece_.kind[i];
    if (seen[k]++ % step[k] != step[k] / 2 || taken[k] == most) continue;
    samples_.push_back(i);
    ++taken[k];
  }
  for (const std::size_t i : samples_) {
    const std::uint32_t k = piece_.kind[i];
    sample_area_.push_back(area_[k] / static_cast<double>(taken[k]));
  }
}

/// Of again_: bands of which more light than the tolerance goes down once more, by the samples.
std::vector<std::size_t> ScatterSolver::not_settled(const std::vector<Plane>& planes) const {
  std::vector<std::size_t> out;
  for (std::size_t a = 0; a < again_.size(); ++a) {
    double sum = 0;
    for (std::size_t s = 0; s < samples_.size(); ++s) {
      const std::uint32_t k = piece_.kind[samples_[s]];
      double up = 0;
      for (std::size_t q = 0; q < planes_; ++q)
        up += static_cast<double>(up_[(a * kinds_ + k) * planes_ + q]) *
              static_cast<double>(planes[q][samples_[s]]);
      sum += sample_area_[s] * std::pow(up * back(again_[a], k), 2);
    }
    if (std::sqrt(sum) > scatter_settled(bands_[again_[a]], kFewPlanesTolerance)) out.push_back(a);
  }
  return out;
}

void ScatterSolver::later_rounds(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz) {
  if (again_.empty()) return;
  choose_samples();
  const std::vector<std::size_t> going = not_settled(scratch.first);
  if (going.empty()) return;
  const std::size_t pixels = piece_.kind.size(), blocks = (going.size() + kScatterLanes - 1) / kScatterLanes;
  const auto entry_of = [&](std::size_t g) { return again_[going[g]]; };
  std::vector<RoundTables> tables(blocks);
  scratch.light.resize(std::max(scratch.light.size(), blocks));
  std::vector<ScatterSource> sources;
  std::vector<std::size_t> lane_of(entries_, 0);
  const std::vector<const float*> first = plane_pointers(scratch.first, planes_);
  for (std::size_t b = 0; b < blocks; ++b) {
    RoundTables& t = tables[b];
    t.ground.resize(kinds_);
    t.back.resize(kinds_);
    t.colours.resize(kinds_ * kScatterLanes);
    PlaneMix start{first, std::vector<ScatterLane>(kinds_ * planes_)}, kept = start;
    bool films = false;
    for (std::size_t lane = 0; lane < kScatterLanes && b * kScatterLanes + lane < going.size(); ++lane) {
      const std::size_t g = b * kScatterLanes + lane, e = entry_of(g);
      lane_of[e] = g;
      for (std::size_t n = 0; n < bands_[e].nodes.size(); ++n) {
        sources.push_back({e, n, false});
        films = films || bands_[e].nodes[n].film;
      }
      for (std::size_t k = 0; k < kinds_; ++k) {
        t.ground[k].v[lane] = static_cast<float>(bands_[e].ground(k));
        t.back[k].v[lane] = static_cast<float>(back(e, k));
        for (int c = 0; c < 3; ++c)
          t.colours[k * kScatterLanes + lane].v[c] = static_cast<float>(colour(e, k, c));
        for (std::size_t q = 0; q < planes_; ++q) {
          const std::size_t at = (going[g] * kinds_ + k) * planes_ + q;
          start.table[k * planes_ + q].v[lane] = t.back[k].v[lane] * up_[at];
          kept.table[k * planes_ + q].v[lane] = kept_[at];
        }
      }
    }
    if (films) t.kept = mix_sparsely(piece_.kind, kept, kLeastKept);
    scratch.light[b].resize(pixels);
    mix_planes(piece_.kind, start, scratch.light[b]);
  }
  const double per_sample = 1 / std::sqrt(static_cast<double>(samples_.size()));
  bool settled = false;
  for (int round = 1; round < kMostRounds && !settled; ++round) {
    Rows rows(sources.size(), samples_.size());
    for (std::size_t j = 0; j < sources.size(); ++j) {
      const std::size_t g = lane_of[sources[j].entry];
      const std::vector<ScatterLane>& light = scratch.light[g / kScatterLanes];
      for (std::size_t s = 0; s < samples_.size(); ++s)
        rows[j][s] = root(sources[j], piece_.kind[samples_[s]]) * effect(sources[j]) * per_sample *
                     static_cast<double>(light[samples_[s]].v[g % kScatterLanes]);
    }
    const FewDirections few = few_directions(std::move(rows), kPlaneError);
    const std::size_t planes = few.pivots.size(), groups = (planes + kScatterLanes - 1) / kScatterLanes;
    const Rows from = directions_from_pivots(few);
    LoupeScatter::Scratch::grow(scratch.sources, planes, pixels);
    std::vector<float*> to;
    for (std::size_t r = 0; r < planes; ++r) to.push_back(scratch.sources[r].data());
    for (std::size_t b = 0; b < blocks; ++b) {
      std::vector<ScatterLane> take(kinds_ * groups * kScatterLanes);
      for (std::size_t r = 0; r < planes; ++r) {
        for (std::size_t p = 0; p <= r; ++p) {
          const ScatterSource& s = sources[few.pivots[p]];
          const std::size_t g = lane_of[s.entry];
          if (g / kScatterLanes != b) continue;
          for (std::size_t k = 0; k < kinds_; ++k)
            take[(k * groups + r / kScatterLanes) * kScatterLanes + g % kScatterLanes].v[r % kScatterLanes] +=
                static_cast<float>(from[r][p] * root(s, k) * effect(s));
        }
      }
      lanes_to_planes(piece_.kind, scratch.light[b], take, b > 0, to);
    }
    const Rows weights = at_radii(sources, few.coordinates);
    Rows wanted(kinds_ * going.size(), weights.length);
    for (std::size_t j = 0; j < sources.size(); ++j) {
      for (std::size_t k = 0; k < kinds_; ++k) {
        const double by = root(sources[j], k) * weight_[sources[j].entry];
        double* row = wanted[k * going.size() + lane_of[sources[j].entry]];
        for (std::size_t i = 0; i < weights.length; ++i) row[i] += by * weights[j][i];
      }
    }
    to_lengths(wanted);
    const FewDirections fields = few_directions(std::move(wanted), kPlaneError);
    const std::size_t more = fields.pivots.size();
    LoupeScatter::Scratch::grow(scratch.next, more, pixels);
    scratch.spread->changes(std::span(scratch.sources).first(planes), from_lengths(fields.directions),
                            scratch.next);
    settled = true;
    for (std::size_t b = 0; b < blocks; ++b) {
      PlaneMix next{plane_pointers(scratch.next, more), std::vector<ScatterLane>(kinds_ * more)};
      const std::size_t lanes = std::min(kScatterLanes, going.size() - b * kScatterLanes);
      for (std::size_t lane = 0; lane < lanes; ++lane) {
        const std::size_t g = b * kScatterLanes + lane;
        for (std::size_t k = 0; k < kinds_; ++k)
          for (std::size_t q = 0; q < more; ++q)
            next.table[k * more + q].v[lane] =
                static_cast<float>(fields.coordinates[k * going.size() + g][q] / weight_[entry_of(g)]);
      }
      const ScatterLane squares = go_round(piece_.kind, tables[b], next, scratch.light[b], xyz);
      for (std::size_t lane = 0; lane < lanes; ++lane)
        settled =
            settled && std::sqrt(static_cast<double>(squares.v[lane])) <=
                           scatter_settled(bands_[entry_of(b * kScatterLanes + lane)], kFewPlanesTolerance);
    }
  }
}

}  // namespace kirtle
