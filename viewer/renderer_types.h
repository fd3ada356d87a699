#pragma once
// What is drawn where, for the card and for the processor alike.
#include "view.h"

#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// A rectangle of the canvas, pixels from its top left corner, and what it shows.
struct Pane {
  int x = 0, y = 0, width = 0, height = 0;
  int clip_left = 0, clip_right = 0;  ///< columns drawn, from the pane's left; 0, 0 = all
  View view;
  bool film = false;  ///< a plate's film; else the print
  int plate = 0;
  bool other = false;  ///< the build right of the line
  std::string light;   ///< "" = the scene's
  bool garment = false;
};

struct RenderSettings {
  int points = 1;        ///< a pixel, across and down, in each pass
  int most_points = 4;   ///< where a screen pixel covers several of the plate's, in each pass
  int most_passes = 16;  ///< while nothing changes
  /// What the card may take for a frame while things move [ms]: fewer points a pixel, so that it can. What
  /// stands still gets them all. 0 = always all.
  double moving_ms = 0;
  float surround =
      0.46F;  ///< display value of the grey around: about Y 18 (neutral, in the spirit of ISO 3664)
  bool sims_pictures = true;    ///< what sim has drawn is shown where it fits; false for tests of the shader
  bool processor = false;       ///< the processor draws, not the shader
  std::optional<double> loupe;  ///< for tests: 0 arm's length, 1 loupe, whatever the scale
  bool show_code = false;       ///< for tests: the overprint's number as X
};

/// When the weight of the loupe starts and ends, in screen pixels a period of the finest screen.
constexpr double kLoupeFrom = 5, kLoupeWhole = 9;
/// When sim's smaller picture takes over, in plate pixels a screen pixel.
constexpr double kSmallFrom = 1.4, kSmallWhole = 2.2;
/// It is asked that many levels finer than a pixel is large: passes average what that leaves rough.
constexpr double kSmallSharper = 0.75;

/// 0 up to `from`, 1 from `to` on, smooth between.
double smoothstep(double from, double to, double x);

}  // namespace kirtle
