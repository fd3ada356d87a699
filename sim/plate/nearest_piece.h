#pragma once
// How far the pixels of a box are from the nearest piece of contour. Internal to contour.cpp.
#include "plate/contour.h"

#include <bit>
#include <cmath>
#include <cstring>
#include <vector>

namespace kirtle::detail {

/// A straight piece of contour: through (x, y), of which it reaches `half` pixels to either side.
struct ContourPiece {
  double x = 0, y = 0;
  double nx = 0, ny = 0;  ///< outward unit normal
  double half = 0;
};

/// Distances are kept squared and without a sign until all pieces are entered. In float, from the middle of
/// each piece's own neighbourhood, so that the size of the plate costs no digits.
class NearestPieces {
 public:
  /// A pixel from which a piece was read: on which side of that piece it lies.
  struct Own {
    std::size_t at;  ///< its place in the box, row by row
    float squared;   ///< its distance to its own piece
    bool inside;
  };

  /// rows: of the box, only those that lie within the plate are meant.
  NearestPieces(const PixelBox& box, double reach)
      : box_(box),
        around_(static_cast<int>(std::ceil(reach))),
        lanes_((2 * around_ + kLanes) / kLanes),
        margin_(2 * around_),
        stride_(static_cast<std::size_t>(margin_ + box.width + margin_ + kLanes)),
        squared_(stride_ * static_cast<std::size_t>(box.rows), static_cast<float>(reach * reach)),
        touched_(static_cast<std::size_t>(box.rows)),
        offsets_(static_cast<std::size_t>(lanes_)) {
    // Beyond the neighbourhood a lane is nowhere near.
    constexpr float kFar = 1e6F;
    for (int i = 0; i < lanes_ * kLanes; ++i)
      offsets_[static_cast<std::size_t>(i / kLanes)][i % kLanes] =
          i <= 2 * around_ ? static_cast<float>(i - around_) : kFar;
  }

  /// Into all pixels within reach.
  void enter(const ContourPiece& piece) {
    const int cx = nearest(piece.x), cy = nearest(piece.y);
    if (cx < box_.x0 - around_ || cx >= box_.x0 + box_.width + around_) return;
    const Near near(piece, cx, cy);
    const int from = std::max(cy - around_, box_.y0), to = std::min(cy + around_, box_.y0 + box_.rows - 1);
    for (int y = from; y <= to; ++y) {
      touched_[static_cast<std::size_t>(y - box_.y0)] = 1;
      float* row = squared_.data() + place(cx - around_, y);
      const float down = static_cast<float>(y - cy) - near.y;
      for (int i = 0; i < lanes_; ++i, row += kLanes) {
        Lanes least;
        std::memcpy(&least, row, sizeof least);
        const Lanes squared = near.squared(offsets_[static_cast<std::size_t>(i)] - near.x, down);
        least = squared < least ? squared : least;
        std::memcpy(row, &least, sizeof least);
      }
    }
  }

  /// Into this pixel alone, which need not be in the box.
  void enter_into(const ContourPiece& piece, int x, int y) {
    if (!in_box(x, y)) return;
    const float far = own_squared(piece, x, y);
    float& least = squared_[place(x, y)];
    if (far < least) least = far;
    touched_[static_cast<std::size_t>(y - box_.y0)] = 1;
  }

  /// The piece, entered before, was read from this pixel, which need not be in the box.
  void own(const ContourPiece& piece, int x, int y) {
    if (!in_box(x, y)) return;
    const float squared = own_squared(piece, x, y);
    const bool inside = (x - piece.x) * piece.nx + (y - piece.y) * piece.ny < 0;
    owns_.push_back({static_cast<std::size_t>(y - box_.y0) * static_cast<std::size_t>(box_.width) +
                         static_cast<std::size_t>(x - box_.x0),
                     squared, inside});
  }

  /// Squared distances of a row's pixels, reach * reach where nothing is nearer.
  const float* row(int y) const { return squared_.data() + place(box_.x0, y); }
  bool touched(int y) const { return touched_[static_cast<std::size_t>(y - box_.y0)] != 0; }
  /// Those pixels whose own piece is the nearest.
  template <class Work>
  void for_each_own(const Work& work) const {
    const std::size_t width = static_cast<std::size_t>(box_.width);
    for (const Own& own : owns_) {
      const int y = box_.y0 + static_cast<int>(own.at / width);
      if (row(y)[own.at % width] == own.squared) work(own);
    }
  }

 private:
  static constexpr int kLanes = 4;
  using Lanes = float __attribute__((vector_size(16)));
  using Bits = std::int32_t __attribute__((vector_size(16)));

  static int nearest(double place) { return static_cast<int>(std::lround(place)); }

  /// A piece seen from the pixel it passes through.
  struct Near {
    Near(const ContourPiece& piece, int cx, int cy)
        : x(static_cast<float>(piece.x - cx)),
          y(static_cast<float>(piece.y - cy)),
          nx(static_cast<float>(piece.nx)),
          ny(static_cast<float>(piece.ny)),
          half(static_cast<float>(piece.half)) {}
    Lanes squared(const Lanes& right, float down) const {
      const Lanes across = right * nx + down * ny;
      Lanes along = right * ny - down * nx;
      along = std::bit_cast<Lanes>(std::bit_cast<Bits>(along) & 0x7FFFFFFF) - half;
      along = along > 0 ? along : Lanes{};
      return across * across + along * along;
    }
    float x, y, nx, ny, half;
  };

  float own_squared(const ContourPiece& piece, int x, int y) const {
    const int cx = nearest(piece.x), cy = nearest(piece.y);
    const Near near(piece, cx, cy);
    const Lanes right = (static_cast<float>(x - cx) - near.x) - Lanes{};
    return near.squared(right, static_cast<float>(y - cy) - near.y)[0];
  }
  bool in_box(int x, int y) const {
    return y >= box_.y0 && y < box_.y0 + box_.rows && x >= box_.x0 && x < box_.x0 + box_.width;
  }
  std::size_t place(int x, int y) const {
    return static_cast<std::size_t>(y - box_.y0) * stride_ + static_cast<std::size_t>(margin_ + x - box_.x0);
  }

  const PixelBox box_;
  const int around_, lanes_, margin_;
  const std::size_t stride_;
  std::vector<float> squared_;
  std::vector<std::uint8_t> touched_;
  std::vector<Lanes> offsets_;
  std::vector<Own> owns_;
};

}  // namespace kirtle::detail
