#include "print/scatter_nodes.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kMostReturned = 0.999;
constexpr double kShortest_um = 8;
constexpr double kNodeRatio = 1.8;  // between radii that a piece of many grounds is worked out at
constexpr std::size_t kExactRadii = 3;

const GroundPart& part_of(const LoupeKind& kind, std::size_t entry, std::size_t part) {
  return kind.ground[entry * kind.parts + part];
}

/// Radii for the cloth or for the films of a piece, rising. Few are taken as they are, many stand for all
/// between them.
std::vector<double> radii_of(std::span<const LoupeKind> all, std::size_t entry, bool film, double shortest) {
  std::vector<double> found;
  for (const LoupeKind& kind : all) {
    for (std::size_t p = film ? 1 : 0; p < (film ? kind.parts : 1); ++p) {
      const GroundPart& part = part_of(kind, entry, p);
      const double mean = static_cast<double>(part.mean_um);
      if (mean >= shortest && part.returned > 0) found.push_back(mean);
    }
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  if (found.size() <= kExactRadii) return found;
  const double lo = found.front(), hi = found.back();
  const int steps = std::max(1, static_cast<int>(std::ceil(std::log(hi / lo) / std::log(kNodeRatio))));
  std::vector<double> radii;
  for (int i = 0; i < steps; ++i) radii.push_back(lo * std::pow(hi / lo, i / static_cast<double>(steps)));
  radii.push_back(hi);
  return radii;
}

/// Adds nodes for the cloth or for the films, and what they return; `still` gets what stays where it is.
void add_nodes(std::span<const LoupeKind> all, std::size_t entry, bool film, double shortest,
               std::vector<ScatterNode>& nodes, std::vector<float>& still) {
  const std::vector<double> radii = radii_of(all, entry, film, shortest);
  std::vector<std::vector<double>> rho(radii.size(), std::vector<double>(all.size(), 0.0));
  for (std::size_t k = 0; k < all.size(); ++k) {
    const LoupeKind& kind = all[k];
    for (std::size_t p = film ? 1 : 0; p < (film ? kind.parts : 1); ++p) {
      const GroundPart& part = part_of(kind, entry, p);
      const double mean = static_cast<double>(part.mean_um), returned = static_cast<double>(part.returned);
      const auto n =
          static_cast<std::size_t>(std::upper_bound(radii.begin(), radii.end(), mean) - radii.begin());
      if (mean < shortest || n == 0) {
        still[k] += part.returned;
      } else if (n == radii.size()) {
        rho.back()[k] += returned;
      } else {
        const double t = std::log(mean / radii[n - 1]) / std::log(radii[n] / radii[n - 1]);
        rho[n - 1][k] += returned * (1 - t);
        rho[n][k] += returned * t;
      }
    }
  }
  for (std::size_t n = 0; n < radii.size(); ++n) {
    nodes.push_back({radii[n], film, {}});
    for (const double r : rho[n])
      nodes.back().root.push_back(static_cast<float>(std::sqrt(std::max(r, 0.0))));
  }
}

}  // namespace

double ScatterNodes::ground(std::size_t kind) const {
  double sum = static_cast<double>(still[kind]);
  for (const ScatterNode& node : nodes)
    sum += static_cast<double>(node.root[kind]) * static_cast<double>(node.root[kind]);
  return sum;
}

ScatterNodes scatter_nodes(std::span<const LoupeKind> kinds, double pitch_um, std::size_t entry) {
  ScatterNodes out{{}, std::vector<float>(kinds.size(), 0.0F)};
  const double shortest = std::max(kShortest_um, 0.25 * pitch_um);
  add_nodes(kinds, entry, false, shortest, out.nodes, out.still);
  add_nodes(kinds, entry, true, shortest, out.nodes, out.still);
  double most_ground = 0, most_back = 0;
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    most_ground = std::max(most_ground, out.ground(k));
    most_back = std::max(most_back, static_cast<double>(kinds[k].bands[entry].back));
  }
  out.returned = std::min(most_back * most_ground, kMostReturned);
  return out;
}

double scatter_settled(const ScatterNodes& band, double tolerance) {
  return band.returned > 0 ? tolerance * (1 - band.returned) / band.returned : 1;
}

}  // namespace kirtle
