#pragma once
// The one wavelength grid: 36 bands, 380 to 730 nm by 10 nm.
#include <array>
#include <cstddef>

namespace kirtle {

constexpr std::size_t kBands = 36;
constexpr double kFirstNm = 380.0;
constexpr double kStepNm = 10.0;
constexpr double band_nm(std::size_t i) { return kFirstNm + kStepNm * static_cast<double>(i); }

/// A quantity per band: reflectance, transmittance, K, S, or a light's power.
struct Spectrum {
  std::array<double, kBands> v{};

  static constexpr Spectrum flat(double value) {
    Spectrum s;
    s.v.fill(value);
    return s;
  }
  constexpr double& operator[](std::size_t i) { return v[i]; }
  constexpr double operator[](std::size_t i) const { return v[i]; }
  bool operator==(const Spectrum&) const = default;

  Spectrum& operator+=(const Spectrum& o) {
    for (std::size_t i = 0; i < kBands; ++i) v[i] += o.v[i];
    return *this;
  }
  Spectrum& operator*=(double f) {
    for (double& x : v) x *= f;
    return *this;
  }
  friend Spectrum operator+(Spectrum a, const Spectrum& b) { return a += b; }
  friend Spectrum operator*(Spectrum a, double f) { return a *= f; }
  friend Spectrum operator*(double f, Spectrum a) { return a *= f; }
};

/// A new spectrum from f(band).
template <class F>
Spectrum spectrum_of(F&& f) {
  Spectrum s;
  for (std::size_t i = 0; i < kBands; ++i) s[i] = f(i);
  return s;
}

}  // namespace kirtle
