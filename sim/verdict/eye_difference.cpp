#include "verdict/eye_difference.h"

#include "base/check.h"
#include "base/parallel.h"
#include "verdict/blur.h"
#include "verdict/eye_rows.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace kirtle {

namespace {

constexpr int kStep = 4;           // of the coarse raster
constexpr double kWideFrom = 3.5;  // s.d. in pixels from which all but a channel's first Gaussian go there
constexpr float kNothing = 1e-3F;  // change of a channel (of 100) that no eye has: under dE00 0.02
constexpr double kBin = 0.01;
constexpr int kBins = 20000;
constexpr float kProbe = 0.05F;     // change of a channel that slopes are taken from
constexpr float kExactFrom = 0.6F;  // of the threshold

std::size_t at(int x, int y, int width) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
}

/// Share of a pixel that goes to a cell of the coarse raster, whose middle lies at pixel (cell + 0.5) * kStep
/// - 0.5; 0..1.
float share_of(int pixel, int cell, int cells) {
  const float u =
      std::clamp((static_cast<float>(pixel) + 0.5F) / kStep - 0.5F, 0.0F, static_cast<float>(cells - 1));
  return std::max(0.0F, 1 - std::abs(u - static_cast<float>(cell)));
}

std::vector<float> kernel_of(double sigma) {
  if (sigma < 0.05) return {1};
  const int half = std::max(1, static_cast<int>(std::ceil(4 * sigma)));
  const double s = sigma * std::sqrt(2.0);
  std::vector<float> out;
  double sum = 0;
  for (int i = 0; i <= half; ++i) {
    const double w = 0.5 * (std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s));
    sum += i == 0 ? w : 2 * w;
    out.push_back(static_cast<float>(w));
  }
  for (float& w : out) w = static_cast<float>(static_cast<double>(w) / sum);
  return out;
}

}  // namespace

std::array<double, 6> small_difference_form(const Lab& at) {
  constexpr double kDegree = std::numbers::pi / 180;
  const double c = std::hypot(at.a, at.b), c7 = std::pow(c, 7), far7 = 6103515625.0;  // 25^7
  const double stretch = 1 + 0.5 * (1 - std::sqrt(c7 / (c7 + far7)));
  const double a = stretch * at.a, chroma = std::hypot(a, at.b);
  const double l50 = (at.l - 50) * (at.l - 50), sl = 1 + 0.015 * l50 / std::sqrt(20 + l50);
  const double ll = 1 / (sl * sl);
  if (chroma < 1e-4) return {ll, stretch * stretch, 1, 0, 0, 0};
  double hue = std::atan2(at.b, a) / kDegree;
  if (hue < 0) hue += 360;
  const double t = 1 - 0.17 * std::cos((hue - 30) * kDegree) + 0.24 * std::cos(2 * hue * kDegree) +
                   0.32 * std::cos((3 * hue + 6) * kDegree) - 0.20 * std::cos((4 * hue - 63) * kDegree);
  const double sc = 1 + 0.045 * chroma, sh = 1 + 0.015 * chroma * t;
  const double blue = (hue - 275) / 25, chroma7 = std::pow(chroma, 7);
  const double rt =
      -2 * std::sqrt(chroma7 / (chroma7 + far7)) * std::sin(60 * std::exp(-blue * blue) * kDegree);
  // dC = (a da + b db) / C and dH = (a db - b da) / C, a already stretched.
  const double ca = a / chroma * stretch / sc, cb = at.b / chroma / sc;
  const double ha = -at.b / chroma * stretch / sh, hb = a / chroma / sh;
  return {ll,
          ca * ca + ha * ha + rt * ca * ha,
          cb * cb + hb * hb + rt * cb * hb,
          0,
          0,
          2 * (ca * cb + ha * hb) + rt * (ca * hb + cb * ha)};
}

EyeDifference::EyeDifference(const SpatialLab& eye, const OpponentPlanes& picture, int width, int height,
                             double threshold, unsigned threads)
    : width_(width),
      height_(height),
      ppi_(eye.ppi()),
      threshold_(threshold),
      white_(eye.white()),
      exactly_(white_) {
  KIRTLE_CHECK(width, >, 0);
  KIRTLE_CHECK(height, >, 0);
  KIRTLE_CHECK(threshold, >, 0.0);
  tiles_across_ = (width + kEyeTile - 1) / kEyeTile;
  tiles_down_ = (height + kEyeTile - 1) / kEyeTile;
  coarse_across_ = (width + kStep - 1) / kStep;
  coarse_down_ = (height + kStep - 1) / kStep;
  const std::size_t n = at(0, height, width);
  for (std::size_t c = 0; c < 3; ++c) {
    KIRTLE_CHECK(picture[c].size(), ==, n);
    seen_[c].assign(n, 0.0F);
    bool first = true;  // carries most of the channel: always at full resolution
    for (const EyeBlur& blur : eye_kernels()[c]) {
      const double sigma = eye.sigma_px(blur);
      add_blurred(picture[c], width, height, sigma, blur.weight, seen_[c], threads);
      if (std::exchange(first, false) || sigma < kWideFrom) {
        lobes_[c].push_back({kernel_of(sigma), static_cast<float>(blur.weight), std::vector<float>(n, 0.0F)});
        const int half = static_cast<int>(lobes_[c].back().kernel.size()) - 1;
        reach_tiles_ = std::max(reach_tiles_, (half + kEyeTile - 1) / kEyeTile);
        continue;
      }
      // There already: the variances of sharing out to the coarse raster and of linear interpolation back,
      // and of a coarse pixel's share; still to come is a pixel's own share.
      const double cell = kStep * kStep;
      const double left = sigma * sigma + 1.0 / 12 - cell / 6 - cell / 6 - cell / 12;
      wide_[c].emplace_back(std::sqrt(left) / kStep, blur.weight);
    }
    coarse_[c].resize(at(0, coarse_down_, coarse_across_));
    coarse_seen_[c].resize(coarse_[c].size());
  }
  for (std::vector<float>& part : metric_) part.resize(n);
  parallel_for(static_cast<std::size_t>(height), threads, [&](std::size_t y, unsigned) {
    for (int x = 0; x < width_; ++x) {
      const std::size_t i = at(x, static_cast<int>(y), width_);
      bool same = x > 0;
      for (std::size_t c = 0; c < 3 && same; ++c) same = seen_[c][i] == seen_[c][i - 1];
      if (same) {
        for (std::vector<float>& part : metric_) part[i] = part[i - 1];
      } else {
        metric_at(i);
      }
    }
  });
}

void EyeDifference::metric_at(std::size_t pixel) {
  const std::array<float, 3> o{seen_[0][pixel], seen_[1][pixel], seen_[2][pixel]};
  const Lab here = lab_from_xyz(xyz_of_opponent(o), white_);
  const std::array<double, 6> form = small_difference_form(here);
  // How Lab goes with each channel.
  std::array<std::array<double, 3>, 3> by{};
  for (std::size_t c = 0; c < 3; ++c) {
    std::array<float, 3> p = o;
    p[c] += kProbe;
    const Lab l = lab_from_xyz(xyz_of_opponent(p), white_);
    by[c] = {(l.l - here.l) / static_cast<double>(kProbe), (l.a - here.a) / static_cast<double>(kProbe),
             (l.b - here.b) / static_cast<double>(kProbe)};
  }
  const auto product = [&](std::size_t c, std::size_t d) {
    const std::array<double, 3>&p = by[c], &q = by[d];
    return form[0] * p[0] * q[0] + form[1] * p[1] * q[1] + form[2] * p[2] * q[2] +
           0.5 * (form[3] * (p[0] * q[1] + p[1] * q[0]) + form[4] * (p[0] * q[2] + p[2] * q[0]) +
                  form[5] * (p[1] * q[2] + p[2] * q[1]));
  };
  metric_[0][pixel] = static_cast<float>(product(0, 0));
  metric_[1][pixel] = static_cast<float>(product(1, 1));
  metric_[2][pixel] = static_cast<float>(product(2, 2));
  metric_[3][pixel] = static_cast<float>(2 * product(0, 1));
  metric_[4][pixel] = static_cast<float>(2 * product(0, 2));
  metric_[5][pixel] = static_cast<float>(2 * product(1, 2));
}

void EyeDifference::coarse_blur(const OpponentPlanes& change, unsigned threads) {
  // Each pixel is shared out to the two nearest cells each way, so that it keeps its place: a moved edge is
  // two opposite spikes, and the blur hangs on how far they are apart.
  parallel_for(static_cast<std::size_t>(coarse_down_), threads, [&](std::size_t row, unsigned) {
    const int cy = static_cast<int>(row);
    std::vector<float> sum(static_cast<std::size_t>(width_));
    for (std::size_t c = 0; c < 3; ++c) {
      if (wide_[c].empty()) continue;
      std::fill(sum.begin(), sum.end(), 0.0F);
      float weights = 0;
      for (int y = std::max(0, (cy - 1) * kStep); y < std::min(height_, (cy + 2) * kStep); ++y) {
        const float w = share_of(y, cy, coarse_down_);
        if (w == 0) continue;
        weights += w;
        const float* v = change[c].data() + at(0, y, width_);
        for (int x = 0; x < width_; ++x) sum[static_cast<std::size_t>(x)] += w * v[x];
      }
      float* to = coarse_[c].data() + at(0, cy, coarse_across_);
      for (int cx = 0; cx < coarse_across_; ++cx) {
        float cell = 0, across = 0;
        for (int x = std::max(0, (cx - 1) * kStep); x < std::min(width_, (cx + 2) * kStep); ++x) {
          const float w = share_of(x, cx, coarse_across_);
          across += w;
          cell += w * sum[static_cast<std::size_t>(x)];
        }
        to[cx] = cell / (weights * across);
      }
    }
  });
  for (std::size_t c = 0; c < 3; ++c) {
    std::fill(coarse_seen_[c].begin(), coarse_seen_[c].end(), 0.0F);
    for (const auto& [sigma, weight] : wide_[c])
      add_blurred(coarse_[c], coarse_across_, coarse_down_, sigma, weight, coarse_seen_[c], threads);
  }
}

/// Every narrow Gaussian along the rows of one row of tiles, where something moved near by.
void EyeDifference::rows_blurred(const OpponentPlanes& change, std::size_t tile_row, Worker& worker) {
  const int y0 = static_cast<int>(tile_row) * kEyeTile, y1 = std::min(height_, y0 + kEyeTile);
  const std::uint8_t* near = near_.data() + tile_row * static_cast<std::size_t>(tiles_across_);
  for (std::size_t c = 0; c < 3; ++c) {
    for (Lobe& lobe : lobes_[c]) {
      if (rows_used_[tile_row]) {
        std::fill(lobe.rows.begin() + static_cast<std::ptrdiff_t>(at(0, y0, width_)),
                  lobe.rows.begin() + static_cast<std::ptrdiff_t>(at(0, y1, width_)), 0.0F);
      }
      const int half = static_cast<int>(lobe.kernel.size()) - 1;
      for (int tx = 0; tx < tiles_across_;) {
        if (!near[tx]) {
          ++tx;
          continue;
        }
        int end = tx;
        while (end < tiles_across_ && near[end]) ++end;
        const int x0 = tx * kEyeTile, x1 = std::min(width_, end * kEyeTile), count = x1 - x0;
        worker.padded.resize(static_cast<std::size_t>(count + 2 * half));
        for (int y = y0; y < y1; ++y) {
          const float* v = change[c].data() + at(0, y, width_);
          for (int i = -half; i < count + half; ++i)
            worker.padded[static_cast<std::size_t>(i + half)] = v[std::clamp(x0 + i, 0, width_ - 1)];
          blur_row(worker.padded.data() + half, lobe.kernel.data(), half, count,
                   lobe.rows.data() + at(x0, y, width_));
        }
        tx = end;
      }
    }
  }
}

/// The blurred change of one tile into worker.tile; false if there is none that counts.
bool EyeDifference::tile_change(int tx, int ty, Worker& worker) const {
  const int x0 = tx * kEyeTile, x1 = std::min(width_, x0 + kEyeTile);
  const int y0 = ty * kEyeTile, y1 = std::min(height_, y0 + kEyeTile);
  bool direct = false;
  for (int t = std::max(0, ty - reach_tiles_); t <= std::min(tiles_down_ - 1, ty + reach_tiles_); ++t)
    direct = direct || near_[at(tx, t, tiles_across_)] != 0;
  // Cells that linear interpolation takes into the tile.
  const int cx0 = std::max(0, x0 / kStep - 1), cx1 = std::min(coarse_across_ - 1, (x1 - 1) / kStep + 1);
  const int cy0 = std::max(0, y0 / kStep - 1), cy1 = std::min(coarse_down_ - 1, (y1 - 1) / kStep + 1);
  float most = 0;
  for (std::size_t c = 0; c < 3; ++c) {
    for (int cy = cy0; cy <= cy1; ++cy) {
      for (int cx = cx0; cx <= cx1; ++cx)
        most = std::max(most, std::abs(coarse_seen_[c][at(cx, cy, coarse_across_)]));
    }
  }
  if (!direct && most < kNothing) return false;
  const int width = x1 - x0;
  // The cells on either side of each column, and how far it lies from the first.
  struct Cells {
    int first = 0, next = 0;
    float share = 0;
  };
  std::array<Cells, kEyeTile> cells;
  for (int x = 0; x < width; ++x) {
    const float u = std::clamp((static_cast<float>(x0 + x) + 0.5F) / kStep - 0.5F, 0.0F,
                               static_cast<float>(coarse_across_ - 1));
    const int first = static_cast<int>(u);
    cells[static_cast<std::size_t>(x)] = {first, std::min(first + 1, coarse_across_ - 1),
                                          u - static_cast<float>(first)};
  }
  for (std::size_t c = 0; c < 3; ++c) {
    std::vector<float>& tile = worker.tile[c];
    std::fill(tile.begin(), tile.end(), 0.0F);
    if (most >= kNothing) {
      for (int y = y0; y < y1; ++y) {
        // Centre of cell c lies at pixel (c + 0.5) * step - 0.5.
        const float v = std::clamp((static_cast<float>(y) + 0.5F) / kStep - 0.5F, 0.0F,
                                   static_cast<float>(coarse_down_ - 1));
        const int cy = static_cast<int>(v), cy_next = std::min(cy + 1, coarse_down_ - 1);
        const float fy = v - static_cast<float>(cy);
        const float* a = coarse_seen_[c].data() + at(0, cy, coarse_across_);
        const float* b = coarse_seen_[c].data() + at(0, cy_next, coarse_across_);
        for (int x = 0; x < width; ++x) {
          const auto [cx, next, fx] = cells[static_cast<std::size_t>(x)];
          const float left = a[cx] + fy * (b[cx] - a[cx]), right = a[next] + fy * (b[next] - a[next]);
          tile[at(x, y - y0, kEyeTile)] = left + fx * (right - left);
        }
      }
    }
    if (!direct) continue;
    for (const Lobe& lobe : lobes_[c]) {
      const Columns columns{lobe.rows.data() + x0,
                            width_,
                            height_,
                            lobe.kernel.data(),
                            static_cast<int>(lobe.kernel.size()) - 1,
                            lobe.weight};
      for (int y = y0; y < y1; ++y) {
        float* to = tile.data() + at(0, y - y0, kEyeTile);
        add_columns(columns, y, width, to);
      }
    }
  }
  return true;
}

void EyeDifference::look_at(std::size_t tile_row, Worker& worker) {
  const int ty = static_cast<int>(tile_row);
  const auto exact_from = static_cast<float>(threshold_) * kExactFrom;
  for (int tx = 0; tx < tiles_across_; ++tx) {
    if (!tile_change(tx, ty, worker)) continue;
    const int x0 = tx * kEyeTile, x1 = std::min(width_, x0 + kEyeTile);
    const int y0 = ty * kEyeTile, y1 = std::min(height_, y0 + kEyeTile);
    const int count = x1 - x0;
    for (int y = y0; y < y1; ++y) {
      const std::size_t i = at(x0, y, width_), j = at(0, y - y0, kEyeTile);
      const OpponentRow change{worker.tile[0].data() + j, worker.tile[1].data() + j,
                               worker.tile[2].data() + j};
      std::array<const float*, 6> metric{};
      for (std::size_t k = 0; k < metric.size(); ++k) metric[k] = metric_[k].data() + i;
      std::array<float, kEyeTile> de{}, exact{};
      small_differences(metric, change, count, de.data());
      if (*std::max_element(de.begin(), de.begin() + count) > exact_from) {
        exactly_({seen_[0].data() + i, seen_[1].data() + i, seen_[2].data() + i}, change,
                 static_cast<std::size_t>(count), exact.data());
        for (std::size_t x = 0; x < de.size(); ++x) de[x] = de[x] > exact_from ? exact[x] : de[x];
      }
      for (int x = 0; x < count; ++x) worker.count(de[static_cast<std::size_t>(x)], x0 + x, y, threshold_);
    }
  }
}

/// One pixel's dE00.
void EyeDifference::Worker::count(float de, int at_x, int at_y, double threshold) {
  ++histogram[static_cast<std::size_t>(std::min(static_cast<double>(de) / kBin, kBins - 1.0))];
  over += static_cast<double>(de) > threshold;
  const bool first = de == largest && (at_y < y || (at_y == y && at_x < x));
  if (de > largest || (de > 0 && first)) {
    largest = de;
    x = at_x;
    y = at_y;
  }
}

EyeFigures EyeDifference::figures(const OpponentPlanes& change, std::span<const std::uint8_t> moved,
                                  unsigned threads) {
  const std::size_t tiles = at(0, tiles_down_, tiles_across_);
  KIRTLE_CHECK(moved.size(), ==, tiles);
  if (threads == 0) threads = default_threads();
  near_.assign(tiles, 0);
  std::vector<std::uint8_t> used(static_cast<std::size_t>(tiles_down_), 0);
  for (int ty = 0; ty < tiles_down_; ++ty) {
    for (int tx = 0; tx < tiles_across_; ++tx) {
      if (!moved[at(tx, ty, tiles_across_)]) continue;
      used[static_cast<std::size_t>(ty)] = 1;
      const int from = std::max(0, tx - reach_tiles_), to = std::min(tiles_across_ - 1, tx + reach_tiles_);
      std::fill_n(near_.begin() + static_cast<std::ptrdiff_t>(at(from, ty, tiles_across_)), to - from + 1, 1);
    }
  }
  rows_used_.resize(static_cast<std::size_t>(tiles_down_), 0);
  coarse_blur(change, threads);
  std::vector<Worker> workers(threads);
  for (Worker& w : workers) {
    w.histogram.assign(kBins, 0);
    for (std::vector<float>& tile : w.tile) tile.resize(kEyeTile * kEyeTile);
  }
  parallel_for(static_cast<std::size_t>(tiles_down_), threads,
               [&](std::size_t row, unsigned worker) { rows_blurred(change, row, workers[worker]); });
  rows_used_ = used;
  parallel_for(static_cast<std::size_t>(tiles_down_), threads,
               [&](std::size_t row, unsigned worker) { look_at(row, workers[worker]); });
  EyeFigures out;
  std::uint64_t over = 0;
  std::vector<std::uint64_t> histogram(kBins, 0);
  float largest = 0;
  for (const Worker& w : workers) {  // whole numbers and the first of the largest: any order gives the same
    over += w.over;
    for (std::size_t b = 0; b < histogram.size(); ++b) histogram[b] += w.histogram[b];
    if (w.largest > largest ||
        (w.largest == largest && w.largest > 0 && (w.y < out.y || (w.y == out.y && w.x < out.x)))) {
      largest = w.largest;
      out.x = w.x;
      out.y = w.y;
    }
  }
  out.largest = static_cast<double>(largest);
  const double pixel_mm = kMmPerInch / ppi_;
  out.area_over_mm2 = static_cast<double>(over) * pixel_mm * pixel_mm;
  const std::uint64_t above = at(0, height_, width_) / 1000;
  std::uint64_t counted = 0;
  for (std::size_t b = histogram.size(); b-- > 0;) {
    counted += histogram[b];
    if (counted > above) {
      out.p999 = std::min(out.largest, b == 0 ? 0.0 : (static_cast<double>(b) + 1) * kBin);
      break;
    }
  }
  return out;
}

}  // namespace kirtle
