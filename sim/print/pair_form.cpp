#include "print/pair_form.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

/// Reflectance of p's cloth with its lowest `shared` layers.
double ground_of(const Overprint& p, std::size_t fibre, std::size_t shared, std::size_t band) {
  double r = p.grounds[fibre].reflectance[band];
  for (std::size_t i = 0; i < shared; ++i) r = reflectance_over_unchecked(p.film_rt[i].at(band), r);
  return r;
}

/// What p and q, half and half, give back in one band where the pattern keeps 1 - m of its contrast in the
/// light that the ground returns. With e = sqrt(rg) d (flux.h), u = sqrt(rg) v and v = (1 - m) e + m mean(e),
/// so that every bounce between ground and layers is in it.
double half_and_half(const LayerRT (&above)[2], const double (&rg)[2], double m) {
  double root[2], kept[2], straight = 0, again = 0;
  for (int i = 0; i < 2; ++i) {
    root[i] = std::sqrt(rg[i]);
    kept[i] = lit_from_both_sides_unchecked((1 - m) * above[i].r0_back, rg[i]);
    straight += 0.5 * root[i] * above[i].t / kept[i];
    again += 0.5 * rg[i] * above[i].r0_back / kept[i];
  }
  const double mean = straight / lit_from_both_sides_unchecked(m, again);
  double out = 0;
  for (int i = 0; i < 2; ++i) {
    const double e = (root[i] * above[i].t + rg[i] * above[i].r0_back * m * mean) / kept[i];
    out += 0.5 * (above[i].r0 + above[i].t * root[i] * ((1 - m) * e + m * mean));
  }
  return out;
}

Spectrum pair_on_fibre(const Overprint& p, const Overprint& q, std::size_t fibre, const Spectrum& m) {
  const std::size_t shared = shared_film(p, q);
  Spectrum out;
  for (std::size_t i = 0; i < kBands; ++i) {
    const LayerRT above[2] = {layers_above(p, shared, i), layers_above(q, shared, i)};
    const double rg[2] = {ground_of(p, fibre, shared, i), ground_of(q, fibre, shared, i)};
    const double area = 0.5 * (p.reflectance[fibre][i] + q.reflectance[fibre][i]);
    out[i] = area + 2 * (half_and_half(above, rg, m[i]) - half_and_half(above, rg, 0));
  }
  return out;
}

}  // namespace

std::size_t shared_film(const Overprint& p, const Overprint& q) {
  const auto end = std::mismatch(p.film.begin(), p.film.end(), q.film.begin(), q.film.end()).first;
  return static_cast<std::size_t>(end - p.film.begin());
}

LayerRT layers_above(const Overprint& p, std::size_t shared, std::size_t band) {
  LayerRT pile{0, 1, 0};
  for (std::size_t i = shared; i < p.film_rt.size(); ++i)
    pile = compose_unchecked(p.film_rt[i].at(band), pile);
  return compose_unchecked(p.surface.at(band), pile);
}

PairForm::PairForm(std::vector<PlateDots> plates, double tone) : plates_(std::move(plates)) {
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    const auto same =
        std::find_if(plates_.begin(), plates_.begin() + static_cast<std::ptrdiff_t>(i),
                     [&](const PlateDots& o) { return o.halftone.shape == plates_[i].halftone.shape; });
    if (same != plates_.begin() + static_cast<std::ptrdiff_t>(i)) {
      shares_.push_back(shares_[static_cast<std::size_t>(same - plates_.begin())]);
    } else {
      shares_.emplace_back(plates_[i].halftone.shape, tone);
    }
  }
}

Spectrum PairForm::scatter_share(const Overprint& p, const Overprint& q, std::size_t fibre,
                                 const std::vector<int>& differing) const {
  std::vector<int> dots;
  for (const int plate : differing) {
    if (!plates_[plate].field) dots.push_back(plate);
  }
  if (dots.empty()) return Spectrum::flat(1);
  const std::size_t shared = shared_film(p, q);
  return spectrum_of([&](std::size_t band) {
    const auto share_in = [&](KS ks) {
      const double mean = mean_scatter_um(ks);
      double sum = 0;
      for (const int plate : dots) sum += shares_[plate].at(mean / dot_pitch(plates_[plate].halftone).v);
      return sum / static_cast<double>(dots.size());
    };
    // Light turned back within a film layer spreads by that layer's own scatter; what passes it, by what lies
    // below.
    const KSSpectra& a = p.grounds[fibre].scatter;
    const KSSpectra& b = q.grounds[fibre].scatter;
    double m = share_in({0.5 * (a.k[band] + b.k[band]), 0.5 * (a.s[band] + b.s[band])});
    double r = std::sqrt(p.grounds[fibre].reflectance[band] * q.grounds[fibre].reflectance[band]);
    for (std::size_t i = 0; i < shared; ++i) {
      const LayerRT layer = p.film_rt[i].at(band);
      r = reflectance_over_unchecked(layer, r);
      const double own = r > 0 ? layer.r0 / r : 1;
      m = own * share_in(p.film_ks[i].at(band)) + (1 - own) * m;
    }
    return m;
  });
}

Spectrum PairForm::pair_at(const Overprint& p, const Overprint& q, const Spectrum& m) {
  KIRTLE_CHECK(p.grounds.size(), ==, q.grounds.size());
  Spectrum out;
  for (std::size_t f = 0; f < p.grounds.size(); ++f) out += p.grounds[f].share * pair_on_fibre(p, q, f, m);
  return out;
}

Spectrum PairForm::pair(const Overprint& p, const Overprint& q, const std::vector<int>& differing) const {
  if (differing.empty()) return mean_reflectance(p);
  Spectrum out;
  for (std::size_t f = 0; f < p.grounds.size(); ++f) {
    out += p.grounds[f].share * pair_on_fibre(p, q, f, scatter_share(p, q, f, differing));
  }
  return out;
}

}  // namespace kirtle
