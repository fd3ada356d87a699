#pragma once
// Inside LoupeScatter: one piece by few planes.
#include "print/loupe_scatter.h"
#include "print/plane_spread.h"
#include "print/scatter_lanes.h"
#include "print/scatter_nodes.h"
#include "print/spread_radii.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace kirtle {

constexpr double kFewPlanesTolerance = 2e-5;  ///< of reflectance: what later rounds may leave out
constexpr double kPlaneError = 1e-4;          ///< of XYZ, in any band or pile: what few planes may leave out

/// What a node of a band sends out sideways; or, kept, the root of a film's node alone, which says how much
/// of the light would go beyond the film's end.
struct ScatterSource {
  std::size_t entry, node;
  bool kept;
};

inline std::vector<const float*> plane_pointers(const std::vector<Plane>& planes, std::size_t count) {
  std::vector<const float*> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(planes[i].data());
  return out;
}

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

class ScatterSolver {
 public:
  ScatterSolver(const LoupePiece& piece, std::span<const double> fibre_shares);

  const SpreadRadii* radii() const { return radii_ ? &*radii_ : nullptr; }

  /// Few functions of the kind that hold what all nodes send out in the first round.
  void find_sources();
  std::size_t source_planes() const { return few_.pivots.size(); }

  void first_round(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz);
  void later_rounds(LoupeScatter::Scratch& scratch, std::span<XYZf> xyz);

 private:
  double per_kind() const { return 1 / std::sqrt(static_cast<double>(kinds_)); }
  double root(const ScatterSource& s, std::size_t kind) const {
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
  /// At most this much of XYZ comes of a unit that a source sends out.
  double effect(const ScatterSource& s) const {
    const std::vector<float>& r = bands_[s.entry].nodes[s.node].root;
    return weight_[s.entry] * std::max(static_cast<double>(*std::max_element(r.begin(), r.end())), 1e-9);
  }
  std::size_t radius_count() const { return radii_->nodes_um().size(); }

  /// Of each source the weights of planes' changes at few radii, from its coordinates among the planes.
  Rows at_radii(std::span<const ScatterSource> sources, const Rows& coordinates) const {
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
  std::vector<ScatterSource> sources_;
  std::optional<SpreadRadii> radii_;
  FewDirections few_;
  std::vector<std::size_t> again_;    ///< entries whose light may go round once more
  std::size_t planes_ = 0;            ///< of the first round
  std::vector<float> up_, kept_;      ///< [(again kinds + kind) planes + plane]
  std::vector<std::size_t> samples_;  ///< pixels
  std::vector<double> sample_area_;
};

}  // namespace kirtle
