#pragma once
// How much of a print each combination of coverages takes, so that a colour is worked out once for each and
// not pixel by pixel, on as many shirts as wanted.
//
// A pixel that contours cut is shared out to its sides, as the renderer does: by the share covered where one
// plate's contour cuts it, on 8 x 8 points where several do. So the sums over combinations are the sums over
// the renderer's pixels; what remains of a pixel's own mean is not needed for them.
#include "print/cover.h"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

constexpr std::size_t kMostTuplePlates =
    24;  ///< a scene's twelve, and as many that a variant prints in another way

struct TupleSettings {
  /// Combinations kept apart. Where there are more, neighbouring coverages go together, by steps of 2, 4, 8
  /// .. of 65536, until there are not; each then stands at its mean coverages.
  std::size_t most = std::size_t{1} << 16;
  int picture_height = 0;  ///< pixels, to AreaTuples::kMostPictureSide; 0 = no picture
  unsigned threads = 0;    ///< 0 = default_threads(); nothing depends on it
};

/// Combinations of coverages, most of them many pixels each. Memory: a few megabytes.
struct AreaTuples {
  std::size_t plates = 0;
  std::vector<double> cover;           ///< plates values a combination, 0..1
  std::vector<double> share;           ///< of the print's area; sums to 1
  int step = 1;                        ///< coverages closer than this, of 65536, went together; 1 = none did
  int width = 0, height = 0;           ///< of the picture
  std::vector<std::uint32_t> picture;  ///< kPictureSamples combinations a pixel, row by row

  /// A picture that would be wider is made lower, so that a long thin print has one of the same shape.
  static constexpr int kMostPictureSide = 1024;
  static constexpr int kPictureSide = 6;  ///< places looked at a pixel side
  static constexpr int kPictureSamples = kPictureSide * kPictureSide;

  std::size_t size() const { return share.size(); }
  std::span<const double> at(std::size_t i) const { return {cover.data() + i * plates, plates}; }
};

/// covers: 1 to kMostTuplePlates, of one size. The picture shows the print at 36 evenly spaced places a
/// pixel.
AreaTuples count_tuples(std::span<const PlateCover* const> covers, const TupleSettings& settings);

}  // namespace kirtle
