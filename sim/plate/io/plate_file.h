#pragma once
// Files as an art department exports them: one grey, a grey or RGB with spot samples, a separated multi-ink
// TIFF, CMYK, several pages. Each plate in a file is listed from the header, and read by itself or with the
// others.
#include "base/diagnostics.h"
#include "plate/plate_image.h"

#include <filesystem>
#include <string>
#include <vector>

namespace kirtle {

/// What kind of sample a plate is stored as; it decides how its numbers say "ink".
enum class SampleKind {
  grey,       ///< a grey picture (or R=G=B): polarity is not in the file, the scene states it
  spot,       ///< extra sample beside grey or RGB: full code = no ink
  separated,  ///< sample of a Separated TIFF (ISO 12639, TIFF 6.0 section 16): 0 = no ink, DotRange honoured
};

/// One plate in a file.
struct PlateEntry {
  std::filesystem::path file;
  int page = 0;    ///< from 0
  int sample = 0;  ///< from 0, within the page
  SampleKind kind = SampleKind::grey;
  std::string name;  ///< from InkNames, else made up from the file's name; never empty
  bool name_in_file = false;
  int width = 0, height = 0;
  int bits = 8;  ///< as stored: 1, 2, 4, 8, 16 or 32
  bool is_float = false;
  double ppi = 0;  ///< 0 = not stated
};

/// Every plate in a file, from its headers alone. A real colour picture (RGB without spot samples, not R=G=B)
/// is an InputError with the remedy. What was noticed is added to notes. Throws InputError.
std::vector<PlateEntry> list_plates(const std::filesystem::path& file, Diagnostics& notes);

/// Reads the named entries of one file in one pass over it, in the order asked. Polarity: `grey_polarity` for
/// grey entries; spot and separated as the format defines. 1-bit entries come back with PlateImage::dots =
/// true. A warning for each whose border, or more than 60 % of it, is ink. Throws InputError.
std::vector<PlateImage> read_plates(const std::vector<PlateEntry>& entries, Polarity grey_polarity,
                                    Diagnostics& notes);

}  // namespace kirtle
