#pragma once
// Invented inks and passes for tests of piles; cloths and the white and yellow are those of
// cloth/demo_materials.h.
#include "cloth/demo_materials.h"
#include "layer/random_values.h"
#include "stack/stack.h"

#include <vector>

namespace kirtle::demo {

inline KSSpectra red() {
  return {spectrum_of([](std::size_t i) { return 3e-4 + 0.30 * (1 - sig(band_nm(i), 595, 10)); }),
          Spectrum::flat(0.012)};
}

/// A plastisol that builds a matt film and does not soak.
inline Ink film_ink(const KSSpectra& optics) {
  Ink ink;
  ink.id = "test-film";
  ink.optics = optics;
  return ink;
}

/// A pass that lays that much dry film.
inline StackPass film_pass(int plate, const KSSpectra& optics, double dry_um, bool flash_after = true) {
  return {plate, film_ink(optics), {dry_um}, flash_after};
}

/// Discharge paste without pigment: agent only, so that nothing else changes.
inline StackPass agent_pass(int plate, double dose_g_m2) {
  StackPass pass;
  pass.plate = plate;
  pass.ink.id = "test-agent";
  pass.ink.family = InkFamily::discharge;
  pass.ink.solids_by_volume = 0;
  pass.ink.agent_g_cm3 = 0.1;
  pass.wet = {dose_g_m2 / 0.1};
  return pass;
}

/// Bands change smoothly at random, low..high.
inline Spectrum random_spectrum(test::RandomValues& random, double low, double high) {
  const double a = random.even(low, high), b = random.even(low, high), centre = random.even(400, 700);
  return spectrum_of([&](std::size_t i) { return a + (b - a) * sig(band_nm(i), centre, 20); });
}

inline Ink random_ink(test::RandomValues& random) {
  Ink ink;
  ink.id = "random";
  ink.optics = {random_spectrum(random, 0, 0.5), random_spectrum(random, 0, 1)};
  ink.solids_by_volume = random.even(0.2, 1);
  ink.soak = random.even(0, 1) < 0.5 ? 0 : random.even(0, 1);
  ink.soak_depth = {random.even(20, 200)};
  ink.wets = random.even(0, 1);
  ink.agent_g_cm3 = random.even(0, 1) < 0.5 ? 0 : random.even(0, 0.2);
  ink.gloss = random.even(0, 1) < 0.5 ? 0 : random.even(0, 1);
  return ink;
}

inline Cloth random_cloth(test::RandomValues& random) {
  Cloth c = undyed_cloth();
  c.fibres[0].dyes = {Dye{.name = "dye",
                          .k_per_um = random_spectrum(random, 0, 0.2),
                          .reducible = random.even(0, 1),
                          .rate = random.even(0.2, 2),
                          .byproduct_k_per_um = random_spectrum(random, 0, 1e-3)}};
  c.thickness = {random.even(200, 800)};
  c.backing = random_spectrum(random, 0, 1);
  c.pores = random.even(0, 0.2);
  c.surface = random.even(0, 0.05);
  c.wetting = random.even(0, 1);
  c.pore_volume = random.even(0.2, 0.9);
  c.show_through = random.even(0, 0.3);
  if (random.even(0, 1) < 0.3) {
    ClothFibre other = c.fibres[0];
    other.share = random.even(0, 1);
    c.fibres[0].share = 1 - other.share;
    other.takes_agent = 0;
    other.dyes.clear();
    c.fibres.push_back(other);
  }
  return c;
}

inline std::vector<StackPass> random_passes(test::RandomValues& random, int plates) {
  std::vector<StackPass> passes;
  for (int i = 0; i < plates; ++i) {
    passes.push_back({i, random_ink(random), {random.even(0, 80)}, random.even(0, 1) < 0.5});
  }
  return passes;
}

inline std::vector<double> random_doses(test::RandomValues& random, int plates) {
  std::vector<double> dose;
  for (int i = 0; i < plates; ++i) dose.push_back(random.even(0, 1) < 0.2 ? 0 : random.even(0, 1));
  return dose;
}

}  // namespace kirtle::demo
