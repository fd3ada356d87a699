#include "stack/stack.h"

#include "base/check.h"
#include "layer/domain.h"
#include "layer/surface.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

Um FilmLayer::thickness() const {
  double um = 0;
  for (const FilmPart& part : parts) um += part.dry.v;
  return {um};
}

Spectrum mean_reflectance(const Overprint& overprint) {
  Spectrum r;
  for (std::size_t f = 0; f < overprint.grounds.size(); ++f) {
    r += overprint.grounds[f].share * overprint.reflectance[f];
  }
  return r;
}

namespace {
/// An ink outside the model is an opaque film of the colour it is said to have: nothing of what lies below
/// shows, nothing of its own effect is predicted.
void draw_flat(Ink& ink) {
  constexpr double kOpaqueS = 5;  // per um: a few micrometres hide
  for (std::size_t i = 0; i < kBands; ++i) {
    const double r = std::clamp((*ink.flat_reflectance)[i], 1e-3, 1.0);
    ink.optics.s[i] = kOpaqueS;
    ink.optics.k[i] = kOpaqueS * k_over_s(r);
  }
  ink.soak = 0;
  ink.gloss = 0;
}
}  // namespace

/// What each pass leaves at a point.
struct Stack::Deposits {
  std::vector<SoakedInk> soaked;  ///< one a pass
  std::vector<SoakedAgent> agents;
  std::vector<FilmLayer> film;  ///< bottom up
  double soaked_um = 0, wet_um = 0, agent_g_m2 = 0;
};

Stack::Stack(const Cloth& cloth, std::vector<StackPass> passes, int plates, const DischargeProcess& process,
             const StackSettings& settings)
    : cloth_(cloth), passes_(std::move(passes)), plates_(plates), settings_(settings) {
  require_range("wet_trapping", settings_.wet_trapping, 0, 1);
  require_range("wet_pickup", settings_.wet_pickup, 0, 1);
  require_positive("barrier", settings_.barrier.v);
  require_positive("surface_fibres", cloth_.surface_fibres_um.v);
  require_range("show_through", cloth_.show_through, 0, 1);
  for (StackPass& pass : passes_) {
    if (pass.ink.flat_reflectance) draw_flat(pass.ink);
    KIRTLE_CHECK(pass.plate, >=, 0);
    KIRTLE_CHECK(pass.plate, <, plates_);
    require_not_negative("wet deposit", pass.wet.v);
    require_range("solids_by_volume", pass.ink.solids_by_volume, 0, 1);
    require_range("soak", pass.ink.soak, 0, 1);
    require_range("gloss", pass.ink.gloss, 0, 1);
    require_not_negative("agent", pass.ink.agent_g_cm3);
    for (std::size_t i = 0; i < kBands; ++i) {
      require_not_negative("K of " + pass.ink.id, pass.ink.optics.k[i]);
      require_not_negative("S of " + pass.ink.id, pass.ink.optics.s[i]);
    }
  }
  double shares = 0;
  for (const ClothFibre& fibre : cloth_.fibres) {
    require_range("share of fibre " + fibre.name, fibre.share, 0, 1);
    shares += fibre.share;
    fibres_.emplace_back(cloth_, fibre, process);
  }
  require_range("sum of the fibres' shares", shares, 1 - 1e-6, 1 + 1e-6);
}

Stack::Deposits Stack::deposits(std::span<const double> dose) const {
  KIRTLE_CHECK(dose.size(), ==, static_cast<std::size_t>(plates_));
  Deposits d;
  d.soaked.resize(passes_.size());
  std::vector<double> on_top(passes_.size(), 0.0);
  double film_um = 0;
  for (std::size_t i = 0; i < passes_.size(); ++i) {
    const StackPass& pass = passes_[i];
    const double level = dose[pass.plate];
    d.soaked[i] = {&pass.ink.optics, {0}, pass.ink.soak_depth, pass.ink.wets};
    if (!(level > 0)) continue;
    const double wet = pass.wet.v * level;
    const double dry = wet * pass.ink.solids_by_volume;
    const double open = std::exp(-film_um / settings_.barrier.v);
    const double soaked = dry * pass.ink.soak * open;
    d.soaked[i].volume = {soaked};
    on_top[i] = dry - soaked;
    film_um += on_top[i];
    d.wet_um += wet;
    if (pass.ink.agent_g_cm3 > 0) {
      const double agent = wet * pass.ink.agent_g_cm3 * open;  // um = cm3/m2, so g/m2
      d.agents.push_back({agent, pass.ink.agent_depth});
      d.agent_g_m2 += agent;
    }
  }
  // Ink for which the cloth has no room stays on top.
  const std::vector<Um> overflow = fibres_.front().overflow(d.soaked);
  for (std::size_t i = 0; i < passes_.size(); ++i) {
    d.soaked[i].volume.v -= overflow[i].v;
    if (!(d.soaked[i].volume.v > 0)) d.soaked[i].volume.v = 0;
    d.soaked_um += d.soaked[i].volume.v;
    on_top[i] += overflow[i].v;
  }
  bool wet = false;
  for (std::size_t i = 0; i < passes_.size(); ++i) {
    if (on_top[i] > 0) {
      if (wet) {
        // In proportion to how much of this screen prints here, so that a trace of ink takes no more than a
        // trace away.
        const double taken = settings_.wet_pickup * std::min(dose[passes_[i].plate], 1.0);
        for (FilmPart& part : d.film.back().parts) part.dry.v *= 1 - taken;
        d.film.back().parts.push_back({static_cast<int>(i), {on_top[i] * settings_.wet_trapping}});
      } else {
        d.film.push_back({{{static_cast<int>(i), {on_top[i]}}}});
      }
      wet = true;
    }
    if (passes_[i].flash_after) wet = false;
  }
  return d;
}

void Stack::add_film(const std::vector<FilmLayer>& film, Overprint& out) const {
  double gloss = 0;
  for (const FilmLayer& layer : film) {
    const double x = layer.thickness().v;
    KSSpectra ks;
    bool flat = false;  // an ink outside the model hides what lies below, fibres too
    gloss = 0;
    for (const FilmPart& part : layer.parts) {
      const Ink& ink = passes_[part.pass].ink;
      const double share = x > 0 ? part.dry.v / x : 0;
      ks.k += share * ink.optics.k;
      ks.s += share * ink.optics.s;
      gloss += share * ink.gloss;
      if (ink.flat_reflectance) flat = true;
    }
    out.has_flat = out.has_flat || flat;
    LayerSpectra rt;
    const double open = flat ? 0 : cloth_.show_through * std::exp(-x / cloth_.surface_fibres_um.v);
    for (std::size_t i = 0; i < kBands; ++i) {
      LayerRT l = layer_rt_unchecked(ks.k[i], ks.s[i], x);
      l.r0 *= 1 - open;
      l.r0_back *= 1 - open;
      l.t = l.t * (1 - open) + open;
      rt.set(i, l);
    }
    out.film_total.v += x;
    out.film_ks.push_back(ks);
    out.film_rt.push_back(rt);
  }
  out.film = film;
  // The surface belongs to the topmost film and fades in with all that lies on the cloth.
  const Surface surface = film_surface(gloss, out.film_total);
  LayerRT top = as_layer(surface);
  if (!settings_.surface_light) top.r0 = 0;
  for (std::size_t i = 0; i < kBands; ++i) out.surface.set(i, top);
}

Overprint Stack::at(std::span<const double> dose) const {
  const Deposits d = deposits(dose);
  Overprint out;
  out.soaked_total = {d.soaked_um};
  out.wet_total = {d.wet_um};
  out.agent_g_m2 = d.agent_g_m2;
  add_film(d.film, out);
  const double bare = std::exp(-out.film_total.v / kSurfaceBuildUp.v);
  for (std::size_t f = 0; f < fibres_.size(); ++f) {
    Ground ground;
    ground.share = cloth_.fibres[f].share;
    ground.reflectance = fibres_[f].reflectance(d.soaked, d.agents, bare);
    ground.scatter = fibres_[f].effective_ground(d.soaked, d.agents);
    Spectrum r = ground.reflectance;
    for (std::size_t i = 0; i < kBands; ++i) {
      for (const LayerSpectra& layer : out.film_rt) r[i] = reflectance_over_unchecked(layer.at(i), r[i]);
      r[i] = reflectance_over_unchecked(out.surface.at(i), r[i]);
    }
    out.grounds.push_back(ground);
    out.reflectance.push_back(r);
  }
  return out;
}

std::vector<SoakedCloth> Stack::cloth_table(std::span<const double> dose) const {
  const Deposits d = deposits(dose);
  std::vector<SoakedCloth> out;
  for (const ClothStack& fibre : fibres_) out.push_back(fibre.table(d.soaked, d.agents));
  return out;
}

}  // namespace kirtle
