#pragma once
// Sums by squares of a plate, so that a finding can say where it is worst. Internal to check.
#include "plate/holdings.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace kirtle::check {

constexpr double kTile_mm = 5;  // a side, of the squares that findings name

class Tiles {
 public:
  /// side > 0 mm; ppi > 0. Tiles are whole pixels, at least one.
  Tiles(int width_px, int height_px, double ppi, double side_mm)
      : px_(std::max(1, static_cast<int>(std::lround(side_mm / kMmPerInch * ppi)))),
        across_((width_px + px_ - 1) / px_),
        down_((height_px + px_ - 1) / px_),
        mm_(kMmPerInch / ppi),
        sums_(static_cast<std::size_t>(std::max(across_, 1)) * static_cast<std::size_t>(std::max(down_, 1))) {
  }

  std::size_t of(double x_px, double y_px) const {
    const int tx = std::clamp(static_cast<int>(x_px) / px_, 0, across_ - 1);
    const int ty = std::clamp(static_cast<int>(y_px) / px_, 0, down_ - 1);
    return static_cast<std::size_t>(ty) * static_cast<std::size_t>(across_) + static_cast<std::size_t>(tx);
  }
  double& operator[](std::size_t tile) { return sums_[tile]; }
  double operator[](std::size_t tile) const { return sums_[tile]; }
  std::size_t worst() const {
    return static_cast<std::size_t>(std::max_element(sums_.begin(), sums_.end()) - sums_.begin());
  }
  PlateSpot centre(std::size_t tile) const {
    const auto across = static_cast<std::size_t>(across_);
    const double half = 0.5 * px_;
    return {{(static_cast<double>(tile % across) * px_ + half) * mm_},
            {(static_cast<double>(tile / across) * px_ + half) * mm_}};
  }
  int side_px() const { return px_; }
  int across() const { return across_; }
  int down() const { return down_; }

 private:
  int px_, across_, down_;
  double mm_;
  std::vector<double> sums_;
};

}  // namespace kirtle::check
