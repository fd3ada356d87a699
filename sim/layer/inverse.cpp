#include "layer/inverse.h"

#include "layer/domain.h"
#include "layer/kubelka_munk.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace kirtle {

namespace {

// By how much a reading may fall below that of a film which only absorbs before it counts as wrong rather
// than noisy: usual repeatability of a print-shop spectrophotometer on textured card, from memory.
constexpr double kReadingNoise = 0.005;

// Bisection for a rising f over the exponent of its argument: the root of f(exp(u)) = target, 1e-14 relative.
template <class F>
double bisect_log(F&& f, double target, double low, double high) {
  double a = std::log(low), b = std::log(high);
  for (int i = 0; i < 64; ++i) {
    const double m = 0.5 * (a + b);
    (f(std::exp(m)) < target ? a : b) = m;
  }
  return std::exp(0.5 * (a + b));
}

}  // namespace

KS ks_from_two_backings(double r1, double g1, double r2, double g2, Um x) {
  require_range("reflectance of the film over backing 1", r1, 0, 1);
  require_range("reflectance of the film over backing 2", r2, 0, 1);
  require_range("reflectance of backing 1", g1, 0, 1);
  require_range("reflectance of backing 2", g2, 0, 1);
  require_positive("thickness (um)", x.v);
  if (g1 > g2) {
    std::swap(g1, g2);
    std::swap(r1, r2);
  }
  if (!(g2 > g1)) out_of_domain("reflectance of backing 2", g2, "different from that of backing 1");
  if (!(r2 > r1))
    out_of_domain(
        "reflectance of the film over the lighter backing", r2,
        "above that over the darker one: readings that coincide belong to a film too thick to tell K from S");

  // Cramer's rule on a (r + g) + c (r - g) = 1 + r g, every sign turned so that a film gives positive values:
  // a = na / de, c = nc / de. With w^2 = na^2 - de^2, bSX = atanh(w / nc), and SX and KX follow without
  // dividing by de, which is 0 for a film that does not scatter.
  double de = 2 * (g2 * r1 - g1 * r2);
  const double na = (1 + r2 * g2) * (r1 - g1) - (1 + r1 * g1) * (r2 - g2);
  const double nc = (r2 + g2) * (1 + r1 * g1) - (r1 + g1) * (1 + r2 * g2);
  if (!(de >= -2 * g2 * kReadingNoise))
    out_of_domain("reflectance of the film over the darker backing", r1,
                  "at least that of the backing seen twice through the film");
  de = std::max(de, 0.0);
  const double w = std::sqrt(std::max(0.0, (na - de) * (na + de)));
  if (!(nc > 0 && w < nc))
    out_of_domain("reflectance of the film over the lighter backing", r2,
                  "what an even film can give together with the other reading");
  const double t_over_w = w > 1e-8 * nc ? std::atanh(w / nc) / w : 1 / nc;
  return {std::max(0.0, (na - de) * t_over_w) / x.v, de * t_over_w / x.v};
}

KSSpectra ks_from_two_backings(const Spectrum& r1, const Spectrum& g1, const Spectrum& r2, const Spectrum& g2,
                               Um x) {
  KSSpectra out;
  for (std::size_t i = 0; i < kBands; ++i) {
    const KS ks = ks_from_two_backings(r1[i], g1[i], r2[i], g2[i], x);
    out.k[i] = ks.k;
    out.s[i] = ks.s;
  }
  return out;
}

double luminous_contrast_ratio(const KSSpectra& ks, Um x, const Spectrum& black, const Spectrum& white,
                               const ViewingWeights& weights) {
  double over_black = 0, over_white = 0;
  for (std::size_t i = 0; i < kBands; ++i) {
    over_black += weights.w[i][1] * reflectance_over(ks.at(i), x, black[i]);
    over_white += weights.w[i][1] * reflectance_over(ks.at(i), x, white[i]);
  }
  return over_white > 0 ? over_black / over_white : 1;
}

KSSpectra ks_from_hiding(const Spectrum& r_inf, const Spectrum& s_shape, double contrast_ratio, Um x,
                         const Spectrum& black, const Spectrum& white, const ViewingWeights& weights) {
  require_positive("thickness (um)", x.v);
  KSSpectra unit;
  for (std::size_t i = 0; i < kBands; ++i) {
    require_range("reflectance of an opaque layer", r_inf[i], 0, 1);
    require_positive("relative scattering", s_shape[i]);
    unit.s[i] = s_shape[i] / x.v;
    unit.k[i] = unit.s[i] * k_over_s(std::clamp(r_inf[i], 0.0005, 0.9995));
  }
  const auto scaled = [&](double f) { return KSSpectra{unit.k * f, unit.s * f}; };
  const auto ratio = [&](double f) { return luminous_contrast_ratio(scaled(f), x, black, white, weights); };
  if (!(contrast_ratio > ratio(0) && contrast_ratio < 1))
    out_of_domain("contrast ratio", contrast_ratio, "above that of the bare card and below 1");
  return scaled(bisect_log(ratio, contrast_ratio, 1e-9, 1e6));
}

}  // namespace kirtle
