#include "verdict/blur.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace kirtle {

namespace {

constexpr int kStripRows = 32;
constexpr double kCoarseFrom = 12;  // a wider Gaussian goes to a coarser raster, ...
constexpr double kCoarseSigma = 6;  // ... where it is about this many pixels wide
constexpr double kReach = 4;        // s.d. after which the kernel is cut; what is lost is shared out again

/// Share of a Gaussian that falls into the pixel `i` away.
double pixel_share(double sigma, int i) {
  const double s = sigma * std::numbers::sqrt2;
  return 0.5 * (std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s));
}

/// Half of the kernel, centre first; the whole sums to 1.
std::vector<float> kernel_of(double sigma) {
  const int half = std::max(1, static_cast<int>(std::ceil(kReach * sigma)));
  std::vector<double> w;
  double sum = 0;
  for (int i = 0; i <= half; ++i) {
    w.push_back(pixel_share(sigma, i));
    sum += (i == 0 ? 1 : 2) * w.back();
  }
  std::vector<float> out;
  for (const double v : w) out.push_back(static_cast<float>(v / sum));
  return out;
}

/// Calls work(y_from, y_to) for strips of rows, on threads.
template <class Work>
void for_strips(int height, unsigned threads, const Work& work) {
  const int strips = (height + kStripRows - 1) / kStripRows;
  parallel_for(static_cast<std::size_t>(strips), threads, [&](std::size_t strip, unsigned) {
    const int from = static_cast<int>(strip) * kStripRows;
    work(from, std::min(height, from + kStripRows));
  });
}

std::size_t row_at(int y, int width) { return static_cast<std::size_t>(y) * static_cast<std::size_t>(width); }

/// out += weight * blur, the kernel applied as it is: along the rows, then down the columns.
void add_direct(const float* in, int width, int height, double sigma, float weight, float* out,
                unsigned threads) {
  const std::vector<float> kernel = kernel_of(sigma);
  const int half = static_cast<int>(kernel.size()) - 1;
  std::vector<float> rows(row_at(height, width));
  for_strips(height, threads, [&](int from, int to) {
    std::vector<float> padded(static_cast<std::size_t>(width + 2 * half));
    for (int y = from; y < to; ++y) {
      const float* v = in + row_at(y, width);
      std::fill_n(padded.begin(), half, v[0]);
      std::copy_n(v, width, padded.begin() + half);
      std::fill_n(padded.begin() + half + width, half, v[width - 1]);
      float* sum = rows.data() + row_at(y, width);
      const float* centre = padded.data() + half;
      for (int x = 0; x < width; ++x) sum[x] = kernel[0] * centre[x];
      for (int k = 1; k <= half; ++k) {
        const float w = kernel[static_cast<std::size_t>(k)];
        for (int x = 0; x < width; ++x) sum[x] += w * (centre[x - k] + centre[x + k]);
      }
    }
  });
  for_strips(height, threads, [&](int from, int to) {
    std::vector<float> column_sum(static_cast<std::size_t>(width));
    float* sum = column_sum.data();
    for (int y = from; y < to; ++y) {
      const float* v = rows.data() + row_at(y, width);
      for (int x = 0; x < width; ++x) sum[x] = kernel[0] * v[x];
      for (int k = 1; k <= half; ++k) {
        const float w = kernel[static_cast<std::size_t>(k)];
        const float* above = rows.data() + row_at(std::max(y - k, 0), width);
        const float* below = rows.data() + row_at(std::min(y + k, height - 1), width);
        for (int x = 0; x < width; ++x) sum[x] += w * (above[x] + below[x]);
      }
      float* to_row = out + row_at(y, width);
      for (int x = 0; x < width; ++x) to_row[x] += weight * sum[x];
    }
  });
}

/// A raster of box means, with one cell more on each side than the plane needs.
struct Coarse {
  int step = 1, width = 0, height = 0;  ///< cell (1, 1) covers plane pixels 0 .. step - 1
  std::vector<float> v;
};

Coarse coarse_of(const float* in, int width, int height, int step, unsigned threads) {
  Coarse out{step, (width + step - 1) / step + 2, (height + step - 1) / step + 2, {}};
  out.v.resize(row_at(out.height, out.width));
  const float share = 1 / static_cast<float>(step * step);
  parallel_for(static_cast<std::size_t>(out.height), threads, [&](std::size_t row, unsigned) {
    const int cy = static_cast<int>(row);
    std::vector<float> sum(static_cast<std::size_t>(width), 0.0F);
    for (int j = 0; j < step; ++j) {
      const float* v = in + row_at(std::clamp((cy - 1) * step + j, 0, height - 1), width);
      for (int x = 0; x < width; ++x) sum[static_cast<std::size_t>(x)] += v[x];
    }
    for (int cx = 0; cx < out.width; ++cx) {
      float cell = 0;
      for (int i = 0; i < step; ++i) {
        cell += sum[static_cast<std::size_t>(std::clamp((cx - 1) * step + i, 0, width - 1))];
      }
      out.v[row_at(cy, out.width) + static_cast<std::size_t>(cx)] = cell * share;
    }
  });
  return out;
}

void add_coarse(const float* in, int width, int height, double sigma, float weight, float* out,
                unsigned threads) {
  const int step = static_cast<int>(sigma / kCoarseSigma);
  const Coarse means = coarse_of(in, width, height, step, threads);
  // The variances of the box (step^2 - 1) / 12, of linear interpolation step^2 / 6 and of the share of a
  // coarse pixel step^2 / 12 are there already; the share of a plane pixel, 1 / 12, is still to come.
  const double cell = static_cast<double>(step) * step;
  const double left = sigma * sigma + 1.0 / 12 - (cell - 1) / 12 - cell / 6 - cell / 12;
  Coarse blurred{step, means.width, means.height, std::vector<float>(means.v.size(), 0.0F)};
  add_direct(means.v.data(), means.width, means.height, std::sqrt(left) / step, 1, blurred.v.data(), threads);
  std::vector<int> cell_x(static_cast<std::size_t>(width));
  std::vector<float> part_x(static_cast<std::size_t>(width));
  const auto place = [step](int pixel, int& first, float& part) {
    const double u = (pixel + 0.5) / step + 0.5;  // centre of cell c lies at pixel (c - 1 + 0.5) * step - 0.5
    first = static_cast<int>(u);
    part = static_cast<float>(u - first);
  };
  for (int x = 0; x < width; ++x) {
    place(x, cell_x[static_cast<std::size_t>(x)], part_x[static_cast<std::size_t>(x)]);
  }
  for_strips(height, threads, [&](int from, int to) {
    std::vector<float> between(static_cast<std::size_t>(blurred.width));
    for (int y = from; y < to; ++y) {
      int cy = 0;
      float part = 0;
      place(y, cy, part);
      const float* a = blurred.v.data() + row_at(cy, blurred.width);
      const float* b = a + blurred.width;
      for (std::size_t i = 0; i < between.size(); ++i) between[i] = a[i] + part * (b[i] - a[i]);
      float* to_row = out + row_at(y, width);
      for (int x = 0; x < width; ++x) {
        const float* v = between.data() + cell_x[static_cast<std::size_t>(x)];
        to_row[x] += weight * (v[0] + part_x[static_cast<std::size_t>(x)] * (v[1] - v[0]));
      }
    }
  });
}

}  // namespace

void add_blurred(std::span<const float> in, int width, int height, double sigma_px, double weight,
                 std::span<float> out, unsigned threads) {
  KIRTLE_CHECK(width, >, 0);
  KIRTLE_CHECK(height, >, 0);
  KIRTLE_CHECK(in.size(), ==, row_at(height, width));
  KIRTLE_CHECK(out.size(), ==, in.size());
  KIRTLE_CHECK(sigma_px, >=, 0.0);
  KIRTLE_CHECK(sigma_px, <, 1e6);
  const auto w = static_cast<float>(weight);
  if (sigma_px < 0.05) {
    for (std::size_t i = 0; i < in.size(); ++i) out[i] += w * in[i];
  } else if (sigma_px < kCoarseFrom) {
    add_direct(in.data(), width, height, sigma_px, w, out.data(), threads);
  } else {
    add_coarse(in.data(), width, height, sigma_px, w, out.data(), threads);
  }
}

double blurred_at(std::span<const float> in, int width, int height, double sigma_px, int x, int y) {
  if (sigma_px < 0.05) return static_cast<double>(in[row_at(y, width) + static_cast<std::size_t>(x)]);
  const int half = std::max(1, static_cast<int>(std::ceil(6 * sigma_px)));
  std::vector<double> w;
  for (int i = 0; i <= half; ++i) w.push_back(pixel_share(sigma_px, i));
  double sum = 0, weights = 0;
  for (int j = -half; j <= half; ++j) {
    const float* v = in.data() + row_at(std::clamp(y + j, 0, height - 1), width);
    for (int i = -half; i <= half; ++i) {
      const double both = w[static_cast<std::size_t>(std::abs(i))] * w[static_cast<std::size_t>(std::abs(j))];
      sum += both * static_cast<double>(v[std::clamp(x + i, 0, width - 1)]);
      weights += both;
    }
  }
  return sum / weights;
}

}  // namespace kirtle
