#pragma once
// Pictures to files, row by row, written beside the target and renamed into place when finished.
#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace kirtle {

/// Limits of what is written, both far above any print. A breach is our own bug.
constexpr int kMaxPictureSide = 1'000'000;
constexpr double kMaxPicturePpi = 100'000;
constexpr int kMaxPictureInks = 32;

struct PictureFormat {
  int width = 0, height = 0;
  int channels = 3;  ///< 1 grey, 3 RGB, 4 CMYK (TIFF only); as many as there are inks if these are named
  int bits = 8;      ///< 8 or 16; 1 if grey
  /// Not empty: a Separated TIFF of these inks, 0 = no ink, up to kMaxPictureInks.
  std::vector<std::string> inks;
  double ppi = 0;                                         ///< 0 = not written
  std::vector<std::uint8_t> icc_profile;                  ///< embedded if not empty
  std::vector<std::pair<std::string, std::string>> text;  ///< PNG tEXt/iTXt, TIFF ImageDescription (joined)
  unsigned threads = 0;  ///< for compression; 0 = default_threads(). The bytes do not depend on it.
};

/// Writes PNG or TIFF by the target's ending (.png, .tif, .tiff in any case; anything else is an InputError,
/// as is a target that ReplacedFile refuses). A failed write (full disk, say) throws std::runtime_error
/// naming the target; the target then is what it was. Rows leave in bands, so memory stays at a few bands a
/// thread.
class PictureWriter {
 public:
  static std::unique_ptr<PictureWriter> open(const std::filesystem::path& target,
                                             const PictureFormat& format);
  virtual ~PictureWriter() = default;
  /// The next rows from the top, samples interleaved, host byte order; rows.size() is a multiple of
  /// width*channels. Of 1 bit: 8 pixels a byte, the left one highest, each row from a new byte.
  virtual void write_rows8(std::span<const std::uint8_t> rows) = 0;
  virtual void write_rows16(std::span<const std::uint16_t> rows) = 0;
  /// All rows given: finish and rename into place.
  virtual void commit() = 0;
};

/// A grey picture as PNG, 8 or 16 bit, with its resolution (0 = none). `pixels` are written as they are: 0 is
/// black. A plate of film coverage must be turned first (255 - ink) to be written dark_is_ink.
void write_grey_png(const std::filesystem::path& target, int width, int height, double ppi,
                    std::span<const std::uint8_t> pixels);
void write_grey_png(const std::filesystem::path& target, int width, int height, double ppi,
                    std::span<const std::uint16_t> pixels);

}  // namespace kirtle
