#pragma once
// Films at device resolution: a plate's dots and edges in 1 bit, with register marks and a label outside the
// art.
#include "plate/plate_image.h"
#include "screen/tone.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace kirtle {

/// A picture of text, row by row, 1 where ink; at the film's resolution. Whoever can set text makes it.
struct FilmLabel {
  int width = 0, height = 0;
  std::vector<std::uint8_t> ink;
};

struct FilmSettings {
  double device_ppi = 1200;  ///< 300..5080
  HalftoneScreen halftone;
  Mm margin{14};     ///< round the art, for the marks: kLeastFilmMargin and up
  FilmLabel label;   ///< below the lower mark, from the art's left side; empty = none
  std::string note;  ///< stored in the file
};

constexpr Mm kLeastFilmMargin{10};

/// Where the art lies on the film, mm from the film's top left corner, in whole device pixels. As a scene's
/// art box it leaves out marks and label.
struct FilmArt {
  double x_mm = 0, y_mm = 0, width_mm = 0, height_mm = 0;
  int film_width = 0, film_height = 0;  ///< device pixels
};

/// The same without writing it.
FilmArt film_art(const PlateImage& plate, double ppi, const FilmSettings& settings);

/// Writes a film positive (ink is black) as a 1-bit PNG or TIFF by the target's ending. Tints become dots of
/// the plate's film value, without ink spread; contours are redrawn at device resolution; a plate of dots is
/// redrawn as shapes. Centred on each side of the art stands a register mark: a cross in a circle, lines of
/// 0.15 mm. The dots start at the art's top left corner. Rows leave in bands; the bytes do not depend on
/// `threads` (0 = default_threads()). Throws std::domain_error (settings out of range, label wider than the
/// film), InputError and std::runtime_error as PictureWriter does; InternalError if ppi is not > 0.
FilmArt write_film(const std::filesystem::path& target, const PlateImage& plate, double ppi,
                   const FilmSettings& settings, unsigned threads = 0);

/// What a film's label says.
struct FilmWords {
  std::string plate, ink, mesh;
  HalftoneScreen halftone;
  bool tints = true;  ///< false: nothing on the plate is halftoned, so no line count
  CurveAt curve = CurveAt::none;
};

/// Lines for the label, for example "brown", "ink: brown, mesh: 43-80", "55 lines per inch, 22.5 degrees,
/// round dots", "curve: none in this film", "art starts 14.0 mm from the left, 14.0 mm from the top, 305.0 x
/// 355.0 mm".
std::vector<std::string> film_label_lines(const FilmWords& words, const FilmArt& art);

}  // namespace kirtle
