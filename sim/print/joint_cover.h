#pragma once
// Tints of one line count, angle and shape on several plates: how much of each overprint the register makes.
#include "screen/screen.h"

#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// Where one plate's dots lie against the common screen, in periods along its two axes.
struct DotShift {
  double u = 0, v = 0;
  bool operator==(const DotShift&) const = default;
};

/// Joint coverage of any number of plates whose dots differ by nothing but a shift.
///
/// A raster of one period holds, for each plate, the order in which its shifted pattern inks the samples. The
/// last sample of a tone is inked in part, so that each plate covers exactly its tone and the weights change
/// without steps; where plates ink parts of one sample, these lie on each other.
/// Without shifts the weights are those of nested dots; their mean over many shifts is Demichel's.
/// Source: geometry, on a raster of 64 x 64: weights within 0.004 (0.016 where straight edges run along its
/// rows). Limits: one shift everywhere. A turned or stretched plate drifts across the print; this is its
/// middle.
class JointCover {
 public:
  static constexpr int kSide = 64;
  /// shifts: one a plate, at most 12.
  JointCover(DotShape shape, std::span<const DotShift> shifts);
  /// Weights of the 2^n overprints of the n plates named by `plates` (indices into shifts), bit i of the
  /// index = plates[i] present; coverage 0..1, one each, in the same order. out.size() must be 2^n. They sum
  /// to 1. Thread-safe.
  void weights(std::span<const int> plates, std::span<const double> coverage, std::span<double> out) const;

 private:
  static constexpr int kSamples = kSide * kSide;
  static constexpr int kWords = kSamples / 64;
  struct Plate {
    std::vector<std::uint16_t> order;  ///< samples from first inked to last
    std::vector<std::uint16_t> rank;   ///< place of each sample in that order
    std::vector<std::uint64_t> inked;  ///< kWords a level: the samples inked whole at level 0 .. kSamples
  };
  std::vector<Plate> plates_;
};

}  // namespace kirtle
