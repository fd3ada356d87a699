// Pairs of pixels at a dot's edge change places until its balance is that of a dot with exact edges.
#include "base/simd.h"
#include "screen/dot_cells.h"

#include <algorithm>
#include <array>

namespace kirtle {

namespace {

// Pairs that change places: a few among the nearest to the edge, then among all that may.
constexpr int kFewReach = 6, kFewSwaps = 3, kMostSwaps = 64;
constexpr double kNothing = 1e300;
constexpr double kWorthIt = 0.999;  // a swap leaves so much of the lack's energy or less
// Balance that is good enough: in pixels times periods, share of a period.
constexpr double kLeastLack = 0.005, kLackShare = 0.00004;

}  // namespace

void DotCells::Edge::resize(std::size_t size) {
  for (std::vector<double>* part : {&u, &v, &uu, &uv, &vv, &energy, &bar[0], &bar[1], &then})
    part->resize(size);
}

void DotCells::Edge::set_ink(std::size_t i, bool ink) {
  bar[0][i] = ink ? kNothing : 0;
  bar[1][i] = ink ? 0 : kNothing;
}

namespace {

/// Second moments and energies of pixels by their places.
KIRTLE_WIDE void second_moments(const double* u, const double* v, std::size_t n, double* uu, double* uv,
                                double* vv, double* energy) {
  for (std::size_t i = 0; i < n; ++i) {
    const DotMoments m = DotMoments::at(u[i], v[i]);
    uu[i] = m.uu;
    uv[i] = m.uv;
    vv[i] = m.vv;
    energy[i] = m.energy();
  }
}

}  // namespace

/// Which of edge_'s pixels from .. to - 1, with ink or without, leaves least lacking when it changes: of
/// those alike the first, whatever the last bits say. -1 if none leaves less than `least`.
KIRTLE_WIDE int DotCells::best(int from, int to, bool ink, const DotMoments& before, double& least) {
  constexpr double kAlike = 1e-9;
  // Energy is a quadratic form: that of the sum is the parts' own and twice their product.
  const DotMoments slope = before.energy_slope() * (ink ? -1.0 : 1.0);
  const double own = before.energy();
  const double *u = edge_.u.data(), *v = edge_.v.data(), *uu = edge_.uu.data(), *uv = edge_.uv.data(),
               *vv = edge_.vv.data(), *energy = edge_.energy.data(), *bar = edge_.bar[ink ? 1 : 0].data();
  double* then = edge_.then.data();
  for (int i = from; i < to; ++i) {
    then[i] = own + energy[i] + slope.u * u[i] + slope.v * v[i] + slope.uu * uu[i] + slope.uv * uv[i] +
              slope.vv * vv[i] + bar[i];
  }
  std::array<double, 4> part{least, least, least, least};  // side by side, since each waits for the last
  int i = from;
  for (; i + 4 <= to; i += 4) {
    for (int k = 0; k < 4; ++k) part[k] = then[i + k] < part[k] ? then[i + k] : part[k];
  }
  for (; i < to; ++i) part[0] = std::min(part[0], then[i]);
  const double lowest = std::min(std::min(part[0], part[1]), std::min(part[2], part[3]));
  if (!(lowest < least - kAlike)) return -1;
  int found = from;
  while (then[found] > lowest + kAlike) ++found;
  least = then[found];
  return found;
}

/// edge_ in order, the first `inked` of them ink; lack: of balance, as they are.
void DotCells::balance(int inked, DotMoments lack) {
  const double enough = std::max(kLeastLack, kLackShare * area_);
  const int size = static_cast<int>(edge_.order.size());
  second_moments(edge_.u.data(), edge_.v.data(), edge_.order.size(), edge_.uu.data(), edge_.uv.data(),
                 edge_.vv.data(), edge_.energy.data());
  const auto moments_of = [&](int i) { return edge_.moments(static_cast<std::size_t>(i)); };
  int out = -1, in = -1;
  double least = 0;
  const auto try_pair = [&](int off, int on) {
    if (off >= 0 && on >= 0) out = off, in = on;
  };
  const auto try_every_pair = [&](int reach) {
    const int from = std::max(0, inked - reach), to = std::min(size, inked + reach);
    for (int off = from; off < to; ++off) {
      if (edge_.ink(static_cast<std::size_t>(off)))
        try_pair(off, best(from, to, false, lack - moments_of(off), least));
    }
  };
  // One, then what goes best with it; either may be the first.
  const auto try_one_by_one = [&] {
    double alone = kNothing;
    if (const int off = best(0, size, true, lack, alone); off >= 0)
      try_pair(off, best(0, size, false, lack - moments_of(off), least));
    alone = kNothing;
    if (const int on = best(0, size, false, lack, alone); on >= 0)
      try_pair(best(0, size, true, lack + moments_of(on), least), on);
  };
  for (int swap = 0; swap < kMostSwaps; ++swap) {
    const double now = lack.energy();
    if (now < enough * enough && swap > 0) return;
    least = now * kWorthIt;
    out = in = -1;
    if (swap < kFewSwaps) try_every_pair(kFewReach);
    if (out < 0) try_one_by_one();
    if (out < 0 && along_) try_every_pair(size);
    if (out < 0) return;
    lack = lack - moments_of(out) + moments_of(in);
    edge_.set_ink(static_cast<std::size_t>(out), false);
    edge_.set_ink(static_cast<std::size_t>(in), true);
  }
}

}  // namespace kirtle
