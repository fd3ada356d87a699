#include "cloth/swatch.h"

#include "cloth/cloth_stack.h"
#include "layer/domain.h"
#include "layer/kubelka_munk.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kLargestKOverS = 1000;  // an opaque reflectance of 0.0005: blacker than cloth gets
constexpr double kDark = 0.03;           // Safi, Ameri, Ansari 2021 (see header)

// K >= 0 at which the falling function seen(K) meets the target, held to the ends 0 and k_max.
template <class F>
double absorption_for(F&& seen, double target, double k_max) {
  if (!(seen(0) > target)) return 0;
  if (!(seen(k_max) < target)) return k_max;
  double low = 0, high = k_max;
  for (int i = 0; i < 70; ++i) {
    const double m = 0.5 * (low + high);
    (seen(m) > target ? low : high) = m;
  }
  return 0.5 * (low + high);
}

// One band of the cloth as seen, its ply given as K per sublayer.
struct Band {
  const Cloth& cloth;
  const ClothFibre& fibre;
  std::size_t i;

  double as_seen(double r_ply) const {
    const double knit = (1 - cloth.pores) * r_ply + cloth.pores * cloth.backing[i];
    return cloth.surface + (1 - cloth.surface) * knit;
  }
  double even(double k_dye) const {
    return as_seen(even_layer_over_unchecked(fibre.fibre.k[i] + k_dye, fibre.fibre.s[i], cloth.thickness.v,
                                             cloth.backing[i]));
  }
  double discharged(const std::vector<ClothSublayer>& sublayers, double k_bare, double k_left) const {
    double r = cloth.backing[i];
    for (std::size_t j = sublayers.size(); j-- > 0;) {
      const double f = sublayers[j].dye_left[0];
      const double k = fibre.fibre.k[i] + f * k_bare + (1 - f) * k_left;
      r = even_layer_over_unchecked(k, fibre.fibre.s[i], sublayers[j].thickness.v, r);
    }
    return as_seen(r);
  }
  double k_max() const { return std::max(kLargestKOverS * fibre.fibre.s[i], 50 / cloth.thickness.v); }
};

}  // namespace

ClothSwatchFit dyes_from_swatch(const Cloth& cloth, const ClothFibre& fibre, const Spectrum& bare,
                                const std::optional<DischargeSwatch>& discharged, double reducible) {
  require_range("reducible share", reducible, 0, 1);
  for (double v : bare.v) require_range("reflectance of the shirt", v, 0, 1);

  Dye dye{.name = "dye", .k_per_um = {}, .reducible = reducible, .rate = 1, .byproduct_k_per_um = {}};
  ClothFibre undyed = fibre;
  undyed.dyes = {Dye{.name = "probe", .k_per_um = {}, .reducible = 1, .rate = 1, .byproduct_k_per_um = {}}};
  const ClothStack stack(cloth, undyed,
                         discharged ? discharged->process : DischargeProcess{});  // checks the cloth

  ClothSwatchFit fit;
  for (std::size_t i = 0; i < kBands; ++i) {
    const Band band{cloth, fibre, i};
    dye.k_per_um[i] = absorption_for([&](double k) { return band.even(k); }, bare[i], band.k_max());
    fit.bare_misfit = std::max(fit.bare_misfit, std::abs(band.even(dye.k_per_um[i]) - bare[i]));
    if (bare[i] < kDark) ++fit.dark_bands;
  }
  if (!discharged) {
    fit.dyes = {dye};
    return fit;
  }

  for (double v : discharged->reflectance.v) require_range("reflectance of the discharged shirt", v, 0, 1);
  require_positive("dose of agent (g/m2)", discharged->dose_g_m2);
  const std::array<SoakedAgent, 1> agent{{{discharged->dose_g_m2, discharged->agent_depth}}};
  const std::vector<ClothSublayer> sublayers = stack.table({}, agent).sublayers;

  Dye yields = dye, resists = dye;
  yields.name = "yields";
  yields.reducible = 1;
  resists.name = "resists";
  resists.reducible = 0;
  for (std::size_t i = 0; i < kBands; ++i) {
    const Band band{cloth, fibre, i};
    const auto seen = [&](double k_left) { return band.discharged(sublayers, dye.k_per_um[i], k_left); };
    const double left = absorption_for(seen, discharged->reflectance[i], band.k_max());
    fit.discharged_misfit =
        std::max(fit.discharged_misfit, std::abs(seen(left) - discharged->reflectance[i]));
    resists.k_per_um[i] = std::min(left, dye.k_per_um[i]);
    yields.k_per_um[i] = dye.k_per_um[i] - resists.k_per_um[i];
    yields.byproduct_k_per_um[i] = left - resists.k_per_um[i];
  }
  fit.dyes = {yields, resists};
  return fit;
}

}  // namespace kirtle
