#pragma once
// Prints to measure speed on: invented plates in memory, on the materials of a demo scene.
#include "job/scene.h"
#include "plate/plate_image.h"
#include "predict/prediction.h"

#include <cstdint>
#include <vector>

namespace kirtle::bench {

/// flat: shapes with anti-aliased edges and bands of gradient, as separations are. noise8, noise16: every
/// sample of every plate at random, the worst there is.
enum class Content { flat, noise8, noise16 };

struct BenchPrint {
  /// plates 1..12. The first six print as in scenes/reef; beyond, its inks come again at other angles.
  BenchPrint(Content content, int plates, int width, int height);
  BenchPrint(const BenchPrint&) = delete;
  BenchPrint& operator=(const BenchPrint&) = delete;

  Scene scene;
  Prediction prediction;

  int plates() const { return static_cast<int>(prediction.covers().size()); }
  int width() const { return prediction.renderer().width(); }
  int height() const { return prediction.renderer().height(); }
  std::size_t pixels() const {
    return static_cast<std::size_t>(width()) * static_cast<std::size_t>(height());
  }
  std::size_t plate_bytes() const;
  const PlateImage& image(int plate) const { return prediction.covers()[plate].image(); }
};

/// What a print is like: shares of its pixels, 0..1.
struct Likeness {
  double fractional = 0;    ///< some plate is neither none nor solid
  double as_neighbour = 0;  ///< every plate equals its left neighbour
};
Likeness likeness_of(const BenchPrint& print);

}  // namespace kirtle::bench
