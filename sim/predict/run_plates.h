#pragma once
// The plates of a run as printed in register, in a byte or two a pixel, so that each shirt only has to move
// them.
#include "predict/prediction.h"

#include <cstdint>
#include <limits>
#include <vector>

namespace kirtle {

/// One plate, with `margin` pixels without ink on every side.
struct RunPlate {
  std::vector<std::uint8_t> cover;  ///< 255 = full
  /// Distance to the printed contour, kEdgeStep a pixel, negative inside, up to +-kEdgeFar; kEdgeTint where
  /// the cover is a tint's. Empty for a soaked field.
  std::vector<std::int8_t> edge;
};

constexpr int kEdgeStep = 60, kEdgeFar = 120;
constexpr std::int8_t kEdgeTint = -128;

struct RunPlates {
  int width = 0, height = 0, margin = 0, stride = 0;
  std::vector<RunPlate> plates;

  /// margin: pixels, >= 0. Plates where they are meant to be: a register error that the scene knows of is
  /// left out. The bytes do not depend on `threads`.
  RunPlates(const Prediction& prediction, int margin, unsigned threads);

  std::size_t at(int x, int y) const {
    return static_cast<std::size_t>(y + margin) * static_cast<std::size_t>(stride) +
           static_cast<std::size_t>(x + margin);
  }
};

/// Where (x, y) lies in rows of `width` without margins.
inline std::size_t row_major(int x, int y, int width) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
}

}  // namespace kirtle
