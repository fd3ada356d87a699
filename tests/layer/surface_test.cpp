#include "layer/surface.h"

#include "base/not_a_number.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

using test::kNaN;

// Saunderson 1942, JOSA 32(12):727: by hand, .04 + .96 * .4 * .5 / (1 - .6 * .5).
TEST(Surface, Saunderson) {
  EXPECT_NEAR(through_surface(0.5, kSmoothFilm, true), 0.3142857143, 1e-10);
  EXPECT_NEAR(through_surface(0.5, kSmoothFilm, false), 0.2742857143, 1e-10);
  EXPECT_NEAR(free_of_surface(0.3142857142857143, kSmoothFilm, true), 0.5, 1e-12);
  EXPECT_NEAR(free_of_surface(0.2742857142857143, kSmoothFilm, false), 0.5, 1e-12);
}

TEST(Surface, InverseUndoesIt) {
  for (double gloss : {0.0, 0.3, 1.0})
    for (double r = 0; r <= 1; r += 0.01)
      for (bool k1 : {true, false}) {
        const Surface s = film_surface(gloss, {100});
        EXPECT_NEAR(free_of_surface(through_surface(r, s, k1), s, k1), r, 1e-12);
      }
}

TEST(Surface, DarkerThanTheSurfaceAloneGivesBlack) {
  EXPECT_EQ(free_of_surface(0.03, kSmoothFilm, true), 0);
  EXPECT_EQ(free_of_surface(0.04, kSmoothFilm, true), 0);
  EXPECT_GT(free_of_surface(0.041, kSmoothFilm, true), 0);
}

TEST(Surface, IsOneMoreLayer) {
  const LayerRT film = layer_rt({0.1, 1}, {3});
  for (double back : {0.0, 0.4, 0.9})
    EXPECT_NEAR(reflectance_over(compose(as_layer(kSmoothFilm), film), back),
                through_surface(reflectance_over(film, back), kSmoothFilm, true), 1e-12);
}

// A film of no thickness must leave the cloth's own colour, whatever its gloss.
TEST(Surface, FadesInWithTheFilm) {
  for (double r = 0; r <= 1; r += 0.1) EXPECT_EQ(through_surface(r, film_surface(1, {0}), true), r);
  const Surface at_build_up = film_surface(1, kSurfaceBuildUp);
  EXPECT_NEAR(at_build_up.k1, 0.04 * (1 - 1 / std::numbers::e), 1e-12);
  EXPECT_NEAR(at_build_up.k2, 0.60 * (1 - 1 / std::numbers::e), 1e-12);
  EXPECT_NEAR(film_surface(0.5, {1e4}).k2, 0.30, 1e-12);
  EXPECT_EQ(film_surface(0, {1e4}).k2, 0);
}

// Fresnel's equations for unpolarised light, averaged over diffuse incidence by the midpoint rule: the
// independent route.
double diffuse_fresnel_numeric(double n) {
  constexpr int steps = 200000;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double a = (i + 0.5) / steps * std::numbers::pi / 2;
    const double ci = std::cos(a), ct = std::sqrt(1 - std::sin(a) * std::sin(a) / (n * n));
    const double rs = (ci - n * ct) / (ci + n * ct), rp = (n * ci - ct) / (n * ci + ct);
    sum += 0.5 * (rs * rs + rp * rp) * 2 * std::sin(a) * ci * std::numbers::pi / 2 / steps;
  }
  return sum;
}

// Walsh's closed form after Prahl 1988; seven digits worked out from it and by quadrature.
TEST(Surface, DiffuseFresnel) {
  EXPECT_NEAR(diffuse_fresnel_external(1.5), 0.0917780, 0.5e-7);
  EXPECT_NEAR(diffuse_fresnel_internal(1.5), 0.5963458, 0.5e-7);
  for (double n : {1.05, 1.33, 1.5, 1.7, 2.4})
    EXPECT_NEAR(diffuse_fresnel_external(n), diffuse_fresnel_numeric(n), 1e-8) << n;
  EXPECT_EQ(diffuse_fresnel_external(1), 0);
  EXPECT_NEAR(diffuse_fresnel_external(1.0002), 0, 2e-4);
}

TEST(Surface, RefusesBadArguments) {
  for (double bad : {-1e-12, 1 + 1e-12, kNaN}) {
    EXPECT_THROW(through_surface(bad, kSmoothFilm, true), std::domain_error);
    EXPECT_THROW(free_of_surface(bad, kSmoothFilm, true), std::domain_error);
    EXPECT_THROW(film_surface(bad, {10}), std::domain_error);
    EXPECT_THROW(through_surface(0.5, {bad, 0.6}, true), std::domain_error);
    EXPECT_THROW(as_layer({0.04, bad}), std::domain_error);
  }
  EXPECT_THROW(as_layer({0.04, 1}), std::domain_error);  // nothing would ever come out
  EXPECT_THROW(film_surface(1, {-1}), std::domain_error);
  EXPECT_THROW(film_surface(1, {kNaN}), std::domain_error);
  EXPECT_THROW(film_surface(1, {10}, kSmoothFilm, {0}), std::domain_error);
  for (double bad : {0.999, 3.001, kNaN}) EXPECT_THROW(diffuse_fresnel_external(bad), std::domain_error);
}

}  // namespace
}  // namespace kirtle
