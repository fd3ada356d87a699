#include "layer/kubelka_munk.h"

#include "layer/domain.h"

#include <algorithm>

namespace kirtle {

namespace {

void require(KS ks) {
  require_not_negative("K (1/um)", ks.k);
  require_not_negative("S (1/um)", ks.s);
}

void require(const LayerRT& l) {
  require_range("reflectance of a layer", l.r0, 0, 1);
  require_range("transmittance of a layer", l.t, 0, 1);
  require_range("reflectance of a layer from below", l.r0_back, 0, 1);
}

// Rounding must not carry a result out of the range that the next call asks for.
double held(double share) { return std::clamp(share, 0.0, 1.0); }

}  // namespace

LayerRT layer_rt(KS ks, Um x) {
  require(ks);
  require_not_negative("thickness (um)", x.v);
  return layer_rt_unchecked(ks.k, ks.s, x.v);
}

LayerRT compose(const LayerRT& top, const LayerRT& bottom) {
  require(top);
  require(bottom);
  const LayerRT pile = compose_unchecked(top, bottom);
  return {held(pile.r0), held(pile.t), held(pile.r0_back)};
}

double reflectance_over(const LayerRT& layer, double r_back) {
  require(layer);
  require_range("reflectance of the backing", r_back, 0, 1);
  return held(reflectance_over_unchecked(layer, r_back));
}

double reflectance_over(KS ks, Um x, double r_back) {
  require(ks);
  require_not_negative("thickness (um)", x.v);
  require_range("reflectance of the backing", r_back, 0, 1);
  return held(even_layer_over_unchecked(ks.k, ks.s, x.v, r_back));
}

double r_infinity(KS ks) {
  require(ks);
  const double d = ks.k + ks.s + std::sqrt(ks.k * (ks.k + 2 * ks.s));
  return d > 0 ? ks.s / d : 0;
}

double k_over_s(double r_inf) {
  if (!(r_inf > 0 && r_inf <= 1))
    out_of_domain("reflectance of an opaque layer", r_inf, "above 0 and at most 1");
  return (1 - r_inf) * (1 - r_inf) / (2 * r_inf);
}

LayerSpectra layer_spectra(const KSSpectra& ks, Um x) {
  LayerSpectra l;
  for (std::size_t i = 0; i < kBands; ++i) l.set(i, layer_rt(ks.at(i), x));
  return l;
}

LayerSpectra compose(const LayerSpectra& top, const LayerSpectra& bottom) {
  LayerSpectra l;
  for (std::size_t i = 0; i < kBands; ++i) l.set(i, compose(top.at(i), bottom.at(i)));
  return l;
}

Spectrum reflectance_over(const LayerSpectra& layer, const Spectrum& r_back) {
  return spectrum_of([&](std::size_t i) { return reflectance_over(layer.at(i), r_back[i]); });
}

}  // namespace kirtle
