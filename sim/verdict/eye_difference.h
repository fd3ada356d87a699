#pragma once
// What the eye has left of a small change to one picture, again and again: spatial CIELAB (spatial_lab.h) of
// a picture that is known against the same with something moved. Only where it moved is worked out.
//
// The blur is linear, so the change alone is blurred: narrow Gaussians where tiles changed, wide ones (3.5
// pixels and more) on a raster of a quarter of the resolution. A pixel's CIEDE2000 is first that of its small
// differences, a quadratic form worked out once a pixel; where that comes near the threshold, it is the
// formula's own (delta_e_row.h).
// Limits: against SpatialLab the values agree within dE00 0.1 and 2 % (tests/verdict).
#include "verdict/delta_e_row.h"
#include "verdict/spatial_lab.h"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// Opponent channels of a picture, row by row.
using OpponentPlanes = std::array<std::vector<float>, 3>;

/// Side of a tile of the picture, pixels.
constexpr int kEyeTile = 8;

struct EyeFigures {
  double largest = 0;        ///< dE00, >= 0
  int x = 0, y = 0;          ///< the first pixel that has it, rows from the top
  double p999 = 0;           ///< 99.9 % of all pixels are at or under it (to 0.01)
  double area_over_mm2 = 0;  ///< where dE00 is over the threshold
};

/// CIEDE2000 of a difference that is small: dE00^2 = f0 dL^2 + f1 da^2 + f2 db^2 + f3 dL da + f4 dL db + f5
/// da db, exact to first order in the distance. Source: ISO/CIE 11664-6, its terms taken at one colour.
std::array<double, 6> small_difference_form(const Lab& at);

class EyeDifference {
 public:
  /// picture: the known one, width * height each; threshold: dE00 > 0 over which area counts. Throws
  /// InternalError.
  EyeDifference(const SpatialLab& eye, const OpponentPlanes& picture, int width, int height, double threshold,
                unsigned threads);

  int tiles_across() const { return tiles_across_; }
  int tiles_down() const { return tiles_down_; }

  /// change: the other picture less the known one; moved: one a tile, 0 where the change is zero throughout.
  /// The values do not depend on `threads`. Not thread-safe: its planes are used again.
  EyeFigures figures(const OpponentPlanes& change, std::span<const std::uint8_t> moved, unsigned threads);

 private:
  struct Lobe {
    std::vector<float> kernel;  ///< half of it, centre first, unit sum
    float weight = 0;
    std::vector<float> rows;  ///< blurred along the rows; zero where nothing moved
  };
  struct Worker {
    std::vector<std::uint32_t> histogram;
    std::uint64_t over = 0;
    float largest = 0;
    int x = 0, y = 0;
    std::vector<float> padded;
    std::array<std::vector<float>, 3> tile;
    void count(float de, int at_x, int at_y, double threshold);
  };
  void coarse_blur(const OpponentPlanes& change, unsigned threads);
  void rows_blurred(const OpponentPlanes& change, std::size_t tile_row, Worker& worker);
  void look_at(std::size_t tile_row, Worker& worker);
  bool tile_change(int tx, int ty, Worker& worker) const;
  void metric_at(std::size_t pixel);

  int width_ = 0, height_ = 0, tiles_across_ = 0, tiles_down_ = 0, reach_tiles_ = 1;
  double ppi_ = 0, threshold_ = 0;
  XYZ white_;
  DeltaERow exactly_;
  OpponentPlanes seen_;                       ///< the known picture, blurred
  std::array<std::vector<float>, 6> metric_;  ///< of each pixel: dE00^2 of small changes of the channels
  std::array<std::vector<Lobe>, 3> lobes_;
  std::array<std::vector<std::pair<double, double>>, 3> wide_;  ///< s.d. on the coarse raster, weight
  int coarse_across_ = 0, coarse_down_ = 0;
  OpponentPlanes coarse_, coarse_seen_;
  std::vector<std::uint8_t> near_;  ///< tiles along whose rows something moved within the kernels' reach
  std::vector<std::uint8_t> rows_used_;
};

}  // namespace kirtle
