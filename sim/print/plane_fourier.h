#pragma once
// Fourier transforms of real planes in float, eight lines at a time. Faster than a transform of one line
// after another since no number within a vector depends on its neighbour. The values do not depend on the
// processor.
#include <cstddef>
#include <vector>

namespace kirtle {

using Plane = std::vector<float>;  ///< row by row

/// The least side of a plane that is at least `length` and fast: a multiple of 16 made of 2, 3 and 5.
int fourier_side(int length);

/// Eight complex numbers side by side.
struct alignas(32) FourierPair {
  float re[8], im[8];
};

/// The half spectrum of a real plane: rows ky 0..height / 2, in groups of eight side by side.
/// [(ky / 8) width + kx], its lane ky % 8; lanes past height / 2 are zero.
using Spectrum8 = std::vector<FourierPair>;

class PlaneFourier {
 public:
  /// Sides from fourier_side().
  PlaneFourier(int width, int height);

  int width() const { return width_; }
  int height() const { return height_; }
  int groups() const { return (height_ / 2 + 8) / 8; }

  void forward(const Plane& plane, Spectrum8& out);
  /// Divided by the number of pixels, so that it undoes forward(). Changes the spectrum.
  void inverse(Spectrum8& spectrum, Plane& out);

 private:
  struct Line {
    int length = 0;
    std::vector<int> radices;
    std::vector<float> turns;  ///< of every stage its twiddles, re and im
  };
  static Line line(int length);

  int width_, height_;
  Line across_, down_;
  std::vector<FourierPair> a_, b_;  ///< one line of eight
  std::vector<float> re_, im_;      ///< half spectra of columns, row by row
};

}  // namespace kirtle
