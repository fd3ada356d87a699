#include "cloth/swatch.h"

#include "base/not_a_number.h"
#include "cloth/cloth_stack.h"
#include "cloth/demo_materials.h"

#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <stdexcept>

namespace kirtle {
namespace {

using test::kNaN;

Cloth shirt() {
  Cloth c = demo::undyed_cloth();
  c.backing = Spectrum::flat(0.3);
  c.pores = 0.01;
  c.surface = 0.008;
  return c;
}

Spectrum look(const Cloth& c, const std::vector<Dye>& dyes, const DischargeSwatch* discharged) {
  ClothFibre f = c.fibres[0];
  f.dyes = dyes;
  const ClothStack stack(c, f, discharged ? discharged->process : DischargeProcess{});
  if (!discharged) return stack.reflectance({}, {});
  const std::array<SoakedAgent, 1> agent{{{discharged->dose_g_m2, discharged->agent_depth}}};
  return stack.reflectance({}, agent);
}

void expect_near(const Spectrum& a, const Spectrum& b, double tolerance) {
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(a[i], b[i], tolerance) << band_nm(i);
}

const Spectrum kGreen =
    spectrum_of([](std::size_t i) { return 0.04 + 0.15 * std::exp(-std::pow((band_nm(i) - 530) / 45, 2)); });
const Spectrum kEcru =
    spectrum_of([](std::size_t i) { return 0.25 + 0.35 * demo::sig(band_nm(i), 480, 40); });

TEST(ClothSwatch, BareColourComesBack) {
  const ClothSwatchFit fit = dyes_from_swatch(shirt(), shirt().fibres[0], kGreen, std::nullopt, 0.9);
  ASSERT_EQ(fit.dyes.size(), 1u);
  EXPECT_EQ(fit.dyes[0].reducible, 0.9);
  EXPECT_LT(fit.bare_misfit, 1e-9);
  EXPECT_EQ(fit.dark_bands, 0);
  expect_near(look(shirt(), fit.dyes, nullptr), kGreen, 1e-9);
}

TEST(ClothSwatch, BareAndDischargedComeBack) {
  const DischargeSwatch d{.reflectance = kEcru, .dose_g_m2 = 6, .agent_depth = {120}, .process = {}};
  const ClothSwatchFit fit = dyes_from_swatch(shirt(), shirt().fibres[0], kGreen, d, 1);
  ASSERT_EQ(fit.dyes.size(), 2u);
  EXPECT_LT(fit.bare_misfit, 1e-9);
  EXPECT_LT(fit.discharged_misfit, 1e-9);
  expect_near(look(shirt(), fit.dyes, nullptr), kGreen, 1e-9);
  expect_near(look(shirt(), fit.dyes, &d), kEcru, 1e-9);
}

// A known pair of dyes (one resists in the red) is found again, band by band.
TEST(ClothSwatch, FindsTheDyeThatResists) {
  const Dye yields{
      .name = "y", .k_per_um = Spectrum::flat(0.02), .reducible = 1, .rate = 1, .byproduct_k_per_um = {}};
  Dye resists = yields;
  resists.reducible = 0;
  resists.k_per_um = spectrum_of([](std::size_t i) { return 0.01 * demo::sig(band_nm(i), 580, 15); });
  DischargeSwatch d;
  d.reflectance = look(shirt(), {yields, resists}, &d);
  const Spectrum bare = look(shirt(), {yields, resists}, nullptr);
  const ClothSwatchFit fit = dyes_from_swatch(shirt(), shirt().fibres[0], bare, d, 1);
  for (std::size_t i = 0; i < kBands; ++i) {
    EXPECT_NEAR(fit.dyes[0].k_per_um[i], 0.02, 1e-9);
    EXPECT_NEAR(fit.dyes[1].k_per_um[i], resists.k_per_um[i], 1e-9);
    EXPECT_NEAR(fit.dyes[0].byproduct_k_per_um[i], 0, 1e-9);
  }
}

// Darker in the blue after discharge than before: a resisting dye cannot do that, a by-product can.
TEST(ClothSwatch, TanBeyondTheBareColourIsByproduct) {
  const DischargeSwatch d{
      .reflectance = Spectrum::flat(0.2), .dose_g_m2 = 6, .agent_depth = {120}, .process = {}};
  const Spectrum bare = spectrum_of([](std::size_t i) { return band_nm(i) < 500 ? 0.5 : 0.06; });
  const ClothSwatchFit fit = dyes_from_swatch(shirt(), shirt().fibres[0], bare, d, 1);
  EXPECT_GT(fit.dyes[0].byproduct_k_per_um[0], 0);
  EXPECT_EQ(fit.dyes[0].byproduct_k_per_um[kBands - 1], 0);
  expect_near(look(shirt(), fit.dyes, &d), d.reflectance, 1e-9);
}

TEST(ClothSwatch, SaysWhatNoDyeCanDo) {
  // Lighter than undyed cloth.
  const ClothSwatchFit light =
      dyes_from_swatch(shirt(), shirt().fibres[0], Spectrum::flat(0.99), std::nullopt, 1);
  EXPECT_EQ(light.dyes[0].k_per_um, Spectrum{});
  EXPECT_GT(light.bare_misfit, 0.05);
  // Blacker than the light off its fibres' surface.
  const ClothSwatchFit dark =
      dyes_from_swatch(shirt(), shirt().fibres[0], Spectrum::flat(0.001), std::nullopt, 1);
  EXPECT_NEAR(dark.dyes[0].k_per_um[0], 8, 1e-12);  // K/S = 1000 at S = .008 /um
  EXPECT_GT(dark.bare_misfit, 0.005);
  EXPECT_EQ(dark.dark_bands, 36);
  // Discharged further than the stated process can go: fully reduced, and the misfit says so.
  DischargeSwatch weak{
      .reflectance = Spectrum::flat(0.8), .dose_g_m2 = 0.1, .agent_depth = {120}, .process = {}};
  const ClothSwatchFit w = dyes_from_swatch(shirt(), shirt().fibres[0], Spectrum::flat(0.05), weak, 1);
  EXPECT_EQ(w.dyes[1].k_per_um, Spectrum{});
  EXPECT_GT(w.discharged_misfit, 0.3);
}

TEST(ClothSwatch, RefusesBadArguments) {
  const Cloth c = shirt();
  for (double bad : {-1e-12, 1 + 1e-12, kNaN}) {
    Spectrum r = kGreen;
    r[7] = bad;
    EXPECT_THROW(dyes_from_swatch(c, c.fibres[0], r, std::nullopt, 1), std::domain_error);
    EXPECT_THROW(dyes_from_swatch(c, c.fibres[0], kGreen, std::nullopt, bad), std::domain_error);
    DischargeSwatch d;
    d.reflectance = r;
    EXPECT_THROW(dyes_from_swatch(c, c.fibres[0], kGreen, d, 1), std::domain_error);
  }
  for (double bad : {0.0, -1.0, kNaN}) {
    const DischargeSwatch d{.reflectance = kEcru, .dose_g_m2 = bad, .agent_depth = {120}, .process = {}};
    EXPECT_THROW(dyes_from_swatch(c, c.fibres[0], kGreen, d, 1), std::domain_error);
  }
}

}  // namespace
}  // namespace kirtle
