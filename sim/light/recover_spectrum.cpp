#include "light/recover_spectrum.h"

#include "base/check.h"
#include "light/delta_e_2000.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace kirtle {
namespace {

constexpr double kSpan = kMostReflectance - kLeastReflectance;
constexpr double kLargestZ = 9.0;  // tanh is 1 - 3e-8 there: the bound is reached for every practical purpose
constexpr std::size_t kUnknowns = kBands + 3;

template <std::size_t N>
using Square = std::array<std::array<double, N>, N>;

double reflectance_at(double z) { return kLeastReflectance + 0.5 * kSpan * (std::tanh(z) + 1.0); }
double z_at(double reflectance) { return std::atanh(2.0 * (reflectance - kLeastReflectance) / kSpan - 1.0); }
/// dR/dz.
double slope_at(double z) {
  const double t = std::tanh(z);
  return 0.5 * kSpan * (1.0 - t * t);
}
Spectrum reflectance_of(const Spectrum& z) {
  return spectrum_of([&](std::size_t i) { return reflectance_at(z[i]); });
}

/// Solves m x = rhs in place by elimination with row pivots. False if singular or not finite.
template <std::size_t N>
bool solve(Square<N>& m, std::array<double, N>& rhs) {
  for (std::size_t k = 0; k < N; ++k) {
    std::size_t pivot = k;
    for (std::size_t r = k + 1; r < N; ++r)
      if (std::abs(m[r][k]) > std::abs(m[pivot][k])) pivot = r;
    if (!(std::abs(m[pivot][k]) > 1e-300)) return false;
    std::swap(m[pivot], m[k]);
    std::swap(rhs[pivot], rhs[k]);
    for (std::size_t r = k + 1; r < N; ++r) {
      const double factor = m[r][k] / m[k][k];
      if (factor == 0) continue;
      for (std::size_t c = k; c < N; ++c) m[r][c] -= factor * m[k][c];
      rhs[r] -= factor * rhs[k];
    }
  }
  for (std::size_t k = N; k-- > 0;) {
    for (std::size_t c = k + 1; c < N; ++c) rhs[k] -= m[k][c] * rhs[c];
    rhs[k] /= m[k][k];
  }
  return std::all_of(rhs.begin(), rhs.end(), [](double v) { return std::isfinite(v); });
}

/// Row i of D, the matrix of half the gradient of the sum of squared steps.
template <class Add>
void steps_row(std::size_t i, Add&& add) {
  if (i > 0) {
    add(i, 1.0);
    add(i - 1, -1.0);
  }
  if (i + 1 < kBands) {
    add(i, 1.0);
    add(i + 1, -1.0);
  }
}

struct State {
  Spectrum z;
  std::array<double, 3> lambda{};
};

/// Newton on the stationary point of the Lagrangian: D z + R'(z) W lambda = 0 and W' R = target.
std::optional<State> newton(State s, const XYZ& target, const ViewingWeights& weights) {
  constexpr int kMaxIterations = 14;
  constexpr double kDone = 1e-9;        // XYZ, Y = 100 scale
  constexpr double kStationary = 1e-8;  // gradient
  constexpr double kLongestStep =
      2.0;  // in z; a longer one has left the region where the straight line holds
  for (int iteration = 0; iteration < kMaxIterations; ++iteration) {
    Square<kUnknowns> m{};
    std::array<double, kUnknowns> rhs{};
    double worst_gradient = 0;
    for (std::size_t i = 0; i < kBands; ++i) {
      const double slope = slope_at(s.z[i]);
      const double pull =
          weights.w[i][0] * s.lambda[0] + weights.w[i][1] * s.lambda[1] + weights.w[i][2] * s.lambda[2];
      double gradient = slope * pull;
      steps_row(i, [&](std::size_t j, double value) {
        m[i][j] += value;
        gradient += value * s.z[j];
      });
      m[i][i] += -2.0 * std::tanh(s.z[i]) * slope * pull;
      for (std::size_t c = 0; c < 3; ++c) m[i][kBands + c] = m[kBands + c][i] = slope * weights.w[i][c];
      rhs[i] = -gradient;
      worst_gradient = std::max(worst_gradient, std::abs(gradient));
    }
    const XYZ now = xyz_from_reflectance(reflectance_of(s.z), weights);
    const std::array<double, 3> missing = {target.x - now.x, target.y - now.y, target.z - now.z};
    double worst = 0;
    for (std::size_t c = 0; c < 3; ++c) {
      rhs[kBands + c] = missing[c];
      worst = std::max(worst, std::abs(missing[c]));
    }
    if (worst < kDone && worst_gradient < kStationary) return s;
    if (!solve(m, rhs)) return std::nullopt;
    for (std::size_t i = 0; i < kBands; ++i) {
      if (!(std::abs(rhs[i]) <= kLongestStep)) return std::nullopt;
      s.z[i] += rhs[i];
      if (!(std::abs(s.z[i]) <= kLargestZ)) return std::nullopt;
    }
    for (std::size_t c = 0; c < 3; ++c) s.lambda[c] += rhs[kBands + c];
  }
  return std::nullopt;
}

/// Walks from the grey of the same Y to the colour. The possible colours form a convex solid, so the whole
/// line is possible if its end is. nullopt if the walk gets stuck: the end is outside, or within a hair of
/// the surface.
std::optional<State> walk_from_grey(const XYZ& target, const ViewingWeights& weights) {
  constexpr double kSmallestStep = 1.0 / 512.0;
  const double grey = target.y / weights.white.y;
  if (!(grey > kLeastReflectance && grey < kMostReflectance)) return std::nullopt;
  State s{Spectrum::flat(z_at(grey)), {}};
  if (!(std::abs(s.z[0]) < kLargestZ)) return std::nullopt;
  const XYZ start = weights.white * grey;
  double at = 0, step = 1;
  while (at < 1) {
    const double next = std::min(1.0, at + step);
    const std::optional<State> moved = newton(s, start * (1.0 - next) + target * next, weights);
    if (moved) {
      s = *moved;
      at = next;
      step *= 2;
    } else {
      step = 0.5 * (next - at);
      if (step < kSmallestStep) return std::nullopt;
    }
  }
  return s;
}

struct NearMiss {
  Spectrum z;
  double cost = 0;
};

/// Squared CIELAB distance plus a trace of roughness.
constexpr double kRoughness = 1e-4;
double miss_cost(const Spectrum& z, const Lab& asked, const ViewingWeights& weights) {
  const Lab got = lab_from_reflectance(reflectance_of(z), weights);
  double cost = (got.l - asked.l) * (got.l - asked.l) + (got.a - asked.a) * (got.a - asked.a) +
                (got.b - asked.b) * (got.b - asked.b);
  for (std::size_t i = 0; i + 1 < kBands; ++i) cost += kRoughness * (z[i + 1] - z[i]) * (z[i + 1] - z[i]);
  return cost;
}

/// Damped least squares (Levenberg-Marquardt) on that cost from the given start.
NearMiss nearest_possible(const Spectrum& start, const Lab& asked, const ViewingWeights& weights) {
  constexpr int kMaxIterations = 200;
  NearMiss best{start, miss_cost(start, asked, weights)};
  double damping = 1e-2;
  for (int iteration = 0; iteration < kMaxIterations && damping < 1e8; ++iteration) {
    const XYZ xyz = xyz_from_reflectance(reflectance_of(best.z), weights);
    const Lab got = lab_from_xyz(xyz, weights.white);
    const std::array<double, 3> miss = {got.l - asked.l, got.a - asked.a, got.b - asked.b};
    std::array<std::array<double, kBands>, 3> d{};  // d Lab / d z, by the chain through XYZ
    const auto root_slope = [](double value, double white) {
      const double h = 1e-6 * white;
      return (lab_from_xyz({1, value + h, 1}, {1, white, 1}).l -
              lab_from_xyz({1, value - h, 1}, {1, white, 1}).l) /
             (2 * h * 116.0);
    };
    const std::array<double, 3> f = {root_slope(xyz.x, weights.white.x), root_slope(xyz.y, weights.white.y),
                                     root_slope(xyz.z, weights.white.z)};
    for (std::size_t i = 0; i < kBands; ++i) {
      const double slope = slope_at(best.z[i]);
      const double fx = f[0] * weights.w[i][0] * slope;
      const double fy = f[1] * weights.w[i][1] * slope;
      const double fz = f[2] * weights.w[i][2] * slope;
      d[0][i] = 116.0 * fy;
      d[1][i] = 500.0 * (fx - fy);
      d[2][i] = 200.0 * (fy - fz);
    }
    Square<kBands> m{};
    std::array<double, kBands> rhs{};
    for (std::size_t i = 0; i < kBands; ++i) {
      steps_row(i, [&](std::size_t j, double value) {
        m[i][j] += kRoughness * value;
        rhs[i] -= kRoughness * value * best.z[j];
      });
      for (std::size_t c = 0; c < 3; ++c) {
        rhs[i] -= d[c][i] * miss[c];
        for (std::size_t j = 0; j < kBands; ++j) m[i][j] += d[c][i] * d[c][j];
      }
      m[i][i] += damping;
    }
    Spectrum trial = best.z;
    if (solve(m, rhs))
      for (std::size_t i = 0; i < kBands; ++i)
        trial[i] = std::clamp(trial[i] + std::clamp(rhs[i], -2.0, 2.0), -kLargestZ, kLargestZ);
    const double cost = miss_cost(trial, asked, weights);
    if (cost < best.cost) {
      const bool settled = best.cost - cost < 1e-10 * best.cost;
      best = {trial, cost};
      damping = std::max(1e-9, 0.2 * damping);
      if (settled) break;
    } else {
      damping *= 8;
    }
  }
  return best;
}

}  // namespace

RecoveredReflectance recover_reflectance(const XYZ& xyz, const ViewingWeights& weights) {
  KIRTLE_CHECK(std::abs(xyz.x), <=, 1e30);
  KIRTLE_CHECK(std::abs(xyz.y), <=, 1e30);
  KIRTLE_CHECK(std::abs(xyz.z), <=, 1e30);
  if (const std::optional<State> found = walk_from_grey(xyz, weights))
    return {reflectance_of(found->z), true, 0};
  const Lab asked = lab_from_xyz(xyz, weights.white);
  const double grey = std::clamp(xyz.y / weights.white.y, 1.2 * kLeastReflectance, 0.99 * kMostReflectance);
  const NearMiss near = nearest_possible(Spectrum::flat(z_at(grey)), asked, weights);
  RecoveredReflectance out{reflectance_of(near.z), false, 0};
  out.de00 = delta_e_2000(asked, lab_from_reflectance(out.reflectance, weights));
  return out;
}

Spectrum smooth_reflectance(const XYZ& xyz, const ViewingWeights& weights) {
  return recover_reflectance(xyz, weights).reflectance;
}

}  // namespace kirtle
