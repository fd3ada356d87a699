#include "ink/swatch.h"

#include "layer/domain.h"
#include "layer/inverse.h"
#include "layer/kubelka_munk.h"
#include "light/recover_spectrum.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

namespace kirtle {

namespace {

// A film whose two readings lie closer than this share of the two cards' is opaque as far as the readings
// tell.
constexpr double kOpaque = 0.002;
// What an opaque layer of real ink can reflect inside: the range in which ks_from_hiding works.
constexpr double kDarkest = 0.0005, kLightest = 0.9995;

void require_readings(const char* name, const Spectrum& s) {
  for (std::size_t i = 0; i < kBands; ++i)
    require_range(std::string(name) + " at " + std::to_string(static_cast<int>(band_nm(i))) + " nm", s[i], 0,
                  1);
}

// Fills the bands that are not known from the nearest known ones: linear between, held at the ends.
void fill_from_neighbours(Spectrum& s, const std::array<bool, kBands>& known) {
  constexpr std::size_t none = kBands;
  std::size_t before = none;
  for (std::size_t i = 0; i < kBands; ++i) {
    if (known[i]) {
      before = i;
      continue;
    }
    std::size_t after = i;
    while (after < kBands && !known[after]) ++after;
    if (before == none) {
      s[i] = s[after];
    } else if (after == kBands) {
      s[i] = s[before];
    } else {
      const double u = static_cast<double>(i - before) / static_cast<double>(after - before);
      s[i] = (1 - u) * s[before] + u * s[after];
    }
  }
}

// K >= 0 of a film of known S from the sum of its readings over two cards, by bisection (the sum falls with
// K).
double absorption_of_film(double s, Um x, std::array<double, 2> cards, double sum) {
  const auto excess = [&](double k) {
    return reflectance_over({k, s}, x, cards[0]) + reflectance_over({k, s}, x, cards[1]) - sum;
  };
  double low = 0, high = s * k_over_s(kDarkest) + 50 / x.v;
  if (!(excess(low) > 0)) return low;
  if (!(excess(high) < 0)) return high;
  for (int i = 0; i < 70; ++i) {
    const double m = 0.5 * (low + high);
    (excess(m) > 0 ? low : high) = m;
  }
  return 0.5 * (low + high);
}

Spectrum scatter_shape(ScatterShape shape) {
  return spectrum_of([&](std::size_t i) { return shape == ScatterShape::white ? 550 / band_nm(i) : 1.0; });
}

}  // namespace

InkSwatchFit ink_from_films(const Spectrum& over_black, const Spectrum& over_white, const Spectrum& black,
                            const Spectrum& white, const FilmReading& reading) {
  require_readings("film over black", over_black);
  require_readings("film over white", over_white);
  require_readings("black card", black);
  require_readings("white card", white);
  require_positive("thickness of the film (um)", reading.thickness.v);
  const Surface surface = film_surface(reading.gloss, reading.thickness);
  const Spectrum dark = free_of_surface(over_black, surface, reading.include_k1);
  const Spectrum light = free_of_surface(over_white, surface, reading.include_k1);

  InkSwatchFit fit;
  fit.status = DataStatus::measured;
  std::array<bool, kBands> known{};
  for (std::size_t i = 0; i < kBands; ++i) {
    const std::string at = " at " + std::to_string(static_cast<int>(band_nm(i))) + " nm";
    if (!(white[i] > black[i])) out_of_domain("white card" + at, white[i], "above the black card");
    if (!(light[i] >= dark[i] - kOpaque))
      out_of_domain("film over white" + at, over_white[i],
                    "at least that over black: are the readings swapped?");
    if (!(light[i] - dark[i] >= kOpaque * (white[i] - black[i]))) continue;
    const KS ks = ks_from_two_backings(dark[i], black[i], light[i], white[i], reading.thickness);
    fit.optics.k[i] = ks.k;
    fit.optics.s[i] = ks.s;
    known[i] = true;
  }
  fit.held_bands = static_cast<int>(std::count(known.begin(), known.end(), false));
  if (fit.held_bands == static_cast<int>(kBands))
    out_of_domain("thickness of the film (um)", reading.thickness.v,
                  "thin enough for the card to show through in some band");
  fill_from_neighbours(fit.optics.s, known);
  for (std::size_t i = 0; i < kBands; ++i)
    if (!known[i])
      fit.optics.k[i] =
          absorption_of_film(fit.optics.s[i], reading.thickness, {black[i], white[i]}, dark[i] + light[i]);

  for (std::size_t i = 0; i < kBands; ++i) {
    const auto misfit = [&](double card, double given) {
      const double r = reflectance_over(fit.optics.at(i), reading.thickness, card);
      return std::abs(through_surface_unchecked(r, surface, reading.include_k1) - given);
    };
    fit.misfit = std::max({fit.misfit, misfit(black[i], over_black[i]), misfit(white[i], over_white[i])});
  }
  return fit;
}

InkSwatchFit ink_from_opaque(const Spectrum& opaque, const Hiding& hiding, double gloss, bool include_k1,
                             const ViewingWeights& weights) {
  require_readings("opaque layer", opaque);
  require_range("gloss", gloss, 0, 1);
  require_range("black card", hiding.black, 0, 1);
  require_range("white card", hiding.white, 0, 1);
  if (!(hiding.white > hiding.black)) out_of_domain("white card", hiding.white, "above the black card");
  require_positive("thickness of the film (um)", hiding.thickness.v);
  const Surface surface{kSmoothFilm.k1 * gloss, kSmoothFilm.k2 * gloss};  // opaque: far past the build-up
  Spectrum inner = free_of_surface(opaque, surface, include_k1);

  InkSwatchFit fit;
  for (std::size_t i = 0; i < kBands; ++i) {
    const double held = std::clamp(inner[i], kDarkest, kLightest);
    if (held != inner[i]) ++fit.held_bands;
    inner[i] = held;
    fit.misfit =
        std::max(fit.misfit, std::abs(through_surface_unchecked(held, surface, include_k1) - opaque[i]));
  }
  fit.optics = ks_from_hiding(inner, scatter_shape(hiding.shape), hiding.contrast_ratio, hiding.thickness,
                              Spectrum::flat(hiding.black), Spectrum::flat(hiding.white), weights);
  return fit;
}

InkSwatchFit ink_from_colour(const XYZ& opaque, const Hiding& hiding, double gloss, bool include_k1,
                             const ViewingWeights& weights) {
  for (double v : {opaque.x, opaque.y, opaque.z})
    require_not_negative("tristimulus value of the opaque layer", v);
  const RecoveredReflectance recovered = recover_reflectance(opaque, weights);
  InkSwatchFit fit = ink_from_opaque(recovered.reflectance, hiding, gloss, include_k1, weights);
  fit.colour_misfit_de00 = recovered.de00;
  return fit;
}

KSSpectra mix_ks(std::span<const MixPart> parts) {
  double sum = 0;
  for (const MixPart& part : parts) {
    require_range("share of a mix", part.share, 0, 1);
    sum += part.share;
  }
  if (!(sum >= 0.995 && sum <= 1.005)) out_of_domain("sum of the shares of a mix", sum, "1");
  KSSpectra mix;
  for (const MixPart& part : parts) {
    mix.k += part.optics->k * (part.share / sum);
    mix.s += part.optics->s * (part.share / sum);
  }
  return mix;
}

}  // namespace kirtle
