#include "layer/surface.h"

#include "layer/domain.h"

#include <algorithm>

namespace kirtle {

namespace {

void require(Surface s) {
  require_range("k1", s.k1, 0, 1);
  if (!(s.k2 >= 0 && s.k2 < 1)) out_of_domain("k2", s.k2, "at least 0 and below 1");
}

}  // namespace

Surface film_surface(double gloss, Um film, Surface full, Um build_up) {
  require_range("gloss", gloss, 0, 1);
  require_not_negative("thickness of the film (um)", film.v);
  require_positive("build-up of the surface (um)", build_up.v);
  require(full);
  const double share = -gloss * std::expm1(-film.v / build_up.v);
  return {full.k1 * share, full.k2 * share};
}

double through_surface(double r, Surface surface, bool include_k1) {
  require(surface);
  require_range("internal reflectance", r, 0, 1);
  return through_surface_unchecked(r, surface, include_k1);
}

Spectrum through_surface(const Spectrum& r, Surface surface, bool include_k1) {
  return spectrum_of([&](std::size_t i) { return through_surface(r[i], surface, include_k1); });
}

double free_of_surface(double seen, Surface surface, bool include_k1) {
  require(surface);
  require_range("reflectance as seen", seen, 0, 1);
  const double inner = include_k1 ? seen - surface.k1 : seen;
  const double d = (1 - surface.k1) * (1 - surface.k2) + surface.k2 * inner;
  if (!(inner > 0 && d > 0)) return 0;
  return std::min(1.0, inner / d);
}

Spectrum free_of_surface(const Spectrum& seen, Surface surface, bool include_k1) {
  return spectrum_of([&](std::size_t i) { return free_of_surface(seen[i], surface, include_k1); });
}

LayerRT as_layer(Surface surface) {
  require(surface);
  return {surface.k1, std::sqrt((1 - surface.k1) * (1 - surface.k2)), surface.k2};
}

double diffuse_fresnel_external(double n) {
  require_range("refractive index", n, 1, 3);
  // At n = 1 there is no surface; just above it the closed form subtracts near equals of order 1 / (n - 1)^2.
  if (n < 1 + 1e-4) return 0;
  const double n2 = n * n, n3 = n2 * n, n4 = n2 * n2;
  const double p = n2 + 1, m = n2 - 1, q = n4 - 1;
  return 0.5 + (n - 1) * (3 * n + 1) / (6 * (n + 1) * (n + 1)) +
         n2 * m * m / (p * p * p) * std::log((n - 1) / (n + 1)) - 2 * n3 * (n2 + 2 * n - 1) / (p * q) +
         8 * n4 * (n4 + 1) / (p * q * q) * std::log(n);
}

double diffuse_fresnel_internal(double n) { return 1 - (1 - diffuse_fresnel_external(n)) / (n * n); }

}  // namespace kirtle
