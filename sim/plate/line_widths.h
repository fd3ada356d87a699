#pragma once
// How wide lines and gaps are, from where rows and columns of a plate cross its contours. Internal to plate.
//
// A chord is the piece of a row (or column) between two crossings. From its middle the nearest points of the
// contour on either side are looked for; if they lie opposite each other it is a line (or gap) there, and
// their distance its width. A line is as thin as the mean of its thinnest stretch of kShortestStretch, so
// that tapering tips, corners and serifs' points do not count. Limits: contours known to about a tenth of a
// pixel when anti-aliased, to half a pixel when not.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace kirtle::detail {

/// What a pixel is, in one byte: 0 none, 1..253 the coverage of a pixel that a contour cuts, 254 solid, 255
/// tint.
constexpr std::uint8_t kCutSolid = 254, kCutTint = 255;
struct CutPixels {
  int width = 0, height = 0;
  std::vector<std::uint8_t> cut;
};

constexpr double kShortestStretch_mm = 0.5;

struct ThinPlace {
  double width = 0;     ///< pixels
  double x = 0, y = 0;  ///< pixels from the top left corner
};

struct ThinPlaces {
  std::optional<ThinPlace> line, gap;
};

/// The thinnest line and gap, none wider than `widest` pixels, over stretches of `stretch` pixels (both > 0).
ThinPlaces thinnest(const CutPixels& pixels, double widest, double stretch, unsigned threads);

/// A piece of the middle of a line (or gap), and how wide it is there.
struct ThinPiece {
  double x0 = 0, y0 = 0, x1 = 0, y1 = 0;  ///< pixels from the top left corner; the ends may be one point
  double width = 0;                       ///< pixels, the mean of its ends
  bool gap = false;
  bool ends = false;        ///< one of its ends is an end of the line as seen here
  bool by_columns = false;  ///< seen across columns, else across rows; near 45 degrees both see a line
};

/// All lines and gaps no wider than `widest` pixels, piece by piece, each about a pixel long; from the top.
std::vector<ThinPiece> thin_pieces(const CutPixels& pixels, double widest, unsigned threads);

}  // namespace kirtle::detail
