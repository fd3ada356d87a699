#include "cloth/cloth_stack.h"

#include "base/check.h"
#include "layer/domain.h"
#include "layer/kubelka_munk.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle {

namespace {

// Gauss-Legendre on (0, 1), three points (Abramowitz, Stegun 25.4.30): the mean of exp(-E) over a sublayer,
// since the mean of the exponential is not the exponential of the mean.
constexpr std::array<double, 3> kGaussAt{0.1127016653792583, 0.5, 0.8872983346207417};
constexpr std::array<double, 3> kGaussWeight{5.0 / 18, 8.0 / 18, 5.0 / 18};

void require_spectrum(const char* name, const Spectrum& s) {
  for (double v : s.v) require_not_negative(name, v);
}

}  // namespace

// What depends on inks and agents but not on the band. Row j of a table is sublayer j from the face.
struct ClothStack::Work {
  std::vector<double> dye_left;     // [sublayer * dyes + dye]
  std::vector<double> ink_volume;   // [sublayer * inks + ink]
  std::vector<double> fibre_s;      // [sublayer] share of the fibres' scattering kept
  std::vector<double> overflow_um;  // [ink]
  std::vector<double> agent;        // [sublayer], g/cm3
};

ClothStack::ClothStack(const Cloth& cloth, const ClothFibre& fibre, const DischargeProcess& process,
                       int sublayers)
    : fibre_(fibre.fibre),
      backing_(cloth.backing),
      dyes_(fibre.dyes),
      edges_um_(sublayer_edges(cloth.thickness, sublayers)),
      ply_um_(cloth.thickness.v),
      pores_(cloth.pores),
      surface_(cloth.surface),
      wetting_(cloth.wetting),
      pore_volume_(cloth.pore_volume) {
  require_spectrum("fibre K (1/um)", fibre_.k);
  require_spectrum("fibre S (1/um)", fibre_.s);
  for (double v : backing_.v) require_range("backing", v, 0, 1);
  for (const Dye& dye : dyes_) {
    require_spectrum("dye K (1/um)", dye.k_per_um);
    require_spectrum("by-product K (1/um)", dye.byproduct_k_per_um);
    require_range("reducible share", dye.reducible, 0, 1);
    require_positive("rate of a dye", dye.rate);
  }
  require_range("pores", pores_, 0, 1);
  require_range("surface", surface_, 0, 1);
  require_range("wetting", wetting_, 0, 1);
  require_range("pore volume", pore_volume_, 0, 1);
  require_range("takes agent", fibre.takes_agent, 0, 1);
  exposure_per_agent_ = fibre.takes_agent * exposure_per_agent(process);
}

void ClothStack::soak(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents,
                      Work& work) const {
  const std::size_t n = edges_um_.size() - 1;
  work.ink_volume.assign(n * inks.size(), 0);
  work.overflow_um.assign(inks.size(), 0);
  work.fibre_s.assign(n, 1);
  work.dye_left.assign(n * dyes_.size(), 1);
  work.agent.assign(n, 0);

  // Ink: each sublayer takes its share of the exponential profile plus what the one above could not hold.
  std::vector<double> filled(inks.empty() ? 0 : n, 0);
  for (std::size_t m = 0; m < inks.size(); ++m) {
    const SoakedInk& ink = inks[m];
    KIRTLE_CHECK(ink.optics, !=, static_cast<const KSSpectra*>(nullptr));
    require_not_negative("soaked volume (um)", ink.volume.v);
    require_positive("soak depth (um)", ink.depth.v);
    require_range("wets", ink.wets, 0, 1);
    const double scale = -ink.volume.v / std::expm1(-ply_um_ / ink.depth.v);
    double carried_um = 0, above = 1;  // above: exp(-z / z_p) at the sublayer's upper edge
    for (std::size_t j = 0; j < n; ++j) {
      const double thickness = edges_um_[j + 1] - edges_um_[j];
      const double below = std::exp(-edges_um_[j + 1] / ink.depth.v);
      const double wanted_um = scale * (above - below) + carried_um;
      above = below;
      const double room_um = std::max(0.0, (pore_volume_ - filled[j]) * thickness);
      const double laid_um = std::min(wanted_um, room_um);
      carried_um = wanted_um - laid_um;
      const double v = laid_um / thickness;
      work.ink_volume[j * inks.size() + m] = v;
      filled[j] += v;
      if (pore_volume_ > 0) work.fibre_s[j] -= wetting_ * ink.wets * v / pore_volume_;
    }
    work.overflow_um[m] = carried_um;
  }
  for (double& s : work.fibre_s) s = std::max(0.0, s);

  // Agent and what it leaves of each dye.
  double dose = 0;
  for (const SoakedAgent& agent : agents) {
    require_not_negative("dose of agent (g/m2)", agent.dose_g_m2);
    require_positive("soak depth of agent (um)", agent.depth.v);
    dose += agent.dose_g_m2;
  }
  if (!(dose > 0)) return;
  for (std::size_t j = 0; j < n; ++j) {
    const double thickness = edges_um_[j + 1] - edges_um_[j];
    std::array<double, kGaussAt.size()> at{};
    for (const SoakedAgent& agent : agents) {
      const double face = agent.dose_g_m2 / (-agent.depth.v * std::expm1(-ply_um_ / agent.depth.v));
      for (std::size_t g = 0; g < at.size(); ++g)
        at[g] += face * std::exp(-(edges_um_[j] + kGaussAt[g] * thickness) / agent.depth.v);
      work.agent[j] +=
          agent.dose_g_m2 * soak_profile_mean({edges_um_[j]}, {edges_um_[j + 1]}, agent.depth, {ply_um_});
    }
    for (std::size_t d = 0; d < dyes_.size(); ++d) {
      double left = 0;
      for (std::size_t g = 0; g < at.size(); ++g)
        left += kGaussWeight[g] * std::exp(-at[g] * exposure_per_agent_ * dyes_[d].rate);
      work.dye_left[j * dyes_.size() + d] = (1 - dyes_[d].reducible) + dyes_[d].reducible * left;
    }
  }
}

KSSpectra ClothStack::sublayer_ks(std::size_t j, std::span<const SoakedInk> inks, const Work& work) const {
  KSSpectra ks = fibre_;
  ks.s *= work.fibre_s[j];
  for (std::size_t d = 0; d < dyes_.size(); ++d) {
    const double left = work.dye_left[j * dyes_.size() + d];
    const Dye& dye = dyes_[d];
    for (std::size_t i = 0; i < kBands; ++i)
      ks.k[i] += left * dye.k_per_um[i] + (1 - left) * dye.byproduct_k_per_um[i];
  }
  for (std::size_t m = 0; m < inks.size(); ++m) {
    const double v = work.ink_volume[j * inks.size() + m];
    for (std::size_t i = 0; i < kBands; ++i) {
      ks.k[i] += v * inks[m].optics->k[i];
      ks.s[i] += v * inks[m].optics->s[i];
    }
  }
  return ks;
}

Spectrum ClothStack::reflectance(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents,
                                 double surface_fading) const {
  require_range("fading of the fibres' surface", surface_fading, 0, 1);
  Work work;
  soak(inks, agents, work);
  Spectrum r = backing_;
  for (std::size_t j = edges_um_.size() - 1; j-- > 0;) {
    const KSSpectra ks = sublayer_ks(j, inks, work);
    const double thickness = edges_um_[j + 1] - edges_um_[j];
    for (std::size_t i = 0; i < kBands; ++i)
      r[i] = even_layer_over_unchecked(ks.k[i], ks.s[i], thickness, r[i]);
  }
  const double r0 = surface_ * surface_fading;
  for (std::size_t i = 0; i < kBands; ++i) {
    const double knit = (1 - pores_) * r[i] + pores_ * backing_[i];
    r[i] = std::clamp(r0 + (1 - r0) * knit, 0.0, 1.0);  // rounding only
  }
  return r;
}

SoakedCloth ClothStack::table(std::span<const SoakedInk> inks, std::span<const SoakedAgent> agents) const {
  Work work;
  soak(inks, agents, work);
  SoakedCloth out;
  const auto row = [](const std::vector<double>& all, std::size_t j, std::size_t width) {
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(j * width);
    return std::vector<double>(first, first + static_cast<std::ptrdiff_t>(width));
  };
  for (std::size_t j = 0; j + 1 < edges_um_.size(); ++j)
    out.sublayers.push_back({{edges_um_[j]},
                             {edges_um_[j + 1] - edges_um_[j]},
                             work.agent[j],
                             row(work.dye_left, j, dyes_.size()),
                             row(work.ink_volume, j, inks.size())});
  for (double v : work.overflow_um) out.overflow.push_back({v});
  return out;
}

std::vector<Um> ClothStack::overflow(std::span<const SoakedInk> inks) const {
  Work work;
  soak(inks, {}, work);
  std::vector<Um> out;
  for (double v : work.overflow_um) out.push_back({v});
  return out;
}

KSSpectra ClothStack::effective_ground(std::span<const SoakedInk> inks,
                                       std::span<const SoakedAgent> agents) const {
  Work work;
  soak(inks, agents, work);
  KSSpectra weighted, plain;
  Spectrum weight;
  LayerSpectra above;
  for (std::size_t j = 0; j + 1 < edges_um_.size(); ++j) {
    const KSSpectra ks = sublayer_ks(j, inks, work);
    const double thickness = edges_um_[j + 1] - edges_um_[j];
    for (std::size_t i = 0; i < kBands; ++i) {
      const LayerRT here = layer_rt_unchecked(ks.k[i], ks.s[i], thickness);
      const LayerRT pile = compose_unchecked(above.at(i), here);
      const double added = std::max(0.0, pile.r0 - above.r0[i]);
      weight[i] += added;
      weighted.k[i] += added * ks.k[i];
      weighted.s[i] += added * ks.s[i];
      plain.k[i] += ks.k[i] * thickness / ply_um_;
      plain.s[i] += ks.s[i] * thickness / ply_um_;
      above.set(i, pile);
    }
  }
  for (std::size_t i = 0; i < kBands; ++i) {
    if (!(weight[i] > 0)) continue;  // nothing comes back from this ply: the plain mean stands
    plain.k[i] = weighted.k[i] / weight[i];
    plain.s[i] = weighted.s[i] / weight[i];
  }
  return plain;
}

}  // namespace kirtle
