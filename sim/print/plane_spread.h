#pragma once
// Planes of numbers spread sideways by light, on the raster of one piece of the print.
#include "print/few_directions.h"
#include "print/plane_fourier.h"

#include <span>
#include <vector>

namespace kirtle {

/// Spreads with the transform P of scatter.h. The planes repeat without end.
class PlaneSpread {
 public:
  /// Sides from fourier_side().
  PlaneSpread(int width, int height, double pitch_um);

  int width() const { return fourier_.width(); }
  int height() const { return fourier_.height(); }
  double pitch_um() const { return pitch_um_; }

  /// The radii of changes().
  void set_radii(std::span<const double> radii_um);
  /// Of every row of `weights` a plane: the sum over planes p and radii t of weights[p radii + t] (P_t - 1) *
  /// p. out: at least as many planes, the others stay as they are.
  void changes(std::span<const Plane> planes, const Rows& weights, std::vector<Plane>& out);
  /// One plane by one radius, in place.
  void spread(Plane& plane, double mean_um);

 private:
  PlaneFourier fourier_;
  double pitch_um_;
  std::vector<float>
      squared_;  ///< frequencies (2 pi f)^2: of every group of rows and column to the middle eight
  std::vector<float> radii_um_, changes_;  ///< changes: P - 1, of each of those of every radius eight
  std::vector<Spectrum8> spectra_;
  Spectrum8 sum_;
};

}  // namespace kirtle
