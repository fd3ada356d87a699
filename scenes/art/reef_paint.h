#pragma once
// The painter's tools of the reef: a picture in linear RGB whose places are millimetres on the film, and
// three ways to lay paint: per pixel (wash), along a tapering line (stroke), as light (glow). Any resolution
// shows the same drawing.
#include "art/reef_light.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace kirtle::art::reef {

// --- the picture
// ------------------------------------------------------------------------------------------------

/// Paint at a pixel: light it adds, and how much of what lies beneath it hides (0 = glass, 1 = solid).
struct Paint {
  Rgb light;
  double hides = 1;
};

class Picture {
 public:
  Picture(int width, int height, double px_per_mm)
      : width_(width),
        height_(height),
        px_per_mm_(px_per_mm),
        px_(static_cast<std::size_t>(width) * height * 3) {}
  int width() const { return width_; }
  int height() const { return height_; }
  double px_per_mm() const { return px_per_mm_; }
  double px_mm() const { return 1 / px_per_mm_; }
  const float* at(int x, int y) const { return &px_[(static_cast<std::size_t>(y) * width_ + x) * 3]; }

  /// Lays paint over `cover` (0..1) of the pixel.
  void lay(int x, int y, const Paint& p, double cover) {
    float* q = &px_[(static_cast<std::size_t>(y) * width_ + x) * 3];
    const double keep = 1 - p.hides * cover;
    q[0] = static_cast<float>(q[0] * keep + p.light.r * cover);
    q[1] = static_cast<float>(q[1] * keep + p.light.g * cover);
    q[2] = static_cast<float>(q[2] * keep + p.light.b * cover);
  }
  /// Pulls every colour away from its own grey.
  void grade(double saturation) {
    for (std::size_t i = 0; i < px_.size(); i += 3) {
      const double grey = 0.25 * px_[i] + 0.60 * px_[i + 1] + 0.15 * px_[i + 2];
      for (std::size_t c = i; c < i + 3; ++c)
        px_[c] = static_cast<float>(std::max(0.0, grey + saturation * (px_[c] - grey)));
    }
  }
  Vec place(int x, int y) const { return {(x + 0.5) / px_per_mm_, (y + 0.5) / px_per_mm_}; }
  int column(double mm) const { return std::clamp(static_cast<int>(mm * px_per_mm_), 0, width_ - 1); }
  int row(double mm) const { return std::clamp(static_cast<int>(mm * px_per_mm_), 0, height_ - 1); }

 private:
  int width_, height_;
  double px_per_mm_;
  std::vector<float> px_;
};

struct Box {
  Vec lo, hi;  ///< mm
};
inline Box around(Vec c, double rx, double ry) { return {{c.x - rx, c.y - ry}, {c.x + rx, c.y + ry}}; }

/// Calls shade(place) -> Paint for every pixel of the box; the shade works out its own edge (light and hides
/// both fall to 0 outside).
template <class Shade>
void wash(Picture& pic, const Box& box, Shade shade) {
  const int x1 = pic.column(box.hi.x), y1 = pic.row(box.hi.y);
  for (int y = pic.row(box.lo.y); y <= y1; ++y)
    for (int x = pic.column(box.lo.x); x <= x1; ++x) pic.lay(x, y, shade(pic.place(x, y)), 1.0);
}

/// Share of a pixel that lies inside an edge `inside_mm` away (negative: outside).
inline double edge(const Picture& pic, double inside_mm) {
  return clamp01(0.5 + inside_mm * pic.px_per_mm());
}
inline Paint covered(Paint p, double cover) { return {p.light * cover, p.hides * cover}; }

struct Knot {
  Vec p;
  double r;  ///< half width, mm
};
/// A place on a stroke.
struct OnStroke {
  Vec at;
  double s;   ///< 0 at the first knot .. 1 at the last
  double u;   ///< across: -1 left edge .. 1 right edge, seen along the stroke
  Vec off;    ///< from the middle line, in half widths
  double r;   ///< half width here, mm
  Vec along;  ///< unit
  Vec3 round() const { return {off.x, off.y, std::sqrt(std::max(0.0, 1 - dot(off, off)))}; }
};

/// Smooth line through the points, `per` knots to each span.
std::vector<Knot> spline(const std::vector<Knot>& through, int per);

namespace detail {
struct StrokeCell {
  float q, s, ox, oy, r;
  int seg;
};
Box stroke_box(const std::vector<Knot>& k, double grow);
/// Nearest piece of the stroke for each pixel of the box [x0, x1] x [y0, y1].
void trace(const Picture& pic, const std::vector<Knot>& k, double grow, int x0, int y0, int x1, int y1,
           std::vector<StrokeCell>& cells);
}  // namespace detail

/// A tapering line with round ends; each pixel is painted once, by the piece of line it is deepest in.
/// shade(OnStroke) -> Paint. grow: added to every half width, mm.
template <class Shade>
void stroke(Picture& pic, const std::vector<Knot>& k, Shade shade, double grow = 0) {
  if (k.size() < 2) return;
  const Box box = detail::stroke_box(k, grow + pic.px_mm());
  if (box.hi.x < 0 || box.hi.y < 0) return;
  const int x0 = pic.column(box.lo.x), y0 = pic.row(box.lo.y), x1 = pic.column(box.hi.x),
            y1 = pic.row(box.hi.y);
  static thread_local std::vector<detail::StrokeCell> found;
  detail::trace(pic, k, grow, x0, y0, x1, y1, found);
  const double half_px = 0.5 * pic.px_mm();
  for (int y = y0; y <= y1; ++y)
    for (int x = x0; x <= x1; ++x) {
      const detail::StrokeCell& c = found[static_cast<std::size_t>(y - y0) * (x1 - x0 + 1) + (x - x0)];
      if (c.q >= half_px) continue;
      const double thin = std::min(1.0, c.r / half_px);  // a hair thinner than a pixel covers part of it
      const double cover = clamp01(0.5 - c.q * pic.px_per_mm()) * thin;
      const Knot &a = k[c.seg], &b = k[c.seg + 1];
      const Vec along = (b.p - a.p) * (1 / std::max(1e-9, length(b.p - a.p)));
      OnStroke o{pic.place(x, y), c.s, along.x * c.oy - along.y * c.ox, {c.ox, c.oy}, c.r, along};
      pic.lay(x, y, shade(o), cover);
    }
}

/// Soft round light.
void glow(Picture& pic, Vec centre, double radius_mm, Rgb light);
/// Soft dark round a line, so that it stands off what lies behind it.
void shadow(Picture& pic, const std::vector<Knot>& k, double reach_mm, double strength);

}  // namespace kirtle::art::reef
