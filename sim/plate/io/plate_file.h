#pragma once
// Files as an art department exports them: one grey, a grey or RGB with spot samples, a separated multi-ink
// TIFF, CMYK, several pages. Each plate in a file is listed from the header, and read by itself or with the
// others. Nothing is allocated before the header has passed the limits.
#include "base/diagnostics.h"
#include "plate/plate_image.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace kirtle {

/// Limits, enforced from the header. Chosen to let a 700 x 1000 mm print at 600 ppi through (16535 x 23622)
/// and no more.
constexpr int kMaxPlateSide = 65000;
constexpr std::size_t kMaxPlatePixels = 400'000'000;
/// Pixels of all plates that are read at once: a scene's 12 plates of the largest size.
constexpr std::size_t kMaxPixelsAtOnce = 12 * kMaxPlatePixels;
/// A scene's plates of the largest size in one file, 16 bit and unpacked, fit in.
constexpr std::uintmax_t kMaxPlateFileBytes = std::uintmax_t{16} << 30;
constexpr int kMaxPlatesOfPage = 32;
constexpr int kMaxPages = 64;

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
  std::string name;  ///< from InkNames or PageName, else made up from the file's name; never empty
  bool name_in_file = false;
  int width = 0, height = 0;
  int bits = 8;  ///< as stored: 1, 2, 4, 8 or 16; 16, 32 or 64 for floating point
  bool is_float = false;
  bool composite = false;  ///< the grey beside spot samples: most likely a preview of them, not a plate
  double ppi = 0;          ///< 0 = not stated
};

/// Every plate in a file, from its headers; where these cannot tell a colour picture from one with R=G=B
/// (RGB, palettes with colours) the pixels are looked at until one has colour. A colour picture is an
/// InputError with the remedy; beside spot samples it is left out with a notice. What was noticed of the
/// file's make-up is added to notes. Throws InputError: file, what was found, what is allowed, remedy.
std::vector<PlateEntry> list_plates(const std::filesystem::path& file, Diagnostics& notes);

/// Reads the named entries of one file in one pass over it, in the order asked. Polarity: `grey_polarity` for
/// grey entries (after the photometric tag has been honoured, so that MinIsWhite and MinIsBlack files that
/// look the same read the same); spot and separated as the format defines. 1-bit entries come back with
/// PlateImage::dots = true; floating point comes back as 16 bit. A warning for each whose border, or more
/// than 60 % of it, is ink; notices of ignored alpha, gamma, profile. Entries must be of one file (else
/// InternalError). `rows`: so many from the top are wanted, at least 1. Those below may be left out, and are
/// without ink then; damage among them is not found. All are read all the same where more hangs on them:
/// where colour, transparency or numbers out of range are looked for, and where what is wanted is mostly ink,
/// which is to be warned of or not by the whole plate. Throws InputError.
std::vector<PlateImage> read_plates(const std::vector<PlateEntry>& entries, Polarity grey_polarity,
                                    Diagnostics& notes, int rows = kMaxPlateSide);

}  // namespace kirtle
