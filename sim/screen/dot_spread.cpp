#include "screen/dot_spread.h"

#include "base/check.h"
#include "screen/dot.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace kirtle {

namespace {

using std::numbers::pi;

constexpr int kPoints = 96;
constexpr double kEdge = 0.5;  // of the period, from the dot's centre

struct Point {
  double u = 0, v = 0;
};

/// The quarter of a convex outline with u, v >= 0, from the v axis to the u axis. Mirrored, it is the dot.
using Outline = std::vector<Point>;

/// The part of a polygon in which nu u + nv v <= limit (Sutherland, Hodgman 1974, doi:10.1145/360767.360802).
Outline cut(const Outline& polygon, double nu, double nv, double limit) {
  Outline out;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point a = polygon[i], b = polygon[(i + 1) % polygon.size()];
    const double da = nu * a.u + nv * a.v - limit, db = nu * b.u + nv * b.v - limit;
    if (da <= 0) out.push_back(a);
    if ((da < 0 && db > 0) || (da > 0 && db < 0)) {
      const double t = da / (da - db);
      out.push_back({a.u + t * (b.u - a.u), a.v + t * (b.v - a.v)});
    }
  }
  return out;
}

/// Share of the period that a polygon lying in one quarter stands for, cut off at the period's edge.
double covered_share(const Outline& quarter) {
  const Outline p = cut(cut(quarter, 1, 0, kEdge), 0, 1, kEdge);
  double twice = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point a = p[i], b = p[(i + 1) % p.size()];
    twice += a.u * b.v - b.u * a.v;
  }
  return 2 * std::abs(twice);  // half of it, in each of four quarters
}

Outline with_centre(Outline outline) {
  outline.push_back({0, 0});
  return outline;
}

/// A dot of the given size: 0 a point, 1 full (inverting dots: half).
Outline dot_outline(DotShape shape, double size) {
  if (shape == DotShape::square) return {{0, size * kEdge}, {size * kEdge, size * kEdge}, {size * kEdge, 0}};
  Outline out;
  for (int i = 0; i <= kPoints; ++i) {
    const double sin = std::sin(pi / 2 * i / kPoints), cos = std::cos(pi / 2 * i / kPoints);
    if (shape == DotShape::inverting) {
      // A disc cut off by the square on its corner; size 1 reaches the corners and fills the square.
      const double radius = std::min(size * kEdge, kEdge / (sin + cos));
      out.push_back({radius * sin, radius * cos});
    } else {
      const double stretch = shape == DotShape::elliptical ? std::sqrt(0.8) : 1.0;
      const double radius =
          size * kEdge * std::hypot(stretch, 1 / stretch);  // reaches the period's corner at 1
      out.push_back({radius / stretch * sin, radius * stretch * cos});
    }
  }
  return out;
}

/// The dot that covers that share, by the Illinois form of false position; root of the share, nearly
/// straight.
Outline dot_of_coverage(DotShape shape, double coverage) {
  const double want = std::sqrt(coverage);
  const auto miss = [&](double size) {
    return std::sqrt(covered_share(with_centre(dot_outline(shape, size)))) - want;
  };
  double a = 0, b = 1, fa = -want, fb = miss(1);
  double size = 1;
  for (int i = 0; i < 100 && std::abs(fb) > 1e-12 && b - a != 0; ++i) {
    size = b - fb * (b - a) / (fb - fa);
    const double f = miss(size);
    if (f * fb < 0) {
      a = b;
      fa = fb;
    } else {
      fa *= 0.5;
    }
    b = size;
    fb = f;
  }
  return dot_outline(shape, b);
}

/// Every edge moved outward by r, round where the outline turns.
double grown_share(const Outline& outline, double r) {
  constexpr double kTurn = 0.02;  // radian between points of an arc
  Outline out;
  double angle = pi / 2;  // of the outward normal; the mirrored outline comes in with it
  const auto turn_at = [&](Point p, double to) {
    const int steps = std::max(1, static_cast<int>(std::ceil((angle - to) / kTurn)));
    for (int i = 0; i <= steps; ++i) {
      const double a = angle + (to - angle) * i / steps;
      out.push_back({p.u + r * std::cos(a), p.v + r * std::sin(a)});
    }
    angle = to;
  };
  for (std::size_t i = 0; i + 1 < outline.size(); ++i) {
    const double du = outline[i + 1].u - outline[i].u, dv = outline[i + 1].v - outline[i].v;
    turn_at(outline[i], std::atan2(du, -dv));
  }
  turn_at(outline.back(), 0);
  return covered_share(with_centre(out));
}

/// Every edge moved inward by r: what all the moved edges leave.
double shrunk_share(const Outline& outline, double r) {
  Outline left{{0, 0}, {0, 1}, {1, 1}, {1, 0}};
  for (std::size_t i = 0; i + 1 < outline.size() && !left.empty(); ++i) {
    const double du = outline[i + 1].u - outline[i].u, dv = outline[i + 1].v - outline[i].v;
    const double length = std::hypot(du, dv);
    if (!(length > 0)) continue;
    const double nu = -dv / length, nv = du / length;
    left = cut(left, nu, nv, nu * outline[i].u + nv * outline[i].v - r);
  }
  return covered_share(left);
}

double moved_share(DotShape shape, double coverage, double spread) {
  const Outline dot = dot_of_coverage(shape, coverage);
  return std::clamp(spread > 0 ? grown_share(dot, spread) : shrunk_share(dot, -spread), 0.0, 1.0);
}

}  // namespace

double spread_coverage(DotShape shape, double coverage, double spread) {
  KIRTLE_CHECK((shape != DotShape::noise), ==, true);
  if (!(coverage > 0)) return 0;
  if (coverage >= 1) return 1;
  if (spread == 0) return coverage;
  switch (shape) {
    case DotShape::round:
      return round_dot_area(std::max(0.0, round_dot_radius(coverage) + spread));
    case DotShape::line:
      return std::clamp(coverage + 2 * spread, 0.0, 1.0);
    case DotShape::inverting:
      if (coverage > 0.5) return 1 - moved_share(shape, 1 - coverage, -spread);
      return moved_share(shape, coverage, spread);
    case DotShape::elliptical:
    case DotShape::square:
      return moved_share(shape, coverage, spread);
    case DotShape::noise:
      break;
  }
  return coverage;
}

}  // namespace kirtle
