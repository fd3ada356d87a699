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

struct PictureFormat {
  int width = 0, height = 0;
  int channels = 3;            ///< 1 grey, 3 RGB, 4 CMYK (TIFF only)
  int bits = 8;                ///< 8 or 16
  double ppi = 0;              ///< 0 = not written
  std::vector<std::uint8_t> icc_profile;                       ///< embedded if not empty
  std::vector<std::pair<std::string, std::string>> text;       ///< PNG tEXt/iTXt, TIFF ImageDescription (joined)
  unsigned threads = 0;        ///< for compression; 0 = default_threads(). The bytes do not depend on it.
};

/// Writes PNG or TIFF by the target's ending (.png, .tif, .tiff; anything else is an InputError).
class PictureWriter {
 public:
  static std::unique_ptr<PictureWriter> open(const std::filesystem::path& target, const PictureFormat& format);
  virtual ~PictureWriter() = default;
  /// The next rows from the top, samples interleaved, host byte order; rows.size() is a multiple of width*channels.
  virtual void write_rows8(std::span<const std::uint8_t> rows) = 0;
  virtual void write_rows16(std::span<const std::uint16_t> rows) = 0;
  /// All rows given: finish and rename into place.
  virtual void commit() = 0;
};

/// A grey plate as PNG: 8 or 16 bit, `dark_is_ink`, with its resolution.
void write_grey_png(const std::filesystem::path& target, int width, int height, double ppi,
                    std::span<const std::uint8_t> pixels);

}  // namespace kirtle
