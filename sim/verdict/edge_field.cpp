#include "verdict/edge_field.h"

#include "base/check.h"
#include "plate/contour.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

// A pixel of a tint stands off the covering tone by at most so much, as if in pixels.
constexpr double kTintScale = 2;
constexpr double kSameWay = 0.9;  // cosine: pieces of one contour, not of the two sides of a line

std::vector<float> tint_values(const EdgePlate& plate, double covering_tone) {
  const int max = plate.image->max();
  std::vector<float> out(static_cast<std::size_t>(max) + 1);
  for (std::size_t v = 0; v < out.size(); ++v) {
    const double film = static_cast<double>(v) / max;
    const double printed = plate.tone ? plate.tone->printed(film) : film;
    out[v] = static_cast<float>(kTintScale * (covering_tone - printed));
  }
  return out;
}

}  // namespace

EdgeField::EdgeField(const EdgePlate& plate, double ppi, double covering_tone, int y0, int rows)
    : width_(plate.image->width), height_(plate.image->height), y0_(y0), rows_(rows) {
  const PlateImage& image = *plate.image;
  const double spread = std::clamp(plate.spread.v / kUmPerInch * ppi, -60.0, 60.0);
  const double reach = std::clamp(std::abs(spread) + 2.25, 2.25, 64.0);
  DistanceRows d = contour_distance(image, y0, rows, spread, reach);
  far_ = static_cast<float>(reach);
  value_ = std::move(d.distance);
  tint_ = std::move(d.tint);
  const std::vector<float> tints = tint_values(plate, covering_tone);
  const auto width = static_cast<std::size_t>(width_);
  const auto enter_tints = [&](const auto& ink) {
    for (int y = std::max(y0, 0); y < std::min(y0 + rows, image.height); ++y) {
      const auto* v = ink.data() + static_cast<std::size_t>(y) * width;
      const std::size_t row = static_cast<std::size_t>(y - y0) * width;
      for (std::size_t x = 0; x < width; ++x) {
        if (tint_[row + x]) value_[row + x] = tints[v[x]];
      }
    }
  };
  if (image.bits == 8) {
    enter_tints(image.ink8);
  } else {
    enter_tints(image.ink16);
  }
  // Beside a thin line or a tint's end the field jumps from its far value: half a pixel keeps the area.
  const auto jumps = [](float here, float there) { return (here < 0) != (there < 0); };
  for (int y = 0; y < rows_; ++y) {
    float* v = value_.data() + static_cast<std::size_t>(y) * width;
    for (std::size_t x = 0; x < width; ++x) {
      if (std::abs(v[x]) < far_) continue;
      if ((x > 0 && jumps(v[x], v[x - 1])) || (x + 1 < width && jumps(v[x], v[x + 1])) ||
          (y > 0 && jumps(v[x], v[x - width])) || (y + 1 < rows_ && jumps(v[x], v[x + width]))) {
        v[x] = v[x] < 0 ? -0.5F : 0.5F;
      }
    }
  }
}

std::size_t EdgeField::index(int x, int y) const {
  x = std::clamp(x, 0, width_ - 1);
  y = std::clamp(y, std::max(y0_, 0), std::min(y0_ + rows_, height_) - 1);
  return static_cast<std::size_t>(y - y0_) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(x);
}

double EdgeField::at(double x, double y) const {
  const double fx = std::floor(x), fy = std::floor(y);
  const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
  const double px = x - fx, py = y - fy;
  const auto v = [this](int i, int j) { return static_cast<double>(value(i, j)); };
  const double upper = v(ix, iy) + px * (v(ix + 1, iy) - v(ix, iy));
  const double lower = v(ix, iy + 1) + px * (v(ix + 1, iy + 1) - v(ix, iy + 1));
  return upper + py * (lower - upper);
}

bool EdgeField::slope(double x, double y, double& nx, double& ny) const {
  const double gx = at(x + 0.75, y) - at(x - 0.75, y), gy = at(x, y + 0.75) - at(x, y - 0.75);
  const double length = std::hypot(gx, gy);
  if (!(length > 1e-6)) return false;
  nx = gx / length;
  ny = gy / length;
  return true;
}

bool EdgeField::solid_edge_at(double x, double y) const {
  const int ix = static_cast<int>(std::floor(x)), iy = static_cast<int>(std::floor(y));
  return !tint(ix, iy) && !tint(ix + 1, iy) && !tint(ix, iy + 1) && !tint(ix + 1, iy + 1);
}

bool EdgeField::piece_of_cell(int x, int y, ContourPiece& piece) const {
  const float v[4] = {value(x, y), value(x + 1, y), value(x + 1, y + 1), value(x, y + 1)};
  const int inside = (v[0] < 0) + (v[1] < 0) + (v[2] < 0) + (v[3] < 0);
  if (inside == 0 || inside == 4) return false;
  if (tint(x, y) || tint(x + 1, y) || tint(x + 1, y + 1) || tint(x, y + 1)) return false;
  constexpr double kCornerX[4] = {0, 1, 1, 0}, kCornerY[4] = {0, 0, 1, 1};
  double px[4], py[4];
  int n = 0;
  for (int i = 0; i < 4; ++i) {
    const int j = (i + 1) % 4;
    if ((v[i] < 0) == (v[j] < 0)) continue;
    const double s = static_cast<double>(v[i]) / (static_cast<double>(v[i]) - static_cast<double>(v[j]));
    px[n] = kCornerX[i] + s * (kCornerX[j] - kCornerX[i]);
    py[n++] = kCornerY[i] + s * (kCornerY[j] - kCornerY[i]);
  }
  // Two contours in one cell (a corner-to-corner touch) lie within a pixel: one piece of the same length.
  piece.length = std::hypot(px[1] - px[0], py[1] - py[0]);
  piece.x = x + 0.5 * (px[0] + px[1]);
  piece.y = y + 0.5 * (py[0] + py[1]);
  if (n == 4) {
    piece.length += std::hypot(px[3] - px[2], py[3] - py[2]);
    piece.x = x + 0.5;
    piece.y = y + 0.5;
  }
  return piece.length > 0 && slope(piece.x, piece.y, piece.nx, piece.ny);
}

std::vector<ContourPiece> EdgeField::contour(int from, int to, int spacing) const {
  std::vector<ContourPiece> out, block;
  for (int by = from; by < to; by += spacing) {
    for (int bx = 0; bx < width_ - 1; bx += spacing) {
      block.clear();
      for (int y = by; y < std::min(by + spacing, to); ++y) {
        const float* upper = value_.data() + static_cast<std::size_t>(y - y0_) * width_;
        const float* lower = upper + width_;
        for (int x = bx; x < std::min(bx + spacing, width_ - 1); ++x) {
          const bool in = upper[x] < 0;
          if (in == (upper[x + 1] < 0) && in == (lower[x] < 0) && in == (lower[x + 1] < 0)) continue;
          ContourPiece piece;
          if (!piece_of_cell(x, y, piece)) continue;
          const auto same = std::find_if(block.begin(), block.end(), [&](const ContourPiece& p) {
            return p.nx * piece.nx + p.ny * piece.ny > kSameWay;
          });
          if (same == block.end()) {
            block.push_back(piece);
            continue;
          }
          const double length = same->length + piece.length, share = piece.length / length;
          same->x += share * (piece.x - same->x);
          same->y += share * (piece.y - same->y);
          same->nx += share * (piece.nx - same->nx);
          same->ny += share * (piece.ny - same->ny);
          const double norm = std::hypot(same->nx, same->ny);
          same->nx /= norm;
          same->ny /= norm;
          same->length = length;
        }
      }
      out.insert(out.end(), block.begin(), block.end());
    }
  }
  return out;
}

}  // namespace kirtle
