#include "base/check.h"
#include "print/scatter_bands.h"
#include "print/scatter_solver.h"

namespace kirtle {

namespace {

constexpr std::size_t kMostPlanes = 24;
// How far planes must hold what later rounds start from, against colour: those rounds return a part of it.
constexpr double kUpShare = 0.3, kKeptShare = 0.03;

}  // namespace

ScatterSolver::ScatterSolver(const LoupePiece& piece, std::span<const double> fibre_shares)
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

void ScatterSolver::find_sources() {
  Rows rows(sources_.size(), kinds_);
  for (std::size_t j = 0; j < sources_.size(); ++j) {
    const ScatterSource& s = sources_[j];
    double mean = 0;
    for (std::size_t k = 0; k < kinds_; ++k) {
      rows[j][k] = root(s, k) * (s.kept ? 1 : own_down(s.entry, k)) * effect(s) * per_kind();
      mean += rows[j][k] / static_cast<double>(kinds_);
    }
    for (std::size_t k = 0; k < kinds_; ++k) rows[j][k] -= mean;  // what is even everywhere stays as it is
  }
  few_ = few_directions(std::move(rows), kPlaneError);
}

void ScatterSolver::first_round(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz) {
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
    const ScatterSource& s = sources_[j];
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
    if (std::sqrt(sum) > scatter_settled(bands_[e], kFewPlanesTolerance) / 3) again_.push_back(e);
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
  add_plane_colours(piece_.kind, plane_pointers(scratch.first, planes_), colours, xyz);
}

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
  ScatterSolver solver(piece, fibre_shares);
  if (solver.radii() == nullptr) return;
  solver.find_sources();
  if (solver.source_planes() == 0) return;
  scratch_->fit(piece);
  if (solver.source_planes() > kMostPlanes) {
    return add_scatter_by_bands(
        piece, fibre_shares,
        [this](Plane& plane, double mean_um) { scratch_->spread->spread(plane, mean_um); },
        kFewPlanesTolerance, xyz);
  }
  scratch_->spread->set_radii(solver.radii()->nodes_um());
  solver.first_round(*scratch_, xyz);
  solver.later_rounds(*scratch_, xyz);
}

}  // namespace kirtle
