#pragma once
// What a plate holds that a screen may not: tones too light or too dark, lines, gaps and type too thin.
// Internal to check.
#include "plate/holdings.h"
#include "plate/line_widths.h"

#include <array>
#include <vector>

namespace kirtle::check {

/// Film tones that the plate's screen holds, 0..1: dots from `lightest`, holes up to `darkest`.
struct HeldTones {
  double lightest = 0, darkest = 1;
  bool operator==(const HeldTones&) const = default;
};

/// A row of letters: at least four shapes of like height on one line, made of strokes.
struct TypeLine {
  double x0 = 0, y0 = 0, x1 = 0, y1 = 0;  ///< pixels
  int letters = 0;
  double height = 0;  ///< of the tallest, pixels
  double stroke = 0;  ///< mean width of its strokes, pixels
  double stroke_length = 0;
};

struct PlateSurvey {
  double coverage = 0;      ///< mean film, 0..1
  double border_share = 0;  ///< film of the outermost pixels, 0..1
  bool empty = true;        ///< no pixel of 2 % or more
  PlateSpot ink_from, ink_to;
  double tint_mm2 = 0;
  double solid_mm2 = 0;                  ///< without tints; edges by coverage
  std::array<std::size_t, 256> tones{};  ///< pixels of tints by film, 255 = solid
  double light_mm2 = 0, dark_mm2 = 0;    ///< tints that the screen loses, and that fill in
  PlateSpot light_at, dark_at;
  double light_tone = 0, dark_tone = 0;    ///< mean film of those
  std::vector<detail::ThinPiece> strokes;  ///< lines up to 0.7 mm and gaps up to 0.5 mm, from the top; pixels
  std::vector<TypeLine> type;
};

constexpr double kWidestStroke_mm = 0.7;

PlateSurvey survey_plate(const PlateImage& plate, double ppi, const HeldTones& held, unsigned threads);

/// Rows of letters among the shapes of a plate. `strokes` from the top.
std::vector<TypeLine> find_type(const detail::CutPixels& pixels, double ppi,
                                const std::vector<detail::ThinPiece>& strokes);

}  // namespace kirtle::check
