#include "print/plain_scatter.h"

#include "print/scatter_bands.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>

namespace kirtle::test {

namespace {

/// Squares of the frequencies, in the packed order of a real transform (opencv: CCS), times (2 pi)^2; 1/um^2.
cv::Mat packed_frequencies(const LoupePiece& piece) {
  const int width = piece.width, height = piece.height;
  cv::Mat out(height, width, CV_32F);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const bool edge = x == 0 || (x == width - 1 && width % 2 == 0);
      const int kx = edge ? (x == 0 ? 0 : width / 2) : (x + 1) / 2;
      const int ky = edge ? (y + 1) / 2 : std::min(y, height - y);
      const double fx = 2 * std::numbers::pi * kx / (width * piece.pitch_um),
                   fy = 2 * std::numbers::pi * ky / (height * piece.pitch_um);
      out.at<float>(y, x) = static_cast<float>(fx * fx + fy * fy);
    }
  }
  return out;
}

/// Spreads an image by one radius, with the transform of scatter.h.
void spread_image(cv::Mat& image, const cv::Mat& frequencies, double mean_um) {
  cv::dft(image, image, 0);
  const auto squared = static_cast<float>(mean_um * mean_um);
  auto* p = image.ptr<float>();
  const auto* f = frequencies.ptr<float>();
  const std::size_t n = image.total();
  for (std::size_t i = 0; i < n; ++i) p[i] /= std::sqrt(1.0F + squared * f[i]);
  cv::dft(image, image, cv::DFT_INVERSE | cv::DFT_SCALE | cv::DFT_REAL_OUTPUT);
}

}  // namespace

void add_scatter_plainly(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz) {
  constexpr double kTolerance = 1e-5;
  const cv::Mat frequencies = packed_frequencies(piece);
  const SpreadPlane with_opencv = [&](std::vector<float>& plane, double mean_um) {
    cv::Mat image(piece.height, piece.width, CV_32F, plane.data());
    spread_image(image, frequencies, mean_um);
  };
  add_scatter_by_bands(piece, fibre_shares, with_opencv, kTolerance, xyz);
}

}  // namespace kirtle::test
