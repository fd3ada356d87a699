#pragma once
// What the tags of a TIFF page say. Internal to plate/io.
#include "plate/io/plate_page.h"
#include "plate/io/source_file.h"
#include "plate/io/tiff_tags.h"

#include <tiffio.h>

namespace kirtle::detail {

/// libtiff on the file, with its errors kept as text and its memory limited.
class TiffHandle {
 public:
  explicit TiffHandle(SourceFile& file);
  ~TiffHandle() { TIFFClose(tiff_); }
  TiffHandle(const TiffHandle&) = delete;
  TiffHandle& operator=(const TiffHandle&) = delete;

  TIFF* get() const { return tiff_; }
  const std::string& message() const { return message_; }

 private:
  TIFF* tiff_ = nullptr;
  std::string message_;
};

/// One page: its plates, and how its blocks (strips or tiles) lie.
struct TiffPage {
  PlatePage page;
  int photometric = 0;
  int compression = COMPRESSION_NONE;
  bool skipped = false;  ///< a thumbnail or a see-through mask: no plates
  bool tiled = false;
  std::uint32_t block_width = 0, block_rows = 0;
  bool profile = false, transfer = false;

  /// Bytes of `pixels` pixels in a row of a block.
  std::uint64_t row_bytes(std::uint64_t pixels) const {
    const std::uint64_t samples = static_cast<unsigned>(page.planar ? 1 : page.samples);
    return (pixels * samples * static_cast<unsigned>(page.number.bits) + 7) / 8;
  }
};

/// The directory that the handle stands at, as page `number`. What is left out is noted. Throws InputError
/// unless all limits hold and each block lies inside the file.
TiffPage look_through(const SourceFile& file, const TiffHandle& handle, int number, Diagnostics& notes);

/// Sorts the samples of `page` into plates and alphas, with names where the file has them.
void take_plates(const SourceFile& file, const TiffTags& tags, int number, TiffPage& page,
                 Diagnostics& notes);

/// Throws InputError unless each strip or tile lies inside the file and can hold its rows.
void check_blocks(const SourceFile& file, TIFF* tiff, const TiffPage& page);

}  // namespace kirtle::detail
