#pragma once
// Bands for counts and means of independent draws.
#include <cmath>
#include <cstdint>

namespace kirtle::test {

/// P(X <= k), X binomial of n and p, summed in logarithms.
inline double binomial_cdf(std::int64_t k, std::int64_t n, double p) {
  if (k < 0) return 0;
  if (k >= n) return 1;
  double sum = 0;
  for (std::int64_t i = 0; i <= k; ++i) {
    const auto di = static_cast<double>(i), dn = static_cast<double>(n);
    sum += std::exp(std::lgamma(dn + 1) - std::lgamma(di + 1) - std::lgamma(dn - di + 1) + di * std::log(p) +
                    (dn - di) * std::log1p(-p));
  }
  return sum;
}

/// Whether a count is possible at that p: each tail, the count included, at least alpha / 2. Exact for a
/// binomial count (Clopper and Pearson 1934, doi:10.1093/biomet/26.4.404).
inline bool count_is_likely(std::int64_t k, std::int64_t n, double p, double alpha) {
  if (p <= 0) return k == 0;
  if (p >= 1) return k == n;
  return binomial_cdf(k, n, p) >= alpha / 2 && 1 - binomial_cdf(k - 1, n, p) >= alpha / 2;
}

}  // namespace kirtle::test
