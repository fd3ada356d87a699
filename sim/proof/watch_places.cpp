#include "proof/watch_places.h"

#include "verdict/edge_pairs.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kApartMm = 25;
/// An edge place counts as the one that a shirt showed if it is this near.
constexpr double kNearMm = 2;

struct Spot {
  double x_mm = 0, y_mm = 0;
};

bool apart(const Spot& a, const Spot& b) { return std::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) >= kApartMm; }

}  // namespace

std::vector<WatchPlace> watch_places(const Scene& scene, const Prediction& prediction, const ShirtRun& run,
                                     const InkBox& box, unsigned threads) {
  const auto& plates = prediction.model().plates;
  EdgeSearch search;
  search.ppi = prediction.ppi();
  search.threads = threads;
  const std::vector<EdgePair> pairs = find_edge_pairs(edge_plates(scene, prediction), search);
  if (pairs.empty()) return {};

  // Where shirts opened, the widest first; then edges of little overlap.
  std::vector<ShirtShowing> shirts = run.showing.shirts;
  std::stable_sort(shirts.begin(), shirts.end(),
                   [](const ShirtShowing& a, const ShirtShowing& b) { return a.widest_mm > b.widest_mm; });
  std::vector<Spot> spots;
  const auto take = [&](const Spot& spot) {
    if (spots.size() < 2 &&
        std::all_of(spots.begin(), spots.end(), [&](const Spot& s) { return apart(s, spot); }))
      spots.push_back(spot);
  };
  for (const ShirtShowing& s : shirts)
    if (s.widest_mm > 0) take({static_cast<double>(s.x_mm), static_cast<double>(s.y_mm)});
  if (spots.size() < 2) {
    std::vector<const EdgePair*> tight;
    for (const EdgePair& p : pairs) tight.push_back(&p);
    std::stable_sort(tight.begin(), tight.end(),
                     [](const EdgePair* a, const EdgePair* b) { return a->t_mm < b->t_mm; });
    for (const EdgePair* p : tight) take({static_cast<double>(p->x_mm), static_cast<double>(p->y_mm)});
  }

  const double px_per_mm = prediction.ppi() / kMmPerInch;
  std::vector<WatchPlace> out;
  for (const Spot& spot : spots) {
    const EdgePair* nearest = nullptr;
    for (const EdgePair& p : pairs) {
      const double away =
          std::hypot(static_cast<double>(p.x_mm) - spot.x_mm, static_cast<double>(p.y_mm) - spot.y_mm);
      if (away > kNearMm) continue;
      if (nearest == nullptr || p.t_mm < nearest->t_mm) nearest = &p;
    }
    if (nearest == nullptr) continue;
    const auto name = [&](int plate) { return plates[static_cast<std::size_t>(plate)].name; };
    out.push_back({spot.x_mm - (box.x0 + box.x1) / 2.0 / px_per_mm, spot.y_mm - box.y0 / px_per_mm,
                   name(nearest->plate_a), name(nearest->plate_b),
                   nearest->shows < 0 ? "shirt" : name(nearest->shows), static_cast<double>(nearest->t_mm)});
  }
  return out;
}

}  // namespace kirtle
