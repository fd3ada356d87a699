#pragma once
// How far the pixels of a box are from the nearest piece of contour. Internal to contour.cpp.
#include "plate/contour.h"

#include <algorithm>
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

  /// Forgets all pieces and means another box. Rows outside the plate are never near anything: of the box
  /// only rows from y_begin to y_end - 1 are.
  void start(const PixelBox& box, double reach, int y_begin, int y_end) {
    box_ = box;
    y_begin_ = std::max(box.y0, y_begin);
    y_end_ = std::min(box.y0 + box.rows, y_end);
    reach2_ = static_cast<float>(reach * reach);
    around_ = static_cast<int>(std::ceil(reach));
    lanes_ = (2 * around_ + kLanes) / kLanes;
    margin_ = 2 * around_;
    stride_ = static_cast<std::size_t>(margin_ + box.width + margin_ + kLanes);
    blocks_ = near_blocks(box.x0, box.width);
    const std::size_t rows = static_cast<std::size_t>(box.rows);
    squared_.resize(stride_ * rows);
    touched_.assign(rows, 0);
    near_.assign(blocks_ * rows, 0);
    owns_.clear();
    offsets_.resize(static_cast<std::size_t>(lanes_));
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
    const int from = std::max(cy - around_, y_begin_), to = std::min(cy + around_, y_end_ - 1);
    for (int y = from; y <= to; ++y) {
      touch_row(y, cx - around_, cx + around_);
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
    touch_row(y, x, x);
    float& least = squared_[place(x, y)];
    least = std::min(least, own_squared(piece, x, y));
  }

  /// The piece, entered before, was read from this pixel, which need not be in the box.
  void own(const ContourPiece& piece, int x, int y) {
    if (!in_box(x, y)) return;
    touch_row(y, x, x);
    const float squared = own_squared(piece, x, y);
    const bool inside = (x - piece.x) * piece.nx + (y - piece.y) * piece.ny < 0;
    owns_.push_back({static_cast<std::size_t>(y - box_.y0) * static_cast<std::size_t>(box_.width) +
                         static_cast<std::size_t>(x - box_.x0),
                     squared, inside});
  }

  /// Columns x_from .. x_to of a row, or what of them lies in the box, are near something.
  void touch(int x_from, int x_to, int y) {
    if (y >= y_begin_ && y < y_end_) touch_row(y, x_from, x_to);
  }

  /// Squared distances of a row's pixels, not less than reach * reach where nothing is near; only where
  /// near() is set.
  const float* row(int y) const { return squared_.data() + place(box_.x0, y); }
  /// One a block of a row, as DistanceRows::near.
  std::vector<std::uint8_t>& near() { return near_; }
  /// work(own, whether its own piece is the nearest).
  template <class Work>
  void for_each_own(const Work& work) const {
    const std::size_t width = static_cast<std::size_t>(box_.width);
    for (const Own& own : owns_) {
      const int y = box_.y0 + static_cast<int>(own.at / width);
      work(own, row(y)[own.at % width] == own.squared);
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

  void touch_row(int y, int x_from, int x_to) {
    const std::size_t r = static_cast<std::size_t>(y - box_.y0);
    if (touched_[r] == 0) {
      touched_[r] = 1;
      std::fill_n(squared_.begin() + static_cast<std::ptrdiff_t>(r * stride_), stride_, reach2_);
    }
    const int from = std::max(x_from - box_.x0, 0), to = std::min(x_to - box_.x0, box_.width - 1);
    if (from > to) return;
    for (std::size_t block = near_block_of(box_.x0, from); block <= near_block_of(box_.x0, to); ++block)
      near_[r * blocks_ + block] = 1;
  }
  float own_squared(const ContourPiece& piece, int x, int y) const {
    const int cx = nearest(piece.x), cy = nearest(piece.y);
    const Near near(piece, cx, cy);
    const Lanes right = (static_cast<float>(x - cx) - near.x) - Lanes{};
    return near.squared(right, static_cast<float>(y - cy) - near.y)[0];
  }
  bool in_box(int x, int y) const {
    return y >= y_begin_ && y < y_end_ && x >= box_.x0 && x < box_.x0 + box_.width;
  }
  std::size_t place(int x, int y) const {
    return static_cast<std::size_t>(y - box_.y0) * stride_ + static_cast<std::size_t>(margin_ + x - box_.x0);
  }

  PixelBox box_;
  int y_begin_ = 0, y_end_ = 0, around_ = 0, lanes_ = 0, margin_ = 0;
  float reach2_ = 0;
  std::size_t stride_ = 0, blocks_ = 0;
  std::vector<float> squared_;  ///< rows not touched hold anything
  std::vector<std::uint8_t> touched_, near_;
  std::vector<Lanes> offsets_;
  std::vector<Own> owns_;
};

}  // namespace kirtle::detail
