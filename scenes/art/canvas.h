#pragma once
// What every subject of the demo art draws with: float planes of ink, exact-area fills, strokes of varying
// width, noise. All coordinates are millimetres from the plate's top left corner, y downwards. Ink is 0
// (none) .. 1 (solid). Everything is deterministic: own integer hashes, no std:: distribution, and threads
// only share out rows.
#include "art/geometry.h"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

namespace kirtle::art {

/// One plane of ink (or a mask: coverage 0..1). Copyable. Size in mm is rounded to whole pixels.
class Plane {
 public:
  Plane(double width_mm, double height_mm, double ppi, float ink = 0);
  int width() const { return width_; }
  int height() const { return height_; }
  double ppi() const { return ppi_; }
  double px_per_mm() const { return ppi_ / 25.4; }
  float* row(int y) { return ink_.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(width_); }
  const float* row(int y) const {
    return ink_.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(width_);
  }
  /// Centre of a pixel in mm.
  Vec centre(int x, int y) const { return {(x + 0.5) / px_per_mm(), (y + 0.5) / px_per_mm()}; }
  /// Ink at a place in mm, bilinear, 0 outside.
  float sample(Vec p) const;
  /// A plane of the same size and resolution, without ink.
  Plane blank() const;

 private:
  int width_, height_;
  double ppi_;
  std::vector<float> ink_;
};

/// What a place gets: ink 0..1 at a place in mm. A number makes an even tone.
class Tone {
 public:
  Tone(double ink) : even_(static_cast<float>(ink)) {}  // NOLINT: meant to convert
  template <class F>
  requires std::is_invocable_r_v<double, F, Vec> Tone(F f) : at_(std::move(f)) {}  // NOLINT: meant to convert
  float operator()(Vec p) const { return at_ ? static_cast<float>(at_(p)) : even_; }

 private:
  float even_ = 0;
  std::function<double(Vec)> at_;
};

/// How a shape of coverage c and tone t joins the ink k that is there.
enum class Join {
  over,    ///< k + c (t - k): paints over what is there (tone 0 knocks out)
  most,    ///< max(k, c t): overlapping shapes of one tone make no seams
  add,     ///< k + c t, at most 1: tones pile up
  deepen,  ///< 1 - (1 - k)(1 - c t): one glaze over another, never past solid
  keep     ///< k (1 - c (1 - t)): scales what is there by the tone inside the shape
};

/// Fills closed contours (each closes itself), edges exact-area anti-aliased. Winding: a place is inside
/// where the windings of all contours do not sum to 0, so a hole runs against its outline (see reversed()).
void fill(Plane& plane, std::span<const Path> contours, const Tone& tone, Join join = Join::over);
void fill(Plane& plane, const Path& contour, const Tone& tone, Join join = Join::over);

/// A stroke's full width in mm at share s (0..1) of its length.
using Width = std::function<double(double s)>;
Width even_width(double width_mm);
/// From start over middle to end, smoothly (the swelling line of an engraver); 0 makes a fine point.
Width swelling(double start_mm, double middle_mm, double end_mm);
/// From start to end in a straight line.
Width tapering(double start_mm, double end_mm);

/// Draws along an open path with round ends and joints. Self-overlap makes no seam. Thinner than a pixel
/// fades rightly.
void stroke(Plane& plane, const Path& path, const Width& width, const Tone& tone = 1.0,
            Join join = Join::most);
/// Round dot.
void dot(Plane& plane, Vec centre, double radius_mm, const Tone& tone = 1.0, Join join = Join::over);
/// Ring of a given line width.
void ring(Plane& plane, Vec centre, double radius_mm, double line_mm, const Tone& tone = 1.0,
          Join join = Join::most);

/// Whole-plane work, rows shared over threads. f(ink there, place in mm) gives the new ink.
void map(Plane& plane, const std::function<float(float ink, Vec place)>& f);
/// Joins `ink` onto `plane` through a mask: as if every place were a shape of coverage mask and tone ink.
void join(Plane& plane, const Plane& ink, const Plane& mask, Join how = Join::over);
/// Joins a tone onto the plane through a mask.
void join(Plane& plane, const Tone& tone, const Plane& mask, Join how = Join::over);
/// plane * mask: keeps only what the mask covers. plane * (1 - mask): takes away what it covers.
void clip(Plane& plane, const Plane& mask);
void knock_out(Plane& plane, const Plane& mask);
/// Gaussian blur, three box passes; sigma in mm.
void blur(Plane& plane, double sigma_mm);

/// Film positive as 8 bit: 255 none, 0 solid. Under 2 % becomes none, over 98 % solid: no haze, no pinholes.
std::vector<std::uint8_t> film_positive(const Plane& plane);

/// A finished plate of a subject.
struct Plate {
  std::string name;
  Plane ink;
};

}  // namespace kirtle::art
