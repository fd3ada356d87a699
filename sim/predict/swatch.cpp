#include "predict/swatch.h"

#include "layer/surface.h"
#include "light/srgb.h"
#include "light/weights.h"
#include "stack/stack.h"

namespace kirtle {

namespace {

std::string hex_of(const Spectrum& reflectance, const ViewingWeights& weights) {
  return hex_text(
      srgb_codes8(srgb_from_xyz(xyz_from_reflectance(reflectance, weights), weights.white).linear));
}

/// Agent of a usual clear discharge solid, g/m2: about 39 cm3/m2 of ink with 0.15 g/cm3.
constexpr double kSwatchAgent = 6;

}  // namespace

InkSwatch ink_swatch(const Ink& ink) {
  const ViewingWeights weights = viewing_weights("D50", Observer::cie1931_2deg);
  const auto over = [&](double card) {
    if (ink.flat_reflectance) return *ink.flat_reflectance;
    return reflectance_over(layer_spectra(ink.optics, kSwatchDryUm), Spectrum::flat(card));
  };
  const Spectrum white = over(0.8), black = over(0);
  // As it is seen: through the surface of its own gloss, as a print is.
  const Surface surface = film_surface(ink.flat_reflectance ? 0 : ink.gloss, kSwatchDryUm);
  return {hex_of(through_surface(white, surface, true), weights),
          hex_of(through_surface(black, surface, true), weights),
          xyz_from_reflectance(black, weights).y / xyz_from_reflectance(white, weights).y, kSwatchDryUm};
}

ShirtSwatch shirt_swatch(const Cloth& shirt) {
  const ViewingWeights weights = viewing_weights("D50", Observer::cie1931_2deg);
  Ink clear;
  clear.id = clear.name = "clear discharge";
  clear.family = InkFamily::discharge;
  clear.soak = 1;
  clear.solids_by_volume = 0;
  clear.agent_g_cm3 = kSwatchAgent;  // on 1 um of wet ink
  const Stack stack(shirt, {{0, clear, {1}, false}}, 1, DischargeProcess{}, StackSettings{});
  const double bare = 0, solid = 1;
  return {hex_of(mean_reflectance(stack.at({&bare, 1})), weights),
          hex_of(mean_reflectance(stack.at({&solid, 1})), weights)};
}

std::string_view to_string(InkFamily family) {
  switch (family) {
    case InkFamily::plastisol:
      return "plastisol";
    case InkFamily::water_base:
      return "water base";
    case InkFamily::discharge:
      return "discharge";
  }
  return "";
}

}  // namespace kirtle
