#include "light/recover_spectrum.h"

#include "base/check.h"
#include "light/delta_e_2000.h"
#include "light/random_numbers.h"
#include "light/srgb.h"
#include "light/test_colours.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

constexpr Observer kObserver = Observer::cie1931_2deg;

void expect_possible(const Spectrum& r) {
  for (const double v : r.v) {
    ASSERT_GE(v, kLeastReflectance);
    ASSERT_LE(v, kMostReflectance);
  }
}

double largest_miss(const XYZ& a, const XYZ& b) {
  return std::max({std::abs(a.x - b.x), std::abs(a.y - b.y), std::abs(a.z - b.z)});
}

double roughness(const Spectrum& r) {
  const auto z = [](double v) {
    return std::atanh(2 * (v - kLeastReflectance) / (kMostReflectance - kLeastReflectance) - 1);
  };
  double sum = 0;
  for (std::size_t i = 0; i + 1 < kBands; ++i) {
    const double step = z(r[i + 1]) - z(r[i]);
    sum += step * step;
  }
  return sum;
}

TEST(RecoverSpectrum, GreyIsFlat) {
  const ViewingWeights w = viewing_weights("D65", kObserver);
  for (const double grey : {0.01, 0.18, 0.5, 0.9}) {
    const RecoveredReflectance got = recover_reflectance(w.white * grey, w);
    EXPECT_TRUE(got.exact);
    for (const double v : got.reflectance.v) EXPECT_NEAR(v, grey, 1e-9);
  }
}

// Any reflectance within the bounds proves that its colour is possible; the colour must then come back
// exactly, from a spectrum at least as smooth.
TEST(RecoverSpectrum, ColoursOfRandomReflectancesComeBack) {
  test::RandomNumbers random(6);
  const char* lights[] = {"D50", "D65", "A", "F11", "LED-B3"};
  int exact = 0;
  constexpr int kColours = 4000;
  for (int n = 0; n < kColours; ++n) {
    const ViewingWeights w = viewing_weights(lights[n % 5], n % 2 == 0 ? kObserver : Observer::cie1964_10deg);
    // Two soft edges at random places: pass, stop, or ordinary band colours, some close to the purest
    // possible.
    const double centre1 = random.between(400, 700), centre2 = random.between(400, 700);
    const double width = random.between(5, 60), low = random.between(0.01, 0.5),
                 high = random.between(0.02, 0.95);
    const Spectrum r = spectrum_of([&](std::size_t i) {
      const double s1 = 1 / (1 + std::exp(-(band_nm(i) - centre1) / width));
      const double s2 = 1 / (1 + std::exp(-(band_nm(i) - centre2) / width));
      return low + (high - low) * std::abs(s1 - s2);
    });
    const XYZ asked = xyz_from_reflectance(r, w);
    const RecoveredReflectance got = recover_reflectance(asked, w);
    expect_possible(got.reflectance);
    if (got.exact) {
      ++exact;
      ASSERT_LT(largest_miss(xyz_from_reflectance(got.reflectance, w), asked), 1e-8);
      ASSERT_LE(roughness(got.reflectance), roughness(r) * (1 + 1e-9) + 1e-12);
    } else {
      ASSERT_LT(got.de00, 0.5) << "a possible colour was missed";
    }
  }
  std::printf("reflectances recovered exactly: %d of %d\n", exact, kColours);
  EXPECT_GE(exact, kColours * 99 / 100);
}

// The whole sRGB cube under D65: what inks and shirts are given as when nothing else is known.
TEST(RecoverSpectrum, HexColoursComeBack) {
  const ViewingWeights w = viewing_weights("D65", kObserver);
  int exact = 0, all = 0;
  double worst = 0;
  Rgb8 worst_colour{};
  const auto begin = std::chrono::steady_clock::now();
  for (int r = 0; r < 256; r += 17)
    for (int g = 0; g < 256; g += 17)
      for (int b = 0; b < 256; b += 17) {
        const Rgb8 rgb{static_cast<std::uint8_t>(r), static_cast<std::uint8_t>(g),
                       static_cast<std::uint8_t>(b)};
        const RecoveredReflectance got = recover_reflectance(xyz_from_srgb8(rgb, w.white), w);
        expect_possible(got.reflectance);
        const XYZ asked = xyz_from_srgb8(rgb, w.white);
        const double miss =
            delta_e_2000(lab_from_xyz(asked, w.white), lab_from_reflectance(got.reflectance, w));
        ASSERT_NEAR(miss, got.de00, 1e-6);
        ++all;
        exact += got.exact ? 1 : 0;
        if (miss > worst) {
          worst = miss;
          worst_colour = rgb;
        }
      }
  const std::chrono::duration<double, std::milli> time = std::chrono::steady_clock::now() - begin;
  std::printf("hex colours: %d of %d exact; worst dE00 %.3f at %s; %.3f ms each\n", exact, all, worst,
              hex_text(worst_colour).c_str(), time.count() / all);
  EXPECT_GT(exact, all * 9 / 10);
}

TEST(RecoverSpectrum, CieTestColours) {
  const ViewingWeights w = viewing_weights("D65", kObserver);
  const ViewingWeights a = viewing_weights("A", kObserver);
  double mean_rms = 0, worst_rms = 0, worst_under_a = 0;
  for (const auto& colour : test::kTestColours5nm) {
    const Spectrum truth = spectrum_of([&](std::size_t i) { return colour[2 * i]; });
    const XYZ asked = xyz_from_reflectance(truth, w);
    const RecoveredReflectance got = recover_reflectance(asked, w);
    EXPECT_TRUE(got.exact);
    EXPECT_LT(largest_miss(xyz_from_reflectance(got.reflectance, w), asked), 1e-8);
    EXPECT_LE(roughness(got.reflectance), roughness(truth));
    double square = 0;
    for (std::size_t i = 0; i < kBands; ++i)
      square += (got.reflectance[i] - truth[i]) * (got.reflectance[i] - truth[i]) / kBands;
    mean_rms += std::sqrt(square) / 15;
    worst_rms = std::max(worst_rms, std::sqrt(square));
    worst_under_a = std::max(worst_under_a, delta_e_2000(lab_from_reflectance(truth, a),
                                                         lab_from_reflectance(got.reflectance, a)));
  }
  std::printf("15 CIE test colours: spectral rms mean %.4f, worst %.4f; under A worst dE00 %.2f\n", mean_rms,
              worst_rms, worst_under_a);
}

// Colours that no surface within the bounds has.
TEST(RecoverSpectrum, ImpossibleColoursGetANearOneAndSaySo) {
  const ViewingWeights w = viewing_weights("D50", kObserver);
  for (const Lab& asked : {Lab{50, 150, 0}, Lab{80, -150, 60}, Lab{95, 0, 140}, Lab{30, 60, -140},
                           Lab{0, 0, 0}, Lab{100, 0, 0}, Lab{5, -100, 0}, Lab{120, 0, 0}, Lab{-5, 0, 0}}) {
    const RecoveredReflectance got = recover_reflectance(xyz_from_lab(asked, w.white), w);
    SCOPED_TRACE(testing::Message() << asked.l << ' ' << asked.a << ' ' << asked.b << " misses by "
                                    << got.de00);
    EXPECT_FALSE(got.exact);
    EXPECT_GT(got.de00, 0.0);
    expect_possible(got.reflectance);
    // Nothing nearer among the grey and a fan of box spectra, a coarse search of the solid's surface.
    const auto miss = [&](const Lab& lab) {
      return std::hypot(lab.l - asked.l, lab.a - asked.a, lab.b - asked.b);
    };
    const double found = miss(lab_from_reflectance(got.reflectance, w));
    for (std::size_t from = 0; from < kBands; ++from)
      for (std::size_t to = from; to <= kBands; ++to)
        for (const bool inside_high : {false, true}) {
          const Spectrum box = spectrum_of([&](std::size_t i) {
            return (i >= from && i < to) == inside_high ? kMostReflectance : kLeastReflectance;
          });
          EXPECT_LE(found, miss(lab_from_reflectance(box, w)) + 0.5)
              << from << ' ' << to << ' ' << inside_high;
        }
  }
}

TEST(RecoverSpectrum, LimitsOfGrey) {
  const ViewingWeights w = viewing_weights("D50", kObserver);
  EXPECT_TRUE(recover_reflectance(w.white * (kLeastReflectance + 1e-5), w).exact);
  EXPECT_FALSE(recover_reflectance(w.white * kLeastReflectance, w).exact);
  EXPECT_FALSE(recover_reflectance(w.white * (kLeastReflectance - 1e-5), w).exact);
  EXPECT_TRUE(recover_reflectance(w.white * (kMostReflectance - 1e-5), w).exact);
  EXPECT_FALSE(recover_reflectance(w.white * kMostReflectance, w).exact);
  EXPECT_LT(recover_reflectance(w.white * kMostReflectance, w).de00, 0.02);
  EXPECT_LT(recover_reflectance(w.white * kLeastReflectance, w).de00, 0.02);
  EXPECT_THROW(recover_reflectance({std::nan(""), 50, 50}, w), InternalError);
  EXPECT_THROW(recover_reflectance({50, 50, INFINITY}, w), InternalError);
}

}  // namespace
}  // namespace kirtle
