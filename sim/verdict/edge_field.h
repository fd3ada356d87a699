#pragma once
// A band of rows of one plate as a signed field whose zero is the printed contour: negative where the plate
// covers.
#include "verdict/edge_pairs.h"

#include <vector>

namespace kirtle {

/// A piece of contour: middle, outward normal and length, in pixels (pixel centres at whole numbers).
struct ContourPiece {
  double x = 0, y = 0, nx = 0, ny = 0, length = 0;
};

class EdgeField {
 public:
  /// Rows y0 .. y0 + rows - 1, which may lie outside the plate.
  EdgeField(const EdgePlate& plate, double ppi, double covering_tone, int y0, int rows);

  /// Linear between pixels; beyond the plate its border goes on. Pixels, negative inside.
  double at(double x, double y) const;
  /// Direction in which the field rises, length 1; false where it does not.
  bool slope(double x, double y, double& nx, double& ny) const;

  /// Whether the field there is that of a solid's contour, not a tint's end.
  bool solid_edge_at(double x, double y) const;

  /// The contour of solids within rows from .. to - 1, thinned to about one piece for `spacing` pixels, a
  /// whole number. Tints' ends are left out.
  std::vector<ContourPiece> contour(int from, int to, int spacing) const;

 private:
  std::size_t index(int x, int y) const;  ///< of the nearest pixel of the plate within the band
  float value(int x, int y) const { return value_[index(x, y)]; }
  bool tint(int x, int y) const { return tint_[index(x, y)] != 0; }
  bool piece_of_cell(int x, int y, ContourPiece& piece) const;

  int width_ = 0, height_ = 0, y0_ = 0, rows_ = 0;
  float far_ = 0;
  std::vector<float> value_;
  std::vector<std::uint8_t> tint_;
};

}  // namespace kirtle
