#pragma once
// Thresholds of many points at once, for rows of device pixels.
#include "screen/screen.h"

#include <span>

namespace kirtle {

/// Thresholds that dot_thresholds() gives only to within kThresholdError: those of dots that neighbours have
/// cut off, whose closed form is slow. from > to: none.
struct ThresholdRange {
  double from = 1, to = 0;
  bool holds(double threshold) const { return threshold >= from && threshold <= to; }
};
ThresholdRange rough_thresholds(DotShape shape);

constexpr double kThresholdError = 1e-4;

/// dot_threshold() of every (u, v): the same to the last bit outside rough_thresholds(). Not for noise. All
/// spans of one size; |u| and |v| under 1e9.
void dot_thresholds(DotShape shape, std::span<const double> u, std::span<const double> v,
                    std::span<double> thresholds);

}  // namespace kirtle
