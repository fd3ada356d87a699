#include "print/flux.h"

#include "layer/kubelka_munk.h"
#include "layer/surface.h"
#include "print/halftone_cases.h"
#include "print/mixing.h"
#include "print/scatter.h"

#include <cmath>
#include <complex>
#include <gtest/gtest.h>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using test::RandomValues;

constexpr double kEndless = 1e12;  // um: wider than any period

FluxCell random_cell(RandomValues& random, int width, int height, int kinds) {
  FluxCell cell{width, height, random.even(5, 50), {}};
  for (int i = 0; i < width * height; ++i) {
    cell.kinds.push_back(static_cast<std::uint16_t>(std::min(kinds - 1.0, random.even(0, kinds))));
  }
  return cell;
}

FluxBand random_band(RandomValues& random, int kinds) {
  FluxBand band;
  for (int i = 0; i < kinds; ++i) {
    band.above.push_back(layer_rt({random.even(0, 0.1), random.even(0, 0.3)}, {random.even(0, 40)}));
    band.ground.push_back(random.even(0.1, 0.9));
  }
  band.spread = {{0.3, random.even(5, 100)}, {0.7, random.even(5, 300)}};
  return band;
}

TEST(Flux, AnEvenPrintIsKubelkasPile) {
  const FluxCell cell{7, 5, 20, std::vector<std::uint16_t>(35, 0)};
  const LayerRT film{0.2, 0.5, 0.3};
  for (const double spread : {0.0, 100.0, kEndless}) {
    for (const double r : flux_samples(cell, {{film}, {0.6}, {{1, spread}}})) {
      EXPECT_NEAR(r, reflectance_over(film, 0.6), 1e-9);
    }
  }
}

TEST(Flux, WithoutSpreadEverySampleIsItsOwnPile) {
  RandomValues random(1);
  const FluxCell cell = random_cell(random, 12, 9, 3);
  FluxBand band = random_band(random, 3);
  band.spread = {{1, 0}};
  const std::vector<double> r = flux_samples(cell, band);
  for (std::size_t i = 0; i < r.size(); ++i) {
    EXPECT_NEAR(r[i], reflectance_over(band.above[cell.kinds[i]], band.ground[cell.kinds[i]]), 1e-8);
  }
}

// Yule, Nielsen 1951 with n = 2: endless spread under clear inks.
TEST(Flux, EndlessSpreadUnderClearInkIsYuleNielsenTwo) {
  const FluxCell cell = demo::dot_cell(DotShape::round, 0.25, 55, 32);
  const double t = 0.3, rg = 0.8;
  const double w[] = {0.75, 0.25}, v[] = {rg, rg * t * t};
  EXPECT_NEAR(flux_mean(cell, {{{0, 1, 0}, {0, t, 0}}, {rg, rg}, {{1, kEndless}}}), yule_nielsen(w, v, 2),
              1e-9);
}

// Clapper, Yule 1953: the same under a surface.
TEST(Flux, EndlessSpreadUnderAClearGlossyInkIsClapperYule) {
  const FluxCell cell = demo::dot_cell(DotShape::round, 0.5, 55, 32);
  const LayerRT surface = as_layer({0.04, 0.6});
  const FluxBand band{
      {compose(surface, {0, 1, 0}), compose(surface, {0, 0.2, 0})}, {0.8, 0.8}, {{1, kEndless}}};
  const double a[] = {0.5, 0.5}, t[] = {1.0, 0.2};
  EXPECT_NEAR(flux_mean(cell, band), clapper_yule(a, t, 0.04, 0.6, 0.8), 1e-9);
}

/// The spread as a plain sum over all frequencies and samples, and the balance of light solved by
/// elimination: nothing is shared with the code under test but the transform of the spread at one frequency.
std::vector<double> solved_directly(const FluxCell& cell, const FluxBand& band) {
  const int n = cell.width * cell.height;
  const auto kernel = [&](int dx, int dy) {
    std::complex<double> sum = 0;
    for (int ky = 0; ky < cell.height; ++ky) {
      for (int kx = 0; kx < cell.width; ++kx) {
        const double fx = (kx > cell.width / 2 ? kx - cell.width : kx) / (cell.width * cell.sample_um);
        const double fy = (ky > cell.height / 2 ? ky - cell.height : ky) / (cell.height * cell.sample_um);
        double p = 0;
        for (const SpreadPart& part : band.spread)
          p += part.share * scatter_transfer(std::hypot(fx, fy), part.mean_um);
        const double phase =
            2 * std::numbers::pi *
            (static_cast<double>(kx * dx) / cell.width + static_cast<double>(ky * dy) / cell.height);
        sum += std::polar(p, phase);
      }
    }
    return sum.real() / n;
  };
  // u_i = g_i sum_j P_ij g_j (T_j + R'_j u_j)
  std::vector<std::vector<double>> m(n, std::vector<double>(n + 1, 0.0));
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      const std::size_t ki = cell.kinds[i], kj = cell.kinds[j];
      const double p = kernel(i % cell.width - j % cell.width, i / cell.width - j / cell.width) *
                       std::sqrt(band.ground[ki] * band.ground[kj]);
      m[i][j] = (i == j) - p * band.above[kj].r0_back;
      m[i][n] += p * band.above[kj].t;
    }
  }
  for (int k = 0; k < n; ++k) {
    for (int i = 0; i < n; ++i) {
      if (i == k) continue;
      const double f = m[i][k] / m[k][k];
      for (int j = k; j <= n; ++j) m[i][j] -= f * m[k][j];
    }
  }
  std::vector<double> r(n);
  for (int i = 0; i < n; ++i) {
    const LayerRT& above = band.above[cell.kinds[i]];
    r[i] = above.r0 + above.t * m[i][n] / m[i][i];
  }
  return r;
}

TEST(Flux, AgreesWithADirectSolution) {
  RandomValues random(2);
  for (int run = 0; run < 10; ++run) {
    const FluxCell cell = random_cell(random, 5 + run % 4, 4 + run % 3, 3);
    const FluxBand band = random_band(random, 3);
    const std::vector<double> got = flux_samples(cell, band, 1e-11), want = solved_directly(cell, band);
    for (std::size_t i = 0; i < got.size(); ++i) EXPECT_NEAR(got[i], want[i], 1e-9) << run;
  }
}

TEST(Flux, IsTheSameWhereverThePeriodIsCut) {
  RandomValues random(3);
  const FluxCell cell = random_cell(random, 16, 12, 3);
  const FluxBand band = random_band(random, 3);
  FluxCell moved = cell;
  for (int y = 0; y < 12; ++y) {
    for (int x = 0; x < 16; ++x) moved.kinds[y * 16 + x] = cell.kinds[(y + 5) % 12 * 16 + (x + 3) % 16];
  }
  const std::vector<double> a = flux_samples(cell, band), b = flux_samples(moved, band);
  for (int y = 0; y < 12; ++y) {
    for (int x = 0; x < 16; ++x) EXPECT_NEAR(b[y * 16 + x], a[(y + 5) % 12 * 16 + (x + 3) % 16], 1e-9);
  }
}

TEST(Flux, ToleranceBoundsTheError) {
  RandomValues random(4);
  const FluxCell cell = random_cell(random, 16, 16, 3);
  FluxBand band = random_band(random, 3);
  band.above[0] = {0.85, 0.1, 0.85};  // an opaque white, where light runs to and fro longest
  band.ground = {0.9, 0.9, 0.9};
  const std::vector<double> exact = flux_samples(cell, band, 1e-13);
  for (const double tolerance : {1e-2, 1e-4, 1e-8}) {
    const std::vector<double> r = flux_samples(cell, band, tolerance);
    double sum = 0;
    for (std::size_t i = 0; i < r.size(); ++i) sum += (r[i] - exact[i]) * (r[i] - exact[i]);
    EXPECT_LE(std::sqrt(sum / static_cast<double>(r.size())), tolerance);
  }
}

TEST(Flux, MoreSpreadDarkensClearDots) {
  double before = 1;
  for (const double mean : {0.0, 20.0, 60.0, 200.0, 1000.0, kEndless}) {
    const double r = flux_mean(demo::dot_cell(DotShape::round, 0.5, 55, 32),
                               {{{0, 1, 0}, {0, 0.2, 0}}, {0.8, 0.8}, {{1, mean}}});
    EXPECT_LT(r, before);
    before = r;
  }
}

TEST(Flux, OverprintsBringTheirSharedFilmAsGround) {
  const Stack stack = demo::halftone_stack(demo::GroundKind::white_base, demo::red());
  const std::vector<Overprint> kinds{stack.at(std::vector{1.0, 0.0}), stack.at(std::vector{1.0, 1.0})};
  const FluxBand band = flux_band(kinds, std::vector{0.5, 0.5}, 0, 20);
  EXPECT_NEAR(band.ground[0], kinds[0].reflectance[0][20], 1e-12);
  EXPECT_NEAR(band.ground[1], kinds[0].reflectance[0][20], 1e-12);
  EXPECT_EQ(band.above[0].t, 1);
  EXPECT_NEAR(band.above[1].t, kinds[1].film_rt[1].t[20], 1e-12);
  ASSERT_EQ(band.spread.size(), 2u);
  EXPECT_NEAR(band.spread[0].share + band.spread[1].share, 1, 1e-12);
  EXPECT_GT(band.spread[1].share, 0.9);  // a white that hides returns nearly all the light itself
}

TEST(Flux, EvenOverprintsGiveTheirOwnReflectance) {
  RandomValues random(5);
  for (int run = 0; run < 20; ++run) {
    const std::vector<StackPass> passes = demo::random_passes(random, 2);
    const Stack stack(demo::random_cloth(random), passes, 2, demo::process(), {});
    const std::vector<Overprint> kinds{stack.at(std::vector{1.0, 0.5})};
    const Spectrum r = flux_reflectance({2, 2, 50, {0, 0, 0, 0}}, kinds), want = mean_reflectance(kinds[0]);
    for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(r[i], want[i], 1e-8);
  }
}

TEST(Flux, RefusesWhatIsOutOfRange) {
  const FluxCell cell{2, 1, 10, {0, 1}};
  const FluxBand good{{{0.2, 0.5, 0.2}, {0, 1, 0}}, {0.5, 0.5}, {{1, 10}}};
  EXPECT_NO_THROW(flux_mean(cell, good));
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double bad : {-0.01, 1.01, nan}) {
    FluxBand band = good;
    band.ground[1] = bad;
    EXPECT_THROW(flux_mean(cell, band), std::domain_error);
    band = good;
    band.above[0].t = bad;
    EXPECT_THROW(flux_mean(cell, band), std::domain_error);
    band = good;
    band.above[0].r0 = bad;
    EXPECT_THROW(flux_mean(cell, band), std::domain_error);
    band = good;
    band.above[0].r0_back = bad;
    EXPECT_THROW(flux_mean(cell, band), std::domain_error);
    band = good;
    band.spread[0].share = bad;
    EXPECT_THROW(flux_mean(cell, band), std::domain_error);
  }
  FluxBand trapped = good;
  trapped.above[0].r0_back = 1;
  trapped.ground[1] = 1;
  EXPECT_THROW(flux_mean(cell, trapped), std::domain_error);
  for (const double bad : {0.0, -1.0, nan}) {
    EXPECT_THROW(flux_mean({2, 1, bad, {0, 1}}, good), std::domain_error);
    EXPECT_THROW(flux_mean(cell, good, bad), std::domain_error);
  }
}

}  // namespace
}  // namespace kirtle
