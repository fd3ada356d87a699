#pragma once
// Points, paths, splines, distances, noise and dice of the demo art. Lengths in mm, angles in radians unless
// named _deg.
#include <cmath>
#include <cstdint>
#include <numbers>
#include <span>
#include <vector>

namespace kirtle::art {

struct Vec {
  double x = 0, y = 0;
};
constexpr Vec operator+(Vec a, Vec b) { return {a.x + b.x, a.y + b.y}; }
constexpr Vec operator-(Vec a, Vec b) { return {a.x - b.x, a.y - b.y}; }
constexpr Vec operator*(Vec a, double s) { return {a.x * s, a.y * s}; }
constexpr Vec operator*(double s, Vec a) { return a * s; }
constexpr double dot(Vec a, Vec b) { return a.x * b.x + a.y * b.y; }
constexpr double cross(Vec a, Vec b) { return a.x * b.y - a.y * b.x; }
inline double length(Vec a) { return std::hypot(a.x, a.y); }
inline Vec unit(Vec a) {
  const double l = length(a);
  return l > 0 ? a * (1 / l) : Vec{1, 0};
}
/// A quarter turn, clockwise as seen on the print (y runs down).
constexpr Vec turned(Vec a) { return {-a.y, a.x}; }
inline Vec rotated(Vec a, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {a.x * c - a.y * s, a.x * s + a.y * c};
}
/// Length r at an angle from +x, clockwise as seen on the print.
inline Vec polar(double r, double angle) { return {r * std::cos(angle), r * std::sin(angle)}; }
constexpr double kPi = std::numbers::pi;
constexpr double rad(double deg) { return deg * kPi / 180.0; }

constexpr double mix(double a, double b, double t) { return a + (b - a) * t; }
constexpr Vec mix(Vec a, Vec b, double t) { return a + (b - a) * t; }
constexpr double clamp01(double t) { return t < 0 ? 0 : t > 1 ? 1 : t; }
/// 0 below a, 1 above b, smooth between; a > b falls instead.
constexpr double smooth(double a, double b, double x) {
  const double t = clamp01((x - a) / (b - a));
  return t * t * (3 - 2 * t);
}

using Path = std::vector<Vec>;

/// Smooth curve through the points (centripetal Catmull-Rom), a point about every step_mm.
Path curve(const Path& through, bool closed = false, double step_mm = 0.4);
/// Cubic Bezier.
Path bezier(Vec a, Vec b, Vec c, Vec d, double step_mm = 0.4);
Path circle(Vec centre, double radius_mm, double step_mm = 0.3);
Path ellipse(Vec centre, double rx_mm, double ry_mm, double turn = 0, double step_mm = 0.3);
/// Part of a circle from one angle to another, both ends included.
Path arc(Vec centre, double radius_mm, double from, double to, double step_mm = 0.3);

double length(const Path& path);
/// At share s (0..1) of the length.
Vec point_at(const Path& path, double s);
/// Unit direction at share s of the length.
Vec direction_at(const Path& path, double s);
Path resampled(const Path& path, int points);
/// The part between two shares of the length.
Path part(const Path& path, double from, double to);
Path reversed(Path path);
Path joined(Path a, const Path& b);
/// Each point moved sideways (see turned()) by offset(s) mm.
template <class F>
Path offset(const Path& path, F offset_mm) {
  Path out;
  out.reserve(path.size());
  const double n = static_cast<double>(path.size() > 1 ? path.size() - 1 : 1);
  for (std::size_t i = 0; i < path.size(); ++i) {
    const Vec before = path[i > 0 ? i - 1 : 0], after = path[i + 1 < path.size() ? i + 1 : i];
    out.push_back(path[i] + turned(unit(after - before)) * offset_mm(static_cast<double>(i) / n));
  }
  return out;
}
/// f on every point.
template <class F>
Path moved(Path path, F f) {
  for (Vec& p : path) p = f(p);
  return path;
}
/// Mirrored in the upright line at x.
inline Path mirrored(const Path& path, double x) {
  return moved(path, [x](Vec p) { return Vec{2 * x - p.x, p.y}; });
}

/// A closed contour holds the place.
bool inside(const Path& contour, Vec p);
/// To the nearest place of the path (not closed unless it ends where it starts).
double distance(const Path& path, Vec p);

/// Signed distance to closed contours, kept on a grid and read bilinearly: for shading near edges, not for
/// edges.
class DistanceField {
 public:
  DistanceField(std::span<const Path> contours, double cell_mm = 0.5, double reach_mm = 10);
  /// mm, positive inside. Beyond reach_mm outside the contours' box: -reach_mm.
  double operator()(Vec p) const;

 private:
  Vec origin_;
  double cell_mm_, reach_mm_;
  int nx_, ny_;
  std::vector<float> d_;
};

/// Well mixed 32 bits out of integers.
std::uint32_t hash(std::uint32_t a, std::uint32_t b = 0, std::uint32_t c = 0);
/// 0..1 out of integers.
double hash_unit(std::uint32_t a, std::uint32_t b = 0, std::uint32_t c = 0);
/// A stream of dice of one seed.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : seed_(seed) {}
  double unit() { return hash_unit(seed_, n_++); }
  double range(double low, double high) { return mix(low, high, unit()); }
  int pick(int n) { return static_cast<int>(unit() * n) % n; }
  /// About a bell, mean 0, standard deviation 1, within -3..3.
  double bell();

 private:
  std::uint32_t seed_, n_ = 0;
};

/// Smooth noise 0..1, features about 1 mm wide: scale the place to change that.
double noise(Vec p, std::uint32_t seed);
/// Octaves of noise, each half as wide and half as strong, 0..1.
double fbm(Vec p, int octaves, std::uint32_t seed);
/// Cells about 1 mm wide: distance to the nearest and the second nearest seed point, and a number of the
/// nearest.
struct Cell {
  double nearest, second;
  std::uint32_t id;
};
Cell worley(Vec p, std::uint32_t seed);

}  // namespace kirtle::art
