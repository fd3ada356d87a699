#include "ink/swatch.h"

#include "base/not_a_number.h"
#include "cloth/demo_materials.h"
#include "layer/inverse.h"

#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <stdexcept>
#include <string>

namespace kirtle {
namespace {

using test::kNaN;
const Spectrum kBlack = Spectrum::flat(0.03), kWhite = Spectrum::flat(0.82);

ViewingWeights d50() { return viewing_weights("D50", Observer::cie1931_2deg); }

Spectrum film_as_seen(const KSSpectra& ink, const Spectrum& card, const FilmReading& how) {
  return through_surface(reflectance_over(layer_spectra(ink, how.thickness), card),
                         film_surface(how.gloss, how.thickness), how.include_k1);
}

void expect_rel(const Spectrum& a, const Spectrum& b, double tolerance) {
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(a[i], b[i], tolerance * (1e-3 + b[i])) << band_nm(i);
}

TEST(InkSwatch, FilmsOverBlackAndWhite) {
  const KSSpectra ink = demo::yellow();
  for (const FilmReading& how :
       {FilmReading{0, true, {12}}, FilmReading{1, true, {12}}, FilmReading{0.6, false, {12}}}) {
    SCOPED_TRACE(how.gloss);
    const InkSwatchFit fit =
        ink_from_films(film_as_seen(ink, kBlack, how), film_as_seen(ink, kWhite, how), kBlack, kWhite, how);
    EXPECT_EQ(fit.status, DataStatus::measured);
    EXPECT_LT(fit.misfit, 1e-4);
    // K X reaches 4.2 in the blue: opaque there as far as readings tell, the rest is found again.
    EXPECT_GT(fit.held_bands, 0);
    EXPECT_LT(fit.held_bands, 16);
    for (std::size_t i = 0; i < kBands; ++i) {
      EXPECT_NEAR(fit.optics.s[i], 0.010, 1e-6) << band_nm(i);
      EXPECT_NEAR(fit.optics.k[i], ink.k[i], 1e-3 * (ink.k[i] + 0.01)) << band_nm(i);
    }
  }
}

TEST(InkSwatch, FilmsOfAWhite) {
  const KSSpectra ink = demo::white();
  const FilmReading how{0, true, {8}};
  const InkSwatchFit fit =
      ink_from_films(film_as_seen(ink, kBlack, how), film_as_seen(ink, kWhite, how), kBlack, kWhite, how);
  EXPECT_EQ(fit.held_bands, 0);
  EXPECT_LT(fit.misfit, 1e-12);
  expect_rel(fit.optics.k, ink.k, 1e-6);
  expect_rel(fit.optics.s, ink.s, 1e-6);
}

TEST(InkSwatch, FilmsRefused) {
  const FilmReading how{0, true, {8}};
  const Spectrum b = film_as_seen(demo::white(), kBlack, how), w = film_as_seen(demo::white(), kWhite, how);
  EXPECT_THROW(ink_from_films(w, b, kBlack, kWhite, how), std::domain_error);  // swapped
  EXPECT_THROW(ink_from_films(b, w, kWhite, kBlack, how), std::domain_error);  // cards swapped
  EXPECT_THROW(ink_from_films(w, w, kBlack, kWhite, how), std::domain_error);  // opaque in every band
  for (double bad : {0.0, -1.0, kNaN})
    EXPECT_THROW(ink_from_films(b, w, kBlack, kWhite, {0, true, {bad}}), std::domain_error);
  for (double bad : {-1e-9, 1 + 1e-9, kNaN}) {
    EXPECT_THROW(ink_from_films(b, w, kBlack, kWhite, {bad, true, {8}}), std::domain_error);
    Spectrum r = w;
    r[2] = bad;
    try {
      ink_from_films(b, r, kBlack, kWhite, how);
      FAIL();
    } catch (const std::domain_error& e) {
      EXPECT_NE(std::string(e.what()).find("film over white at 400 nm is "), std::string::npos) << e.what();
    }
  }
}

TEST(InkSwatch, OpaqueAndHiding) {
  const Spectrum opaque =
      spectrum_of([](std::size_t i) { return 0.08 + 0.6 * demo::sig(band_nm(i), 580, 12); });
  const Hiding hiding{
      .contrast_ratio = 0.85, .thickness = {30}, .black = 0.02, .white = 0.8, .shape = ScatterShape::flat};
  for (double gloss : {0.0, 0.7}) {
    const InkSwatchFit fit = ink_from_opaque(opaque, hiding, gloss, true, d50());
    EXPECT_EQ(fit.status, DataStatus::estimated);
    EXPECT_EQ(fit.held_bands, 0);
    // A thick layer shows the given colour, a film of 30 um the given hiding.
    const Spectrum thick = through_surface(reflectance_over(layer_spectra(fit.optics, {1e5}), kBlack),
                                           {0.04 * gloss, 0.6 * gloss}, true);
    expect_rel(thick, opaque, 1e-9);
    EXPECT_NEAR(luminous_contrast_ratio(fit.optics, {30}, Spectrum::flat(0.02), Spectrum::flat(0.8), d50()),
                0.85, 1e-12);
    EXPECT_NEAR(fit.optics.s[0], fit.optics.s[35], 1e-15);
  }
  Hiding as_white = hiding;
  as_white.shape = ScatterShape::white;
  const KSSpectra w = ink_from_opaque(opaque, as_white, 0, true, d50()).optics;
  EXPECT_NEAR(w.s[0] / w.s[35], 730.0 / 380.0, 1e-12);
}

TEST(InkSwatch, OpaqueHeldToWhatALayerCanGive) {
  Spectrum opaque = Spectrum::flat(0.5);
  opaque[0] = 0.01;  // below k1 = .04 of a smooth film read with the mirror-like part in
  opaque[1] = 1;
  const Hiding hiding{
      .contrast_ratio = 0.9, .thickness = {30}, .black = 0.02, .white = 0.8, .shape = ScatterShape::flat};
  const InkSwatchFit fit = ink_from_opaque(opaque, hiding, 1, true, d50());
  EXPECT_EQ(fit.held_bands, 2);
  EXPECT_NEAR(fit.misfit, 0.0302, 0.0003);
}

TEST(InkSwatch, ColourAndHiding) {
  const ViewingWeights w = d50();
  const Hiding hiding{
      .contrast_ratio = 0.8, .thickness = {25}, .black = 0.02, .white = 0.8, .shape = ScatterShape::flat};
  const Lab asked{48, 60, 35};
  const InkSwatchFit fit = ink_from_colour(xyz_from_lab(asked, w.white), hiding, 0.5, true, w);
  EXPECT_EQ(fit.status, DataStatus::estimated);
  EXPECT_EQ(fit.held_bands, 0);
  const Spectrum thick =
      through_surface(reflectance_over(layer_spectra(fit.optics, {1e5}), kBlack), {0.02, 0.3}, true);
  const Lab got = lab_from_reflectance(thick, w);
  EXPECT_NEAR(got.l, asked.l, 1e-3);
  EXPECT_NEAR(got.a, asked.a, 1e-3);
  EXPECT_NEAR(got.b, asked.b, 1e-3);
  EXPECT_LT(fit.colour_misfit_de00, 1e-3);
  // A colour that no surface has: the nearest one, and the record is told how far off.
  EXPECT_GT(ink_from_colour(xyz_from_lab({60, 140, 0}, w.white), hiding, 0, true, w).colour_misfit_de00, 0.5);
}

TEST(InkSwatch, HidingRefused) {
  const Spectrum opaque = Spectrum::flat(0.4);
  const auto refused = [&](auto change) {
    Hiding h{
        .contrast_ratio = 0.9, .thickness = {30}, .black = 0.02, .white = 0.8, .shape = ScatterShape::flat};
    change(h);
    EXPECT_THROW(ink_from_opaque(opaque, h, 0, true, d50()), std::domain_error);
  };
  for (double bad : {0.0, 0.02 / 0.8, 1.0, 1.1, kNaN}) refused([&](Hiding& h) { h.contrast_ratio = bad; });
  for (double bad : {0.0, -1.0, kNaN}) refused([&](Hiding& h) { h.thickness = {bad}; });
  for (double bad : {-0.1, 0.8, 0.9, kNaN}) refused([&](Hiding& h) { h.black = bad; });
  for (double bad : {0.02, 1.1, kNaN}) refused([&](Hiding& h) { h.white = bad; });
  EXPECT_THROW(ink_from_colour({kNaN, 10, 10}, Hiding{.thickness = {30}}, 0, true, d50()), std::domain_error);
}

TEST(InkSwatch, Mix) {
  const KSSpectra a = demo::yellow(), b = demo::white();
  const std::array<MixPart, 2> parts{{{&a, 0.25}, {&b, 0.75}}};
  const KSSpectra mix = mix_ks(parts);
  EXPECT_NEAR(mix.k[3], 0.25 * a.k[3] + 0.75 * b.k[3], 1e-15);
  EXPECT_NEAR(mix.s[3], 0.25 * a.s[3] + 0.75 * b.s[3], 1e-15);
  const std::array<MixPart, 2> rounded{{{&a, 0.333}, {&b, 0.663}}};  // .996: scaled to 1
  EXPECT_NEAR(mix_ks(rounded).k[3], (0.333 * a.k[3] + 0.663 * b.k[3]) / 0.996, 1e-15);
  for (double bad : {0.244, 0.256, -0.1, kNaN}) {
    const std::array<MixPart, 2> wrong{{{&a, bad}, {&b, 0.75}}};
    EXPECT_THROW(mix_ks(wrong), std::domain_error);
  }
  EXPECT_THROW(mix_ks({}), std::domain_error);
}

}  // namespace
}  // namespace kirtle
