#include "verdict/spatial_lab.h"

#include "base/check.h"
#include "base/parallel.h"
#include "light/delta_e_2000.h"
#include "verdict/blur.h"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <numbers>

namespace kirtle {

namespace {

constexpr int kStripRows = 32;
constexpr double kNoDifference = 0.01;
constexpr double kBin = 0.01;  // of the percentile's histogram
constexpr int kBins = 20000;   // up to dE00 200, which nothing reaches

using Matrix = std::array<std::array<double, 3>, 3>;

constexpr Matrix kOpponent = {{{0.2787336, 0.7218031, -0.1065520},
                               {-0.4487736, 0.2898056, 0.0771569},
                               {0.0859513, -0.5899859, 0.5011089}}};

Matrix inverse(const Matrix& m) {
  const auto minor = [&](std::size_t r, std::size_t c) {
    const std::size_t r1 = (r + 1) % 3, r2 = (r + 2) % 3, c1 = (c + 1) % 3, c2 = (c + 2) % 3;
    return m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1];
  };
  const double det = m[0][0] * minor(0, 0) + m[0][1] * minor(0, 1) + m[0][2] * minor(0, 2);
  Matrix out{};
  for (std::size_t r = 0; r < 3; ++r) {
    for (std::size_t c = 0; c < 3; ++c) out[r][c] = minor(c, r) / det;
  }
  return out;
}

std::array<double, 3> times(const Matrix& m, double x, double y, double z) {
  return {m[0][0] * x + m[0][1] * y + m[0][2] * z, m[1][0] * x + m[1][1] * y + m[1][2] * z,
          m[2][0] * x + m[2][1] * y + m[2][2] * z};
}

float opponent(std::size_t channel, const XYZf& c) {
  const std::array<double, 3>& m = kOpponent[channel];
  return static_cast<float>(m[0] * static_cast<double>(c.x) + m[1] * static_cast<double>(c.y) +
                            m[2] * static_cast<double>(c.z));
}

std::size_t pixels(int width, int height) {
  return static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
}

/// work(first, last) over ranges of pixels of whole rows.
template <class Work>
void for_strips(int width, int height, unsigned threads, const Work& work) {
  const int strips = (height + kStripRows - 1) / kStripRows;
  parallel_for(static_cast<std::size_t>(strips), threads, [&](std::size_t strip, unsigned worker) {
    const int from = static_cast<int>(strip) * kStripRows, to = std::min(height, from + kStripRows);
    work(pixels(width, from), pixels(width, to), worker);
  });
}

}  // namespace

const std::array<std::vector<EyeBlur>, 3>& eye_kernels() {
  static const std::array<std::vector<EyeBlur>, 3> kernels = [] {
    std::array<std::vector<EyeBlur>, 3> out = {{{{0.921, 0.0283}, {0.105, 0.133}, {-0.108, 4.336}},
                                                {{0.531, 0.0392}, {0.330, 0.494}},
                                                {{0.488, 0.0536}, {0.371, 0.386}}}};
    for (std::vector<EyeBlur>& channel : out) {
      double sum = 0;
      for (const EyeBlur& blur : channel) sum += blur.weight;
      for (EyeBlur& blur : channel) blur.weight /= sum;
    }
    return out;
  }();
  return kernels;
}

std::array<float, 3> opponent_of(const XYZf& colour) {
  return {opponent(0, colour), opponent(1, colour), opponent(2, colour)};
}

XYZ xyz_of_opponent(const std::array<float, 3>& o) {
  static const Matrix back = inverse(kOpponent);
  const std::array<double, 3> c =
      times(back, static_cast<double>(o[0]), static_cast<double>(o[1]), static_cast<double>(o[2]));
  return {c[0], c[1], c[2]};
}

SpatialLab::SpatialLab(double ppi, Mm distance, const XYZ& white) : ppi_(ppi), white_(white) {
  KIRTLE_CHECK(ppi, >, 0.0);
  KIRTLE_CHECK(distance.v, >, 0.0);
  KIRTLE_CHECK(white.y, >, 0.0);
  pixels_per_degree_ = distance.v * std::tan(std::numbers::pi / 180) / kMmPerInch * ppi;
  KIRTLE_CHECK(pixels_per_degree_, <, 1e5);
}

double SpatialLab::sigma_px(const EyeBlur& blur) const {
  return blur.spread_deg / std::numbers::sqrt2 * pixels_per_degree_;
}

SeenPicture SpatialLab::see(const PictureView& picture, unsigned threads) const {
  const std::size_t n = pixels(picture.width, picture.height);
  KIRTLE_CHECK(n, >, std::size_t{0});
  KIRTLE_CHECK(picture.xyz.size(), ==, n);
  std::array<std::vector<float>, 3> blurred;
  std::vector<float> plane(n);
  for (std::size_t channel = 0; channel < 3; ++channel) {
    for_strips(picture.width, picture.height, threads, [&](std::size_t from, std::size_t to, unsigned) {
      for (std::size_t i = from; i < to; ++i) plane[i] = opponent(channel, picture.xyz[i]);
    });
    blurred[channel].assign(n, 0.0F);
    for (const EyeBlur& blur : eye_kernels()[channel]) {
      add_blurred(plane, picture.width, picture.height, sigma_px(blur), blur.weight, blurred[channel],
                  threads);
    }
  }
  const Matrix back = inverse(kOpponent);
  // Each pixel's opponent values make room for its CIELAB values.
  for_strips(picture.width, picture.height, threads, [&](std::size_t from, std::size_t to, unsigned) {
    for (std::size_t i = from; i < to; ++i) {
      const std::array<double, 3> c =
          times(back, static_cast<double>(blurred[0][i]), static_cast<double>(blurred[1][i]),
                static_cast<double>(blurred[2][i]));
      const Lab lab = lab_from_xyz({c[0], c[1], c[2]}, white_);
      blurred[0][i] = static_cast<float>(lab.l);
      blurred[1][i] = static_cast<float>(lab.a);
      blurred[2][i] = static_cast<float>(lab.b);
    }
  });
  return {picture.width, picture.height, std::move(blurred[0]), std::move(blurred[1]), std::move(blurred[2])};
}

Lab SpatialLab::seen_at(const PictureView& picture, int x, int y) const {
  std::array<double, 3> sum{};
  std::vector<float> plane(picture.xyz.size());
  for (std::size_t channel = 0; channel < 3; ++channel) {
    std::transform(picture.xyz.begin(), picture.xyz.end(), plane.begin(),
                   [&](const XYZf& c) { return opponent(channel, c); });
    for (const EyeBlur& blur : eye_kernels()[channel]) {
      sum[channel] += blur.weight * blurred_at(plane, picture.width, picture.height, sigma_px(blur), x, y);
    }
  }
  const std::array<double, 3> c = times(inverse(kOpponent), sum[0], sum[1], sum[2]);
  return lab_from_xyz({c[0], c[1], c[2]}, white_);
}

SeenDifference SpatialLab::difference(const SeenPicture& x, const SeenPicture& y, unsigned threads) const {
  KIRTLE_CHECK(x.width, ==, y.width);
  KIRTLE_CHECK(x.height, ==, y.height);
  SeenDifference out{x.width, x.height, ppi_, {}, 0, 0, 0, 0};
  out.de00.assign(pixels(x.width, x.height), 0.0F);
  std::vector<std::size_t> histogram(kBins, 0);
  std::mutex adding;
  for_strips(x.width, x.height, threads, [&](std::size_t from, std::size_t to, unsigned) {
    std::vector<std::size_t> counts(kBins, 0);
    for (std::size_t i = from; i < to; ++i) {
      const Lab p{static_cast<double>(x.l[i]), static_cast<double>(x.a[i]), static_cast<double>(x.b[i])};
      const Lab q{static_cast<double>(y.l[i]), static_cast<double>(y.a[i]), static_cast<double>(y.b[i])};
      const double dl = p.l - q.l, da = p.a - q.a, db = p.b - q.b;
      if (dl * dl + da * da + db * db < kNoDifference * kNoDifference) {
        ++counts[0];
        continue;
      }
      const double de = delta_e_2000(p, q);
      out.de00[i] = static_cast<float>(de);
      ++counts[static_cast<std::size_t>(std::min(de / kBin, kBins - 1.0))];
    }
    const std::lock_guard lock(adding);  // whole numbers: the order of adding does not matter
    for (std::size_t b = 0; b < counts.size(); ++b) histogram[b] += counts[b];
  });
  const auto largest = std::max_element(out.de00.begin(), out.de00.end());
  const auto at = static_cast<std::size_t>(largest - out.de00.begin());
  out.largest = static_cast<double>(*largest);
  out.largest_x = static_cast<int>(at % static_cast<std::size_t>(x.width));
  out.largest_y = static_cast<int>(at / static_cast<std::size_t>(x.width));
  const std::size_t above = out.de00.size() / 1000;  // so many may lie over the percentile
  std::size_t counted = 0;
  for (std::size_t b = histogram.size(); b-- > 0;) {
    counted += histogram[b];
    if (counted > above) {
      out.p999 = std::min(out.largest, b == 0 ? 0.0 : (static_cast<double>(b) + 1) * kBin);
      break;
    }
  }
  return out;
}

double SeenDifference::area_over_mm2(double threshold) const {
  const auto over =
      std::count_if(de00.begin(), de00.end(), [&](float v) { return static_cast<double>(v) > threshold; });
  const double pixel_mm = kMmPerInch / ppi;
  return static_cast<double>(over) * pixel_mm * pixel_mm;
}

}  // namespace kirtle
