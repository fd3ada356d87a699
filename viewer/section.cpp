#include "section.h"

#include "light/weights.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

Rgb8 colour_of(const Spectrum& reflectance) {
  static const ViewingWeights d50 = viewing_weights("D50", Observer::cie1931_2deg);
  return srgb_codes8(srgb_from_xyz(xyz_from_reflectance(reflectance, d50), d50.white).linear);
}

/// K and S of a sublayer of cloth, dyes and inks in it.
Rgb8 sublayer_colour(const ClothFibre& fibre, const ClothSublayer& s, const std::vector<StackPass>& passes) {
  Spectrum k = fibre.fibre.k, scatter = fibre.fibre.s;
  for (std::size_t d = 0; d < fibre.dyes.size(); ++d) {
    const Dye& dye = fibre.dyes[d];
    const double left = s.dye_left[d];
    const double reduced = dye.reducible > 0 ? (1 - left) / dye.reducible : 0;
    k += left * dye.k_per_um + reduced * dye.byproduct_k_per_um;
  }
  for (std::size_t p = 0; p < passes.size(); ++p) {
    k += s.ink_volume[p] * passes[p].ink.optics.k;
    scatter += s.ink_volume[p] * passes[p].ink.optics.s;
  }
  return endless_colour(k, scatter);
}

void add_films(const Build& build, const Overprint& pile, SectionColumn& column) {
  double top = 0;
  for (const FilmLayer& layer : pile.film) {
    SectionBand band;
    Spectrum k, s;
    std::string what;
    for (const FilmPart& part : layer.parts) {
      const Ink& ink = build.scene->passes[static_cast<std::size_t>(part.pass)].ink;
      k += part.dry.v * ink.optics.k;
      s += part.dry.v * ink.optics.s;
      what += (what.empty() ? "" : " + ") + ink.name;
      if (ink.flat_reflectance) band.colour = colour_of(*ink.flat_reflectance);
    }
    const double thickness = layer.thickness().v;
    if (!(thickness > 0)) continue;
    band.bottom_um = top;
    top -= thickness;
    band.top_um = top;
    band.what = what;
    if (band.colour == Rgb8{}) band.colour = endless_colour(k, s);
    column.bands.push_back(band);
  }
}

}  // namespace

Rgb8 endless_colour(const Spectrum& k, const Spectrum& s) {
  // Kubelka and Munk 1931: R = 1 + K/S - sqrt((K/S)^2 + 2 K/S).
  return colour_of(spectrum_of([&](std::size_t b) {
    if (!(s[b] > 1e-9)) return k[b] > 0 ? 0.0 : 1.0;
    const double q = k[b] / s[b];
    return 1 + q - std::sqrt(q * q + 2 * q);
  }));
}

Section make_section(const Build& build, const PointReading& reading) {
  Section out;
  const Stack& stack = build.prediction->model().table.stack();
  std::vector<double> dose;
  std::vector<double> cuts{0, 1};
  for (const PlateReading& p : reading.plates) {
    dose.push_back(p.printed);
    if (!p.field && p.printed > 0 && p.printed < 1) cuts.push_back(p.printed);
  }
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
  out.cloth_um = stack.cloth().thickness.v;
  for (std::size_t c = 0; c + 1 < cuts.size(); ++c) {
    SectionColumn column;
    column.left = cuts[c];
    column.right = cuts[c + 1];
    std::vector<double> here = dose;
    for (std::size_t i = 0; i < here.size(); ++i) {
      if (!reading.plates[i].field) here[i] = here[i] > column.left ? 1 : 0;
    }
    const Overprint pile = stack.at(here);
    add_films(build, pile, column);
    out.build_um = std::max(out.build_um, pile.film_total.v);
    const std::vector<SoakedCloth> cloth = stack.cloth_table(here);
    // The fibre with the largest share stands for the cloth.
    std::size_t f = 0;
    const auto& fibres = stack.cloth().fibres;
    for (std::size_t i = 1; i < fibres.size(); ++i) f = fibres[i].share > fibres[f].share ? i : f;
    for (const ClothSublayer& s : cloth[f].sublayers) {
      column.bands.push_back(
          {s.top.v, s.top.v + s.thickness.v, sublayer_colour(fibres[f], s, stack.passes()), "cloth"});
    }
    if (c == 0) {
      out.has_dye = !fibres[f].dyes.empty();
      for (const ClothSublayer& s : cloth[f].sublayers) {
        double all = 0, left = 0, ink = 0;
        for (std::size_t d = 0; d < s.dye_left.size(); ++d) {
          const double weight = fibres[f].dyes[d].k_per_um[16];
          all += weight;
          left += weight * s.dye_left[d];
        }
        for (const double v : s.ink_volume) ink += v;
        out.depth_um.push_back(s.top.v + 0.5 * s.thickness.v);
        out.dye_left.push_back(all > 0 ? left / all : 0);
        out.ink_share.push_back(ink);
      }
    }
    out.columns.push_back(std::move(column));
  }
  return out;
}

}  // namespace kirtle
