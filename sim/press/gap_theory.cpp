#include "press/gap_theory.h"

#include "base/check.h"
#include "press/random.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <string>

namespace kirtle {
namespace {

void require_gap(bool holds, const char* what, double found) {
  if (!holds) throw std::domain_error("gap: " + std::string(what) + "; it is " + std::to_string(found));
}

void check_lengths(Mm trap, Mm sigma, Mm wider_than) {
  require_gap(std::isfinite(trap.v), "trap must be finite, mm", trap.v);
  require_gap(sigma.v >= 0 && std::isfinite(sigma.v), "sigma must be >= 0 mm", sigma.v);
  require_gap(wider_than.v >= 0 && std::isfinite(wider_than.v), "wider_than must be >= 0 mm", wider_than.v);
}

double density(double x) { return std::exp(-x * x / 2) / std::sqrt(2 * std::numbers::pi); }

/// P(N(0, sigma) > r), the step function for sigma 0.
double tail_beyond(double r, double sigma) {
  if (sigma > 0) return normal_tail(r / sigma);
  return r < 0 ? 1 : 0;
}

double either_side(double r, double sigma, double bias) {
  if (r <= 0) return 1;
  return std::min(1.0, tail_beyond(r - bias, sigma) + tail_beyond(r + bias, sigma));
}

/// P(|shift| > r), shift = (bias + sigma x, sigma y). Beyond r on the x axis both tails count whole; between,
/// with bias + sigma x = r sin a, the y tails are left: the substitution keeps the integrand smooth at both
/// ends.
double rice_tail(double r, double sigma, double bias) {
  if (r <= 0) return 1;
  if (!(sigma > 0)) return bias > r ? 1 : 0;
  const double reach = 9;  // phi(9) < 2e-18
  const double from = std::asin(std::clamp((bias - reach * sigma) / r, -1.0, 1.0));
  const double to = std::asin(std::clamp((bias + reach * sigma) / r, -1.0, 1.0));
  const auto part = [&](double a) {
    const double x = (r * std::sin(a) - bias) / sigma, y = r * std::cos(a) / sigma;
    return density(x) * 2 * normal_tail(y) * y;
  };
  double sum = 0;
  if (from < to) {
    constexpr int kSteps = 2000;  // Simpson; halving them changes the result by less than 1e-12 (test)
    const double step = (to - from) / kSteps;
    for (int i = 0; i <= kSteps; ++i)
      sum += part(from + i * step) * (i % kSteps == 0 ? 1 : i % 2 == 1 ? 4 : 2);
    sum *= step / 3;
  }
  return std::min(1.0, tail_beyond(r - bias, sigma) + tail_beyond(r + bias, sigma) + sum);
}

/// r / sigma at which the share is reached.
double reach_for_share(GapPlace place, double share) {
  require_gap(share > 0 && share < 1, "share must be in (0, 1)", share);
  switch (place) {
    case GapPlace::one_edge:
      return -inverse_normal(share);
    case GapPlace::two_edges:
      return -inverse_normal(share / 2);
    case GapPlace::round_outline:
      return std::sqrt(-2 * std::log(share));
    case GapPlace::square_outline:
      // 1 - sqrt(1 - share) without cancellation
      return -inverse_normal(share / (1 + std::sqrt(1 - share)) / 2);
  }
  KIRTLE_CHECK(static_cast<int>(place), <, 0);
  return 0;
}

}  // namespace

double normal_tail(double x) { return std::erfc(x / std::numbers::sqrt2) / 2; }

double gap_share(GapPlace place, Mm trap, Mm sigma, Mm wider_than) {
  return biased_gap_share(place, trap, sigma, {0}, wider_than);
}

double biased_gap_share(GapPlace place, Mm trap, Mm sigma, Mm bias, Mm wider_than, Mm bias_down) {
  check_lengths(trap, sigma, wider_than);
  require_gap(std::isfinite(bias.v), "bias must be finite, mm", bias.v);
  require_gap(std::isfinite(bias_down.v), "bias_down must be finite, mm", bias_down.v);
  const double r = trap.v + wider_than.v;
  switch (place) {
    case GapPlace::one_edge:
      return tail_beyond(r - bias.v, sigma.v);
    case GapPlace::two_edges:
      return either_side(r, sigma.v, bias.v);
    case GapPlace::round_outline:
      require_gap(bias.v >= 0, "bias of a round outline is a length, >= 0 mm", bias.v);
      if (bias.v == 0 && sigma.v > 0) return r <= 0 ? 1 : std::exp(-r * r / (2 * sigma.v * sigma.v));
      return rice_tail(r, sigma.v, bias.v);
    case GapPlace::square_outline: {
      const double across = either_side(r, sigma.v, bias.v), down = either_side(r, sigma.v, bias_down.v);
      return across + down - across * down;
    }
  }
  KIRTLE_CHECK(static_cast<int>(place), <, 0);
  return 0;
}

Mm mean_gap(Mm trap, Mm sigma, Mm bias) {
  check_lengths(trap, sigma, {0});
  require_gap(std::isfinite(bias.v), "bias must be finite, mm", bias.v);
  const double t = trap.v - bias.v;
  if (!(sigma.v > 0)) return {std::max(0.0, -t)};
  return {std::max(0.0, sigma.v * density(t / sigma.v) - t * normal_tail(t / sigma.v))};
}

Mm trap_for_share(GapPlace place, double share, Mm sigma, Mm wider_than) {
  check_lengths({0}, sigma, wider_than);
  return {sigma.v * reach_for_share(place, share) - wider_than.v};
}

}  // namespace kirtle
