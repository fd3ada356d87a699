#pragma once
// Dots of a screen at any point: which points are ink at a tone, which dots the stencil has lost.
#include "screen/dot_period.h"
#include "screen/noise_print.h"
#include "screen/tone.h"

#include <cstdint>
#include <memory>
#include <vector>

namespace kirtle {

/// The share of the period that is inked before the point (u, v), given in periods from a dot's centre (any
/// period): 0 up to but not including 1. The points below a level cover exactly that share of the period.
///   round       circles at every tone, which overlap above 78.5 %
///   elliptical  ellipses of axes 1 : 0.8, which join in one direction before the other
///   inverting   circles up to 39 %, from there cut to squares on their corner that meet at 50 %; above,
///   holes alike line        lines along v square      squares
/// Not for noise, which has no period (noise_print.h).
/// Source: closed forms of area, threshold.inl (compiled here in double; the same text is GLSL).
double dot_threshold(DotShape shape, double u, double v);

/// Area of an ellipse of half axes a, b > 0 in periods, about the centre of a period and cut off at its
/// edges: 0..1.
double ellipse_area(double a, double b);

/// Chance of one dot (or hole) of a screen, 0 up to but not including 1: the same whenever it is asked.
double dot_chance(int dot_u, int dot_v, std::uint32_t seed);

/// From a place on the plate to periods of its screen. x to the right, y downward; the angle turns
/// anticlockwise as seen, from the horizontal; a dot is centred on the plate's top left corner.
class ScreenAxes {
 public:
  explicit ScreenAxes(const HalftoneScreen& halftone);
  double u(double x_mm, double y_mm) const { return across_ * x_mm - down_ * y_mm; }
  double v(double x_mm, double y_mm) const { return down_ * x_mm + across_ * y_mm; }

 private:
  double across_ = 0, down_ = 0;  ///< periods per mm
};

/// The dots that one screen prints, point by point.
///
/// Edges that have moved by the ink spread are found by asking for the tone that the spread makes of the
/// film's (dot_tone), not by the distance to the dot's edge. Why: the area then is exactly that at arm's
/// length, in every shape and with a measured step table too; round dots, the holes between them and lines
/// come out as their own moved edges. Elliptical and square ones keep their shape instead of growing rounder
/// (under 2 % of the period lies elsewhere). Inverting dots that grow past half turn into holes, where in
/// truth round dots would overlap (up to 12 % lies elsewhere, at 30 to 50 % on film).
///
/// Dots of noise are moved edges themselves (noise_print.h), on a tile that each seed puts elsewhere, so that
/// two plates' dots fall independently.
///
/// Near the smallest dot that the stencil holds single dots are missing: each dot has its chance, and is
/// there if that is below the share held; holes likewise. Limits: a dot is there or not, never torn.
class PrintedDots {
 public:
  /// seed: one a plate, so that plates lose different dots.
  PrintedDots(const ToneSettings& settings, std::uint32_t seed);
  /// Is there ink at this place of the plate, where the film's tone is `film`, 0..1?
  bool inked(double x_mm, double y_mm, double film) const;

  /// The steps of inked() for dots in rows and columns, to be taken one by one (dot_cells.h).
  /// Are there rows and columns? Not of noise.
  bool regular() const { return noise_ == nullptr; }
  double u(double x_mm, double y_mm) const { return axes_.u(x_mm, y_mm); }
  double v(double x_mm, double y_mm) const { return axes_.v(x_mm, y_mm); }
  DotShape shape() const { return shape_; }
  double threshold(double u, double v) const { return dot_threshold(shape_, u, v); }
  /// Coverage of dots that are all held, 0..1, by the film's tone.
  double tone(double film) const;
  /// Shares of dots and holes that the stencil holds there, 0..1.
  struct Held {
    double dots = 1, holes = 1;
    bool all() const { return dots >= 1 && holes >= 1; }
  };
  Held held(double film) const;
  /// Chances of the dot and the hole at (u, v): what is not under the share held is lost.
  Held chances(double u, double v) const;
  /// From ink with all dots and holes held to ink with those gone that are lost.
  static bool with_losses(bool ink, const Held& held, const Held& chances) {
    if (ink && held.dots < 1) ink = chances.dots < held.dots;
    if (!ink && held.holes < 1) ink = !(chances.holes < held.holes);
    return ink;
  }

 private:
  struct Node {
    float tone = 0, dots_held = 1, holes_held = 1;
  };
  DotShape shape_;
  ScreenAxes axes_;
  std::uint32_t seed_;
  std::shared_ptr<const NoisePrint> noise_;  ///< null unless the dots are noise
  bool noise_by_tone_ = false;               ///< a table or the output step says what prints
  double noise_x_mm_ = 0, noise_y_mm_ = 0;   ///< where the tile begins
  std::vector<Node> nodes_;                  ///< at film = i / (size - 1), linear between
};

}  // namespace kirtle
