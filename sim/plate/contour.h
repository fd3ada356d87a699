#pragma once
// The contours of a plate: where solid meets nothing, known to a fraction of a pixel from the anti-aliased
// values.
//
// A fractional value between none and solid, at most three pixels from each along the gradient, is an edge;
// its place is the one that keeps the area of that run of pixels. Any other fractional value is a tint.
// Distances are kept in a band round the contours only. Source: the idea of anti-aliased distance fields,
// Gustavson, Strand 2011, doi:10.1016/j.patrec.2010.08.010; the
//   area-keeping run is our own.
#include "plate/plate_image.h"

#include <memory>
#include <vector>

namespace kirtle {

/// Pixels x0 .. x0 + width - 1 of rows y0 .. y0 + rows - 1.
struct PixelBox {
  int x0 = 0, y0 = 0, width = 0, rows = 0;
};

/// Pixels of a row about which DistanceRows::near says the same. Blocks begin at multiples of it, counted
/// from the plate's left border, so that those of a box's first and last columns may be cut off.
constexpr int kNearBlock = 16;
/// Blocks that hold some of the columns x0 .. x0 + width - 1. x0 >= 0, width >= 0.
constexpr std::size_t near_blocks(int x0, int width) {
  return static_cast<std::size_t>((x0 + width + kNearBlock - 1) / kNearBlock - x0 / kNearBlock);
}
/// Which of them holds a column, counted from the left.
constexpr std::size_t near_block_of(int x0, int column) {
  return static_cast<std::size_t>((x0 % kNearBlock + column) / kNearBlock);
}
/// Columns of a block, counted from x0: from `begin` on, up to `end`.
struct NearColumns {
  int begin, end;
};
constexpr NearColumns near_columns(int x0, int width, std::size_t block) {
  const int begin = static_cast<int>(block) * kNearBlock - x0 % kNearBlock, end = begin + kNearBlock;
  return {begin < 0 ? 0 : begin, end > width ? width : end};
}

/// Rows of a plate as distances to its contours, moved outward by the spread.
struct DistanceRows {
  int width = 0, y0 = 0, rows = 0;
  double reach = 0;  ///< pixels; at and beyond it, +reach outside and in tints, -reach inside
  std::vector<float>
      distance;  ///< pixels; negative inside. 0.5 - distance, within 0..1, is the pixel's coverage
  std::vector<std::uint8_t> tint;  ///< 1 where the value is a tint
  int x0 = 0;                      ///< of the first column, where not all of the plate is meant
  std::vector<std::uint8_t>
      near;  ///< near_blocks(x0, width) a row: 0 where a block has no distance within reach
};

/// How long the pieces are that a contour is put together from. Long ones overlap, so that nothing is lost
/// where they meet, and stand out of a curve by up to 0.06 pixels. Even ones end half-way to the next, so
/// that what grows and shrinks keeps its area: within 0.05 pixels on discs and rectangles, corners included.
enum class ContourPieces { overlapping, even };

/// Distances for rows y0 .. y0 + rows - 1, which may lie outside the plate (there: no ink).
///   spread  outward movement of every contour in pixels; negative: inward. At most reach - 2 in size
///   reach   pixels, 2..64
DistanceRows contour_distance(const PlateImage& plate, int y0, int rows, double spread, double reach,
                              ContourPieces pieces = ContourPieces::overlapping);
/// The same for a box whose columns lie within the plate: the same values.
DistanceRows contour_distance(const PlateImage& plate, const PixelBox& box, double spread, double reach,
                              ContourPieces pieces = ContourPieces::overlapping);

/// Memory of contour_distance(), to be used again. One a thread.
class ContourScratch {
 public:
  ContourScratch();
  ~ContourScratch();
  ContourScratch(ContourScratch&&) noexcept;
  struct Buffers;
  Buffers& buffers() { return *buffers_; }

 private:
  std::unique_ptr<Buffers> buffers_;
};

/// near: where DistanceRows::near is 0, distances and tints may be anything.
enum class DistanceFill { everywhere, near };
/// The same into rows that may hold others.
void contour_distance(const PlateImage& plate, const PixelBox& box, double spread, double reach,
                      ContourPieces pieces, ContourScratch& scratch, DistanceRows& out,
                      DistanceFill fill = DistanceFill::everywhere);

/// Pixels around a box that have a say in its distances.
int contour_halo(double spread, double reach);

}  // namespace kirtle
