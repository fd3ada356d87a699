#pragma once
// How evenly a pattern of dots lies.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>
#include <vector>

namespace kirtle::test {

/// Root mean square of what a square pattern of coverage 0..1 holds between its mean and `cycles` a side (an
/// ideal low pass), under a Hann window, over the window's own root mean square.
inline double low_frequency_rms(const cv::Mat& pattern, double cycles) {
  const int n = pattern.rows, most = std::min(static_cast<int>(std::ceil(cycles)), n / 2);
  std::vector<float> window;
  double power = 0;
  for (int i = 0; i < n; ++i) {
    const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (i + 0.5) / n);
    window.push_back(static_cast<float>(w));
    power += w * w;
  }
  // The mean under the window: a plain one would leave what a part of a period at the border holds.
  double sum_w = 0, sum_wp = 0;
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x) {
      const auto w =
          static_cast<double>(window[static_cast<std::size_t>(x)] * window[static_cast<std::size_t>(y)]);
      sum_w += w;
      sum_wp += w * static_cast<double>(pattern.at<float>(y, x));
    }
  }
  const auto mean = static_cast<float>(sum_wp / sum_w);
  cv::Mat rows(n, n, CV_32F);
  for (int y = 0; y < n; ++y) {
    for (int x = 0; x < n; ++x)
      rows.at<float>(y, x) = window[static_cast<std::size_t>(x)] * window[static_cast<std::size_t>(y)] *
                             (pattern.at<float>(y, x) - mean);
  }
  // Row by row (real; packed re, then re and im of each), then the few columns that are wanted.
  cv::dft(rows, rows, cv::DFT_ROWS);
  cv::Mat columns(most + 1, n, CV_32FC2);
  for (int y = 0; y < n; ++y) {
    columns.at<cv::Vec2f>(0, y) = {rows.at<float>(y, 0), 0};
    for (int k = 1; k <= most; ++k)
      columns.at<cv::Vec2f>(k, y) = {rows.at<float>(y, 2 * k - 1), 2 * k < n ? rows.at<float>(y, 2 * k) : 0};
  }
  cv::dft(columns, columns, cv::DFT_ROWS);
  double sum = 0;
  for (int k = 0; k <= most; ++k) {
    for (int y = 0; y < n; ++y) {
      if (std::hypot(k, std::min(y, n - y)) >= cycles) continue;
      const auto& h = columns.at<cv::Vec2f>(k, y);
      const double e = static_cast<double>(h[0]) * static_cast<double>(h[0]) +
                       static_cast<double>(h[1]) * static_cast<double>(h[1]);
      sum += k == 0 || 2 * k == n ? e : 2 * e;  // and its mirror
    }
  }
  return std::sqrt(sum) / (power * n);
}

}  // namespace kirtle::test
