#include "print/plane_spread.h"

#include "base/check.h"
#include "base/simd.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

namespace kirtle {

namespace {

using Lanes = float __attribute__((vector_size(32)));

/// P - 1 of eight squared frequencies at every radius.
KIRTLE_WIDE void changes_at(const float* squared, const float* radii, std::size_t count, float* out) {
  for (std::size_t t = 0; t < count; ++t) {
    const float r2 = radii[t] * radii[t];
    for (int lane = 0; lane < 8; ++lane)
      out[8 * t + lane] = 1.0F / std::sqrt(1.0F + r2 * squared[lane]) - 1.0F;
  }
}

/// One group of rows: out = the sum over planes of their spectra times the weighted sum of the changes.
KIRTLE_WIDE void combine(const FourierPair* const* spectra, std::size_t planes, const float* changes,
                         std::size_t radii, const float* weights, int width, FourierPair* out) {
  for (int x = 0; x <= width / 2; ++x) {
    const int mirror = x == 0 ? 0 : width - x;
    Lanes re{}, im{}, mirror_re{}, mirror_im{};
    for (std::size_t p = 0; p < planes; ++p) {
      Lanes factor{};
      for (std::size_t t = 0; t < radii; ++t) {
        Lanes change;
        std::memcpy(&change, changes + (static_cast<std::size_t>(x) * radii + t) * 8, sizeof change);
        factor += change * weights[p * radii + t];
      }
      Lanes a, b;
      std::memcpy(&a, spectra[p][x].re, sizeof a);
      std::memcpy(&b, spectra[p][x].im, sizeof b);
      re += a * factor;
      im += b * factor;
      std::memcpy(&a, spectra[p][mirror].re, sizeof a);
      std::memcpy(&b, spectra[p][mirror].im, sizeof b);
      mirror_re += a * factor;
      mirror_im += b * factor;
    }
    std::memcpy(out[x].re, &re, sizeof re);
    std::memcpy(out[x].im, &im, sizeof im);
    std::memcpy(out[mirror].re, &mirror_re, sizeof re);
    std::memcpy(out[mirror].im, &mirror_im, sizeof im);
  }
}

/// One group of rows times P.
KIRTLE_WIDE void multiply(const float* squared, float mean, int width, FourierPair* spectrum) {
  for (int x = 0; x <= width / 2; ++x) {
    FourierPair &here = spectrum[x], &mirror = spectrum[x == 0 ? 0 : width - x];
    float factor[8];
    for (int lane = 0; lane < 8; ++lane)
      factor[lane] = 1.0F / std::sqrt(1.0F + mean * mean * squared[8 * x + lane]);
    for (int lane = 0; lane < 8; ++lane) {
      here.re[lane] *= factor[lane];
      here.im[lane] *= factor[lane];
    }
    if (&here == &mirror) continue;
    for (int lane = 0; lane < 8; ++lane) {
      mirror.re[lane] *= factor[lane];
      mirror.im[lane] *= factor[lane];
    }
  }
}

}  // namespace

PlaneSpread::PlaneSpread(int width, int height, double pitch_um)
    : fourier_(width, height), pitch_um_(pitch_um) {
  for (int group = 0; group < fourier_.groups(); ++group) {
    for (int x = 0; x <= width / 2; ++x) {
      for (int lane = 0; lane < 8; ++lane) {
        const double fx = 2 * std::numbers::pi * x / (width * pitch_um),
                     fy = 2 * std::numbers::pi * (8 * group + lane) / (height * pitch_um);
        squared_.push_back(static_cast<float>(fx * fx + fy * fy));
      }
    }
  }
}

void PlaneSpread::set_radii(std::span<const double> radii_um) {
  const std::vector<float> radii(radii_um.begin(), radii_um.end());
  if (radii == radii_um_) return;
  radii_um_ = radii;
  changes_.resize(squared_.size() * radii.size());
  for (std::size_t i = 0; i < squared_.size(); i += 8)
    changes_at(squared_.data() + i, radii.data(), radii.size(), changes_.data() + i * radii.size());
}

void PlaneSpread::changes(std::span<const Plane> planes, const Rows& weights, std::vector<Plane>& out) {
  const std::size_t radii = radii_um_.size(), groups = static_cast<std::size_t>(fourier_.groups());
  KIRTLE_CHECK(weights.length, ==, planes.size() * radii);
  KIRTLE_CHECK(out.size(), >=, weights.count);
  spectra_.resize(std::max(spectra_.size(), planes.size()));
  for (std::size_t p = 0; p < planes.size(); ++p) fourier_.forward(planes[p], spectra_[p]);
  const auto width = static_cast<std::size_t>(fourier_.width());
  const std::size_t group_size = (width / 2 + 1) * radii * 8;
  std::vector<const FourierPair*> at(planes.size());
  sum_.resize(width * groups);
  for (std::size_t q = 0; q < weights.count; ++q) {
    const std::vector<float> w(weights[q], weights[q] + weights.length);
    for (std::size_t g = 0; g < groups; ++g) {
      for (std::size_t p = 0; p < planes.size(); ++p) at[p] = spectra_[p].data() + g * width;
      combine(at.data(), planes.size(), changes_.data() + g * group_size, radii, w.data(), fourier_.width(),
              sum_.data() + g * width);
    }
    fourier_.inverse(sum_, out[q]);
  }
}

void PlaneSpread::spread(Plane& plane, double mean_um) {
  fourier_.forward(plane, sum_);
  const auto width = static_cast<std::size_t>(fourier_.width());
  for (std::size_t g = 0; g < static_cast<std::size_t>(fourier_.groups()); ++g)
    multiply(squared_.data() + g * (width / 2 + 1) * 8, static_cast<float>(mean_um), fourier_.width(),
             sum_.data() + g * width);
  fourier_.inverse(sum_, plane);
}

}  // namespace kirtle
