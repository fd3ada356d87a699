#include "range/ink_choice.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "light/srgb.h"
#include "light/weights.h"
#include "predict/prediction.h"
#include "predict/swatch.h"
#include "stack/stack.h"

namespace kirtle {

namespace {

// Our own choice: what leaves white card white and black card black has no colour of its own.
constexpr double kColourlessLight = 80, kColourlessChroma = 6, kColourlessContrast = 0.2;
constexpr double kBaseOnBlack = 45, kBaseChroma = 15;  // L*, C*: as check takes a plate for a base

Lab lab_of_hex(const std::string& hex) {
  const std::optional<Rgb8> rgb = rgb8_from_hex(hex);
  KIRTLE_CHECK(rgb.has_value(), ==, true);
  const XYZ white = viewing_weights("D50", Observer::cie1931_2deg).white;
  return lab_from_xyz(xyz_from_srgb8(*rgb, white), white);
}

}  // namespace

std::vector<const Ink*> stand_ins(std::span<const Ink> inks) {
  std::vector<const Ink*> out;
  for (const Ink& ink : inks) {
    if (ink.effect != InkEffect::none) continue;
    const InkSwatch swatch = ink_swatch(ink);
    const Lab on_white = lab_of_hex(swatch.over_white_hex);
    if (on_white.l > kColourlessLight && chroma(on_white) < kColourlessChroma &&
        swatch.contrast_ratio < kColourlessContrast)
      continue;
    out.push_back(&ink);
  }
  return out;
}

double lightness_on_black(const Ink& ink) { return lab_of_hex(ink_swatch(ink).over_black_hex).l; }

bool is_base_ink(const Ink& ink) {
  const Lab on_black = lab_of_hex(ink_swatch(ink).over_black_hex);
  return ink.effect == InkEffect::none && !(ink.base_need > 0) && !(ink.agent_g_cm3 > 0) &&
         on_black.l > kBaseOnBlack && chroma(on_black) < kBaseChroma;
}

bool is_low_bleed(const Ink& ink) { return ink.id.find("low-bleed") != std::string::npos; }

Lab printed_on_undyed(const Scene& scene, const ScenePass& pass, const Ink& ink) {
  Cloth cloth = scene.shirt;
  for (ClothFibre& fibre : cloth.fibres) fibre.dyes.clear();
  ScenePass with = pass;
  with.ink = ink;
  StackSettings settings;
  settings.surface_light = scene.surface_light;
  const Stack stack(cloth, {{0, ink, wet_deposit_of(with), false}}, 1, scene.discharge, settings);
  const double solid = 1;
  return lab_from_reflectance(mean_reflectance(stack.at({&solid, 1})),
                              viewing_weights(scene.light, scene.observer));
}

const Ink* nearest_ink(const Scene& scene, const ScenePass& pass, std::span<const Ink* const> among,
                       InkFamily family, bool agent, double most) {
  const Lab wanted = printed_on_undyed(scene, pass, pass.ink);
  const Ink* best = nullptr;
  for (const Ink* ink : among) {
    if (ink->family != family || ink->id == pass.ink.id || agent != (ink->agent_g_cm3 > 0)) continue;
    const double de = delta_e_2000(wanted, printed_on_undyed(scene, pass, *ink));
    if (!(de <= most) || (best != nullptr && !(de < most))) continue;
    best = ink;
    most = de;
  }
  return best;
}

}  // namespace kirtle
