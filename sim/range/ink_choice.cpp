#include "range/ink_choice.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "light/srgb.h"
#include "light/weights.h"
#include "predict/swatch.h"

#include <algorithm>

namespace kirtle {

namespace {

constexpr double kColourlessChroma = 6,
                 kColourlessContrast = 0.2;            // our own choice: extenders, clear discharge
constexpr double kBaseOnBlack = 45, kBaseChroma = 15;  // L*, C*: what check takes for a base

Lab lab_of_hex(const std::string& hex) {
  const std::optional<Rgb8> rgb = rgb8_from_hex(hex);
  KIRTLE_CHECK(rgb.has_value(), ==, true);
  const XYZ white = viewing_weights("D50", Observer::cie1931_2deg).white;
  return lab_from_xyz(xyz_from_srgb8(*rgb, white), white);
}

}  // namespace

InkLook look_of(const Ink& ink) {
  const InkSwatch swatch = ink_swatch(ink);
  return {&ink, lab_of_hex(swatch.over_white_hex), lab_of_hex(swatch.over_black_hex), swatch.contrast_ratio};
}

std::vector<InkLook> looks_of(std::span<const Ink> inks) {
  std::vector<InkLook> out;
  for (const Ink& ink : inks) {
    if (ink.effect != InkEffect::none) continue;
    const InkLook look = look_of(ink);
    if (chroma(look.on_white) < kColourlessChroma && look.contrast_ratio < kColourlessContrast &&
        look.on_white.l > 80)
      continue;
    out.push_back(look);
  }
  return out;
}

bool is_base_ink(const InkLook& look) {
  return !(look.ink->base_need > 0) && look.ink->agent_g_cm3 <= 0 && look.on_black.l > kBaseOnBlack &&
         chroma(look.on_black) < kBaseChroma;
}

bool is_low_bleed(const Ink& ink) { return ink.id.find("low-bleed") != std::string::npos; }

const Ink* nearest_ink(const Ink& to, std::span<const InkLook> among, InkFamily family,
                       std::optional<bool> agent, double most) {
  const Lab wanted = look_of(to).on_white;
  const Ink* best = nullptr;
  for (const InkLook& look : among) {
    if (look.ink->family != family || look.ink->id == to.id) continue;
    if (agent && *agent != (look.ink->agent_g_cm3 > 0)) continue;
    const double de = delta_e_2000(wanted, look.on_white);
    if (!(de <= most)) continue;
    // Nearer by less than this is a tie: the first by id stays.
    if (best != nullptr && !(de < most - 1e-9)) continue;
    best = look.ink;
    most = de;
  }
  return best;
}

}  // namespace kirtle
