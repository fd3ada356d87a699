#include "print/scatter_bands.h"

#include "base/check.h"
#include "print/scatter_nodes.h"

#include <cmath>

namespace kirtle {

namespace {

constexpr int kMostRounds = 200;

/// One band of one fibre: light followed until it stands still.
class BandSolver {
 public:
  /// entry: index of band and fibre in the kinds.
  BandSolver(const LoupePiece& piece, std::size_t entry, const SpreadPlane& spread)
      : piece_(piece),
        spread_(spread),
        entry_(entry),
        band_(scatter_nodes(piece.kinds, piece.pitch_um, entry)) {}

  /// Nothing goes sideways here.
  bool idle() const { return band_.nodes.empty(); }

  /// u at every pixel.
  std::vector<float> solve(double tolerance) const {
    const std::size_t kinds = piece_.kinds.size(), n = piece_.kind.size();
    const std::uint32_t* kind = piece_.kind.data();
    std::vector<float> through(kinds), back(kinds), start(kinds);
    for (std::size_t k = 0; k < kinds; ++k) {
      const LoupeKind::Band& b = piece_.kinds[k].bands[entry_];
      through[k] = b.through;
      back[k] = b.back;
      start[k] = b.through + b.back * b.up;  // what each pile would do by itself
    }
    std::vector<float> up(n), down(n), stays(n);
    for (std::size_t i = 0; i < n; ++i) {
      down[i] = start[kind[i]];
      stays[i] = band_.still[kind[i]];
    }
    std::vector<float> plane(n);
    for (const ScatterNode& node : band_.nodes) {
      if (!node.film) continue;
      for (std::size_t i = 0; i < n; ++i) plane[i] = node.root[kind[i]];
      spread_(plane, node.mean_um);
      for (std::size_t i = 0; i < n; ++i) {
        const float root = node.root[kind[i]];
        stays[i] += root * (root - plane[i]);
      }
    }
    const double settled = scatter_settled(band_, tolerance);
    for (int round = 0; round < kMostRounds; ++round) {
      for (std::size_t i = 0; i < n; ++i) up[i] = stays[i] * down[i];
      for (const ScatterNode& node : band_.nodes) {
        for (std::size_t i = 0; i < n; ++i) plane[i] = node.root[kind[i]] * down[i];
        spread_(plane, node.mean_um);
        for (std::size_t i = 0; i < n; ++i) up[i] += node.root[kind[i]] * plane[i];
      }
      double sum = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const float next = through[kind[i]] + back[kind[i]] * up[i];
        const double step = static_cast<double>(next) - static_cast<double>(down[i]);
        sum += step * step;
        down[i] = next;
      }
      if (std::sqrt(sum / static_cast<double>(n)) <= settled) break;
    }
    return up;
  }

 private:
  const LoupePiece& piece_;
  const SpreadPlane& spread_;
  std::size_t entry_;
  ScatterNodes band_;
};

}  // namespace

void add_scatter_by_bands(const LoupePiece& piece, std::span<const double> fibre_shares,
                          const SpreadPlane& spread, double tolerance, std::span<XYZf> xyz) {
  KIRTLE_CHECK(xyz.size(), ==, piece.kind.size());
  const std::size_t entries = piece.kinds.front().bands.size(), bands = entries / fibre_shares.size();
  struct Own {
    float up, x, y, z;
  };
  std::vector<Own> own(piece.kinds.size());
  for (std::size_t entry = 0; entry < entries; ++entry) {
    const BandSolver solver(piece, entry, spread);
    if (solver.idle()) continue;
    const std::vector<float> up = solver.solve(tolerance);
    const auto share = static_cast<float>(fibre_shares[entry / bands]);
    for (std::size_t k = 0; k < own.size(); ++k) {
      const LoupeKind::Band& b = piece.kinds[k].bands[entry];
      own[k] = {b.up, share * b.xyz[0], share * b.xyz[1], share * b.xyz[2]};
    }
    for (std::size_t i = 0; i < up.size(); ++i) {
      const Own& o = own[piece.kind[i]];
      const float more = up[i] - o.up;
      xyz[i].x += o.x * more;
      xyz[i].y += o.y * more;
      xyz[i].z += o.z * more;
    }
  }
}

}  // namespace kirtle
