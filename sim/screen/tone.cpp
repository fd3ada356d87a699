#include "screen/tone.h"

#include "screen/dot_spread.h"
#include "screen/noise_print.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {
constexpr int kTableSize = 1021;  // 1020 = 4 * 255: every 8-bit value is a node
}  // namespace

double spread_tone(double film, const HalftoneScreen& halftone, Um spread) {
  if (halftone.shape == DotShape::noise) return noise_print(halftone.dot, spread, Um{0})->printed(film);
  return spread_coverage(halftone.shape, film, spread.v / dot_pitch(halftone).v);
}

double held_share_of_area(double area_over_smallest) {
  return std::clamp((area_over_smallest - 0.7) / 0.6, 0.0, 1.0);
}

double held_share(double film, const HalftoneScreen& halftone, Um smallest_dot) {
  const double limit = std::numbers::pi / 4 * std::pow(smallest_dot.v / dot_pitch(halftone).v, 2);
  if (!(limit > 0)) return 1;
  return held_share_of_area(film / limit);
}

double step_table_printed(const StepTable& table, double asked) {
  double x0 = 0, y0 = 0;
  for (std::size_t i = 0; i <= table.asked.size(); ++i) {
    const bool end = i == table.asked.size();
    const double x1 = end ? 1.0 : table.asked[i];
    const double y1 = end ? 1.0 : table.printed[i];
    if (asked <= x1) return x1 > x0 ? y0 + (y1 - y0) * (asked - x0) / (x1 - x0) : y1;
    x0 = x1;
    y0 = y1;
  }
  return 1;
}

DotTone dot_tone(const ToneSettings& s, double film) {
  if (s.steps) return {std::clamp(step_table_printed(*s.steps, film), 0.0, 1.0), 1, 1};
  if (s.curve == CurveAt::output) return {film, 1, 1};
  if (s.halftone.shape == DotShape::noise)
    return {noise_print(s.halftone.dot, s.spread, s.smallest_dot)->printed(film), 1, 1};
  // Dots that the stencil does not hold are missing; holes under the same size fill in.
  return {spread_tone(film, s.halftone, s.spread), held_share(film, s.halftone, s.smallest_dot),
          held_share(1 - film, s.halftone, s.smallest_dot)};
}

ToneCurve::ToneCurve(const ToneSettings& s) : table_(kTableSize) {
  double highest = 0;
  for (int i = 0; i < kTableSize; ++i) {
    const double printed = dot_tone(s, i / (kTableSize - 1.0)).mean();
    highest = std::max(highest, std::clamp(printed, 0.0, 1.0));
    table_[i] = highest;
  }
  table_.front() = 0;
  table_.back() = 1;
}

double ToneCurve::printed(double film) const {
  if (!(film > 0)) return 0;
  if (film >= 1) return 1;
  const double at = film * (kTableSize - 1);
  const int i = std::min(static_cast<int>(at), kTableSize - 2);
  return table_[i] + (table_[i + 1] - table_[i]) * (at - i);
}

double ToneCurve::film_for(double printed) const {
  const auto it = std::lower_bound(table_.begin(), table_.end(), printed);
  if (it == table_.begin()) return 0;
  if (it == table_.end()) return 1;
  const double y1 = *it, y0 = *(it - 1);
  const double i = static_cast<double>(it - table_.begin()) - 1;
  return (i + (y1 > y0 ? (printed - y0) / (y1 - y0) : 1.0)) / (kTableSize - 1);
}

}  // namespace kirtle
