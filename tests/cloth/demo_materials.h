#pragma once
// Invented materials, given by formulas so that an independent script can build the same ones. Not real inks.
// Expected colours were worked out by such a script (its own Kubelka-Munk and colour code, D50, 10 nm sum),
// with 1024 sublayers where the cloth is graded.
#include "cloth/cloth.h"
#include "cloth/discharge.h"

#include <cmath>

namespace kirtle::demo {

inline double sig(double nm, double centre, double width) {
  return 1 / (1 + std::exp(-(nm - centre) / width));
}

inline KSSpectra white() {
  return {spectrum_of([](std::size_t i) { return 2e-4 + 0.05 * (1 - sig(band_nm(i), 400, 8)); }),
          spectrum_of([](std::size_t i) { return 0.1 * 550 / band_nm(i); })};
}
inline KSSpectra yellow() {
  return {spectrum_of([](std::size_t i) { return 3e-4 + 0.35 * (1 - sig(band_nm(i), 505, 10)); }),
          Spectrum::flat(0.010)};
}
inline KSSpectra fibre() {
  return {spectrum_of([](std::size_t i) { return 5e-5 * (1 + 3 * (1 - sig(band_nm(i), 430, 15))); }),
          Spectrum::flat(0.008)};
}

/// Undyed cotton, 500 um over black; no holes, no surface light.
inline Cloth undyed_cloth() {
  Cloth c;
  c.fibres = {ClothFibre{.name = "cotton", .share = 1, .fibre = fibre(), .dyes = {}}};
  c.thickness = {500};
  return c;
}

/// The same with a flat black dye, 99 % reducible.
inline Cloth black_cloth(double reducible = 0.99) {
  Cloth c = undyed_cloth();
  c.fibres[0].dyes = {Dye{.name = "black",
                          .k_per_um = Spectrum::flat(0.15),
                          .reducible = reducible,
                          .rate = 1,
                          .byproduct_k_per_um = {}}};
  return c;
}

/// 90 s at the reference temperature.
inline DischargeProcess process() { return {}; }

}  // namespace kirtle::demo
