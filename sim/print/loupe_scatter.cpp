#include "print/loupe_scatter.h"

#include "base/check.h"
#include "print/plane_spread.h"
#include "print/scatter_bands.h"
#include "print/scatter_lanes.h"
#include "print/scatter_nodes.h"
#include "print/spread_radii.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace kirtle {

namespace {

constexpr double kTolerance = 2e-5;   // of reflectance
constexpr double kPlaneError = 1e-4;  // of XYZ, in any band or pile, that few planes leave out
constexpr std::size_t kMostPlanes = 24;
constexpr int kMostRounds = 200;
constexpr std::size_t kSamples = 2048, kMostSamplesOfKind = 64;
// How far planes must hold what later rounds start from, against colour: those rounds return a part of it.
constexpr double kUpShare = 0.3, kKeptShare = 0.03;

/// What a node of a band sends out sideways; or, kept, the root of a film's node alone, which says how much
/// of the light would go beyond the film's end.
struct Source {
  std::size_t entry, node;
  bool kept;
};

std::vector<const float*> pointers(const std::vector<Plane>& planes, std::size_t count) {
  std::vector<const float*> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(planes[i].data());
  return out;
}

}  // namespace

struct LoupeScatter::Scratch {
  std::optional<PlaneSpread> spread;
  std::vector<Plane> sources, first, next;
  std::vector<std::vector<ScatterLane>> light;

  void fit(const LoupePiece& piece) {
    if (!spread || spread->width() != piece.width || spread->height() != piece.height ||
        spread->pitch_um() != piece.pitch_um)
      spread.emplace(piece.width, piece.height, piece.pitch_um);
  }
  /// Planes, kept from before where there are.
  static void grow(std::vector<Plane>& planes, std::size_t count, std::size_t pixels) {
    planes.resize(std::max(planes.size(), count));
    for (std::size_t i = 0; i < count; ++i) planes[i].resize(pixels);
  }
};

namespace {

/// One piece.
class Solver {
 public:
  Solver(const LoupePiece& piece, std::span<const double> fibre_shares)
      : piece_(piece),
        kinds_(piece.kinds.size()),
        entries_(piece.kinds.front().bands.size()),
        area_(kinds_, 0.0) {
    const std::size_t bands = entries_ / fibre_shares.size();
    std::vector<double> radii;
    for (std::size_t e = 0; e < entries_; ++e) {
      bands_.push_back(scatter_nodes(piece.kinds, piece.pitch_um, e));
      share_.push_back(fibre_shares[e / bands]);
      double most = 0;
      for (std::size_t k = 0; k < kinds_; ++k)
        for (int c = 0; c < 3; ++c) most = std::max(most, std::abs(colour(e, k, c)));
      weight_.push_back(std::max(most, 1e-9));
      for (std::size_t n = 0; n < bands_[e].nodes.size(); ++n) {
        radii.push_back(bands_[e].nodes[n].mean_um);
        sources_.push_back({e, n, false});
        if (bands_[e].nodes[n].film) sources_.push_back({e, n, true});
      }
    }
    if (!radii.empty()) radii_.emplace(radii, piece.pitch_um);
    std::vector<std::size_t> count(kinds_, 0);
    for (const std::uint32_t k : piece.kind) ++count[k];
    for (std::size_t k = 0; k < kinds_; ++k)
      area_[k] = static_cast<double>(count[k]) / static_cast<double>(piece.kind.size());
  }

  const SpreadRadii* radii() const { return radii_ ? &*radii_ : nullptr; }

  /// Few functions of the kind that hold what all nodes send out in the first round.
  void find_sources() {
    Rows rows(sources_.size(), kinds_);
    for (std::size_t j = 0; j < sources_.size(); ++j) {
      const Source& s = sources_[j];
      double mean = 0;
      for (std::size_t k = 0; k < kinds_; ++k) {
        rows[j][k] = root(s, k) * (s.kept ? 1 : own_down(s.entry, k)) * effect(s) * per_kind();
        mean += rows[j][k] / static_cast<double>(kinds_);
      }
      for (std::size_t k = 0; k < kinds_; ++k) rows[j][k] -= mean;  // what is even everywhere stays as it is
    }
    few_ = few_directions(std::move(rows), kPlaneError);
  }
  std::size_t source_planes() const { return few_.pivots.size(); }

  void first_round(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz);
  void later_rounds(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz);

 private:
  double per_kind() const { return 1 / std::sqrt(static_cast<double>(kinds_)); }
  double root(const Source& s, std::size_t kind) const {
    return static_cast<double>(bands_[s.entry].nodes[s.node].root[kind]);
  }
  /// Light going down in a pile by itself.
  double own_down(std::size_t entry, std::size_t kind) const {
    const LoupeKind::Band& b = piece_.kinds[kind].bands[entry];
    return static_cast<double>(b.through) + static_cast<double>(b.back) * static_cast<double>(b.up);
  }
  double back(std::size_t entry, std::size_t kind) const {
    return static_cast<double>(piece_.kinds[kind].bands[entry].back);
  }
  double colour(std::size_t entry, std::size_t kind, int channel) const {
    return share_[entry] * static_cast<double>(piece_.kinds[kind].bands[entry].xyz[channel]);
  }
  double ground(std::size_t entry, std::size_t kind) const {
    double sum = static_cast<double>(bands_[entry].still[kind]);
    for (const ScatterNode& node : bands_[entry].nodes)
      sum += std::pow(static_cast<double>(node.root[kind]), 2);
    return sum;
  }
  /// At most this much of XYZ comes of a unit that a source sends out.
  double effect(const Source& s) const {
    const std::vector<float>& r = bands_[s.entry].nodes[s.node].root;
    return weight_[s.entry] * std::max(static_cast<double>(*std::max_element(r.begin(), r.end())), 1e-9);
  }
  std::size_t radius_count() const { return radii_->nodes_um().size(); }

  /// Of each source the weights of planes' changes at few radii, from its coordinates among the planes.
  Rows at_radii(std::span<const Source> sources, const Rows& coordinates) const {
    const std::size_t n = radius_count();
    Rows out(sources.size(), coordinates.length * n);
    for (std::size_t j = 0; j < sources.size(); ++j) {
      const std::vector<double> w = radii_->weights(bands_[sources[j].entry].nodes[sources[j].node].mean_um);
      for (std::size_t r = 0; r < coordinates.length; ++r)
        for (std::size_t t = 0; t < n; ++t) out[j][r * n + t] = coordinates[j][r] / effect(sources[j]) * w[t];
    }
    return out;
  }
  void to_lengths(Rows& rows) const {
    for (std::size_t i = 0; i < rows.values.size(); i += radius_count())
      radii_->to_lengths(rows.values.data() + i);
  }
  Rows from_lengths(Rows rows) const {
    for (std::size_t i = 0; i < rows.values.size(); i += radius_count())
      radii_->from_lengths(rows.values.data() + i);
    return rows;
  }
  void choose_samples();
  std::vector<std::size_t> not_settled(const std::vector<Plane>& planes) const;

  const LoupePiece& piece_;
  std::size_t kinds_, entries_;
  std::vector<double> area_;  ///< share of the piece, one a kind
  std::vector<ScatterNodes> bands_;
  std::vector<double> share_, weight_;
  std::vector<Source> sources_;
  std::optional<SpreadRadii> radii_;
  FewDirections few_;
  std::vector<std::size_t> again_;    ///< entries whose light may go round once more
  std::size_t planes_ = 0;            ///< of the first round
  std::vector<float> up_, kept_;      ///< [(again kinds + kind) planes + plane]
  std::vector<std::size_t> samples_;  ///< pixels
  std::vector<double> sample_area_;
};

void Solver::first_round(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz) {
  const std::size_t pixels = piece_.kind.size();
  LoupeScatter::Scratch::grow(scratch.sources, source_planes(), pixels);
  for (std::size_t r = 0; r < source_planes(); ++r) {
    std::vector<float> of_kind(kinds_);
    for (std::size_t k = 0; k < kinds_; ++k)
      of_kind[k] = static_cast<float>(few_.directions[r][k] / per_kind());
    for (std::size_t i = 0; i < pixels; ++i) scratch.sources[r][i] = of_kind[piece_.kind[i]];
  }
  // What comes back in every pile and band, and what of a film's light does not.
  const Rows weights = at_radii(sources_, few_.coordinates);
  const std::size_t terms = weights.length;
  Rows up(kinds_ * entries_, terms), kept(kinds_ * entries_, terms);
  for (std::size_t j = 0; j < sources_.size(); ++j) {
    const Source& s = sources_[j];
    for (std::size_t k = 0; k < kinds_; ++k) {
      const std::size_t row = k * entries_ + s.entry;
      const double by = s.kept ? -root(s, k) * own_down(s.entry, k) : root(s, k);
      for (std::size_t i = 0; i < terms; ++i) up[row][i] += by * weights[j][i];
      if (!s.kept) continue;
      for (std::size_t i = 0; i < terms; ++i) kept[row][i] += root(s, k) * weights[j][i];
    }
  }
  to_lengths(up);
  to_lengths(kept);
  for (std::size_t e = 0; e < entries_; ++e) {
    double sum = 0;
    for (std::size_t k = 0; k < kinds_; ++k)
      for (std::size_t i = 0; i < terms; ++i)
        sum += area_[k] * std::pow(back(e, k) * up[k * entries_ + e][i], 2);
    // The lengths suppose a common spectrum; the samples of the planes decide.
    if (std::sqrt(sum) > scatter_settled(bands_[e], kTolerance) / 3) again_.push_back(e);
  }
  // Few planes that hold all of that which counts.
  const std::size_t per_kind_rows = 3 + 2 * again_.size();
  Rows wanted(kinds_ * per_kind_rows, terms);
  for (std::size_t k = 0; k < kinds_; ++k) {
    const std::size_t row = k * per_kind_rows;
    for (int c = 0; c < 3; ++c) {
      for (std::size_t e = 0; e < entries_; ++e)
        for (std::size_t i = 0; i < terms; ++i)
          wanted[row + c][i] += colour(e, k, c) * up[k * entries_ + e][i];
    }
    for (std::size_t a = 0; a < again_.size(); ++a) {
      const std::size_t e = again_[a];
      for (std::size_t i = 0; i < terms; ++i) {
        wanted[row + 3 + 2 * a][i] = kUpShare * weight_[e] * up[k * entries_ + e][i];
        wanted[row + 4 + 2 * a][i] = kKeptShare * weight_[e] * kept[k * entries_ + e][i];
      }
    }
  }
  const FewDirections fields = few_directions(std::move(wanted), kPlaneError);
  planes_ = fields.pivots.size();
  LoupeScatter::Scratch::grow(scratch.first, planes_, pixels);
  scratch.spread->changes(std::span(scratch.sources).first(source_planes()), from_lengths(fields.directions),
                          scratch.first);
  std::vector<ScatterColour> colours(kinds_ * planes_);
  up_.resize(again_.size() * kinds_ * planes_);
  kept_.resize(up_.size());
  for (std::size_t k = 0; k < kinds_; ++k) {
    const std::size_t row = k * per_kind_rows;
    for (std::size_t q = 0; q < planes_; ++q) {
      for (int c = 0; c < 3; ++c)
        colours[k * planes_ + q].v[c] = static_cast<float>(fields.coordinates[row + c][q]);
      for (std::size_t a = 0; a < again_.size(); ++a) {
        const double w = weight_[again_[a]];
        const std::size_t at = (a * kinds_ + k) * planes_ + q;
        up_[at] = static_cast<float>(fields.coordinates[row + 3 + 2 * a][q] / (kUpShare * w));
        kept_[at] = static_cast<float>(fields.coordinates[row + 4 + 2 * a][q] / (kKeptShare * w));
      }
    }
  }
  add_plane_colours(piece_.kind, pointers(scratch.first, planes_), colours, xyz);
}

/// Pixels of every kind, evenly among its own.
void Solver::choose_samples() {
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
std::vector<std::size_t> Solver::not_settled(const std::vector<Plane>& planes) const {
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
    if (std::sqrt(sum) > scatter_settled(bands_[again_[a]], kTolerance)) out.push_back(a);
  }
  return out;
}

void Solver::later_rounds(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz) {
  if (again_.empty()) return;
  choose_samples();
  const std::vector<std::size_t> going = not_settled(scratch.first);
  if (going.empty()) return;
  const std::size_t pixels = piece_.kind.size(), blocks = (going.size() + kScatterLanes - 1) / kScatterLanes;
  const auto entry_of = [&](std::size_t g) { return again_[going[g]]; };
  std::vector<RoundTables> tables(blocks);
  scratch.light.resize(std::max(scratch.light.size(), blocks));
  std::vector<Source> sources;
  std::vector<std::size_t> lane_of(entries_, 0);
  const std::vector<const float*> first = pointers(scratch.first, planes_);
  for (std::size_t b = 0; b < blocks; ++b) {
    RoundTables& t = tables[b];
    t.ground.resize(kinds_);
    t.back.resize(kinds_);
    t.colours.resize(kinds_ * kScatterLanes);
    t.kept.table.resize(kinds_ * planes_);
    PlaneMix start{first, std::vector<ScatterLane>(kinds_ * planes_)};
    bool films = false;
    for (std::size_t lane = 0; lane < kScatterLanes && b * kScatterLanes + lane < going.size(); ++lane) {
      const std::size_t g = b * kScatterLanes + lane, e = entry_of(g);
      lane_of[e] = g;
      for (std::size_t n = 0; n < bands_[e].nodes.size(); ++n) {
        sources.push_back({e, n, false});
        films = films || bands_[e].nodes[n].film;
      }
      for (std::size_t k = 0; k < kinds_; ++k) {
        t.ground[k].v[lane] = static_cast<float>(ground(e, k));
        t.back[k].v[lane] = static_cast<float>(back(e, k));
        for (int c = 0; c < 3; ++c)
          t.colours[k * kScatterLanes + lane].v[c] = static_cast<float>(colour(e, k, c));
        for (std::size_t q = 0; q < planes_; ++q) {
          const std::size_t at = (going[g] * kinds_ + k) * planes_ + q;
          start.table[k * planes_ + q].v[lane] = t.back[k].v[lane] * up_[at];
          t.kept.table[k * planes_ + q].v[lane] = kept_[at];
        }
      }
    }
    if (films) t.kept.planes = first;
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
    scratch.sources.resize(std::max(scratch.sources.size(), planes));
    std::vector<float*> to;
    for (std::size_t r = 0; r < planes; ++r) {
      scratch.sources[r].assign(pixels, 0.0F);
      to.push_back(scratch.sources[r].data());
    }
    for (std::size_t b = 0; b < blocks; ++b) {
      std::vector<ScatterLane> take(kinds_ * groups * kScatterLanes);
      for (std::size_t r = 0; r < planes; ++r) {
        for (std::size_t p = 0; p <= r; ++p) {
          const Source& s = sources[few.pivots[p]];
          const std::size_t g = lane_of[s.entry];
          if (g / kScatterLanes != b) continue;
          for (std::size_t k = 0; k < kinds_; ++k)
            take[(k * groups + r / kScatterLanes) * kScatterLanes + g % kScatterLanes].v[r % kScatterLanes] +=
                static_cast<float>(from[r][p] * root(s, k) * effect(s));
        }
      }
      add_lanes(piece_.kind, scratch.light[b], take, to);
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
      PlaneMix next{pointers(scratch.next, more), std::vector<ScatterLane>(kinds_ * more)};
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
        settled = settled && std::sqrt(static_cast<double>(squares.v[lane])) <=
                                 scatter_settled(bands_[entry_of(b * kScatterLanes + lane)], kTolerance);
    }
  }
}

}  // namespace

std::vector<int> loupe_bands(int step) {
  std::vector<int> out;
  for (int b = step / 2; b < static_cast<int>(kBands); b += step) out.push_back(b);
  return out;
}

LoupeScatter::LoupeScatter() : scratch_(std::make_unique<Scratch>()) {}
LoupeScatter::LoupeScatter(LoupeScatter&&) noexcept = default;
LoupeScatter::~LoupeScatter() = default;

void LoupeScatter::add(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz) {
  KIRTLE_CHECK(xyz.size(), ==, piece.kind.size());
  Solver solver(piece, fibre_shares);
  if (solver.radii() == nullptr) return;
  solver.find_sources();
  if (solver.source_planes() == 0) return;
  scratch_->fit(piece);
  if (solver.source_planes() > kMostPlanes) {
    return add_scatter_by_bands(
        piece, fibre_shares,
        [this](Plane& plane, double mean_um) { scratch_->spread->spread(plane, mean_um); }, kTolerance, xyz);
  }
  scratch_->spread->set_radii(solver.radii()->nodes_um());
  solver.first_round(*scratch_, xyz);
  solver.later_rounds(*scratch_, xyz);
}

}  // namespace kirtle
