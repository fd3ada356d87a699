#include "screen/threshold.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

using std::abs;
using std::asin;
using std::max;
using std::min;
using std::sqrt;

// As std::floor, whose call costs more than the rest of a threshold where the processor's own is not to be
// used.
double floor(double x) {
  const auto whole = static_cast<double>(static_cast<std::int64_t>(x));
  return whole > x ? whole - 1 : whole;
}

#define REAL double
#define UINT std::uint32_t
#define FUNC
#include "screen/threshold.inl"
#undef FUNC
#undef UINT
#undef REAL

constexpr int shape_number(DotShape shape) {
  switch (shape) {
    case DotShape::round:
      return 0;
    case DotShape::elliptical:
      return 1;
    case DotShape::inverting:
      return 2;
    case DotShape::line:
      return 3;
    case DotShape::square:
      return 4;
    case DotShape::noise:
      break;
  }
  return -1;
}

constexpr std::uint32_t kHoleSeed = 0x68E31DA4u;  // holes take other chances than dots
constexpr int kNodes = 1021;                      // 1020 = 4 * 255: every 8-bit value is a node

/// Linear between the nodes about a film tone of 0 up to 1.
struct Between {
  explicit Between(double film)
      : low(std::min(static_cast<int>(film * (kNodes - 1)), kNodes - 2)), share(film * (kNodes - 1) - low) {}
  double operator()(float a, float b) const {
    return static_cast<double>(a) + share * (static_cast<double>(b) - static_cast<double>(a));
  }
  int low;
  double share;
};

}  // namespace

double dot_threshold(DotShape shape, double u, double v) {
  KIRTLE_CHECK(shape_number(shape), >=, 0);
  return kirtle_threshold(shape_number(shape), u, v);
}

double ellipse_area(double a, double b) { return kirtle_ellipse_area(a, b); }

double dot_chance(int dot_u, int dot_v, std::uint32_t seed) { return kirtle_dot_chance(dot_u, dot_v, seed); }

ScreenAxes::ScreenAxes(const HalftoneScreen& halftone) {
  const double per_mm = halftone.lpi / kMmPerInch, angle = halftone.angle_deg * std::numbers::pi / 180;
  across_ = per_mm * std::cos(angle);
  down_ = per_mm * std::sin(angle);
}

PrintedDots::PrintedDots(const ToneSettings& settings, std::uint32_t seed)
    : shape_(settings.halftone.shape), axes_(settings.halftone), seed_(seed), nodes_(kNodes) {
  for (int i = 0; i < kNodes; ++i) {
    const DotTone t = dot_tone(settings, i / (kNodes - 1.0));
    nodes_[i] = {static_cast<float>(t.tone), static_cast<float>(t.dots_held),
                 static_cast<float>(t.holes_held)};
  }
  if (shape_ != DotShape::noise) return;
  noise_by_tone_ = settings.steps || settings.curve == CurveAt::output;
  noise_ = noise_by_tone_ ? noise_print(settings.halftone.dot, Um{0}, Um{0})
                          : noise_print(settings.halftone.dot, settings.spread, settings.smallest_dot);
  noise_x_mm_ = kirtle_dot_chance(1, 0, seed) * noise_->tile().v;
  noise_y_mm_ = kirtle_dot_chance(0, 1, seed) * noise_->tile().v;
}

double PrintedDots::tone(double film) const {
  if (!(film > 0)) return 0;
  if (film >= 1) return 1;
  const Between at(film);
  return at(nodes_[at.low].tone, nodes_[at.low + 1].tone);
}

bool PrintedDots::inked(double x_mm, double y_mm, double film) const {
  if (!(film > 0)) return false;
  if (film >= 1) return true;
  if (noise_) {
    return noise_->inked(x_mm - noise_x_mm_, y_mm - noise_y_mm_, noise_by_tone_ ? tone(film) : film);
  }
  const double u = axes_.u(x_mm, y_mm), v = axes_.v(x_mm, y_mm);
  const bool ink = kirtle_threshold(shape_number(shape_), u, v) < tone(film);
  const Held share = held(film);
  return share.all() ? ink : with_losses(ink, share, chances(u, v));
}

PrintedDots::Held PrintedDots::held(double film) const {
  if (!(film > 0) || film >= 1) return {};
  const Between at(film);
  const Node &lo = nodes_[at.low], &hi = nodes_[at.low + 1];
  // Dots grow and holes shrink with the tone: where the nearer node holds all, all are held.
  return {lo.dots_held < 1 ? at(lo.dots_held, hi.dots_held) : 1,
          hi.holes_held < 1 ? at(lo.holes_held, hi.holes_held) : 1};
}

PrintedDots::Held PrintedDots::chances(double u, double v) const {
  return {kirtle_dot_chance(static_cast<int>(floor(u + 0.5)), static_cast<int>(floor(v + 0.5)), seed_),
          kirtle_dot_chance(static_cast<int>(floor(u)), static_cast<int>(floor(v)), seed_ ^ kHoleSeed)};
}

}  // namespace kirtle
