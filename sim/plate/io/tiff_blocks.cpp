// Strips and tiles against the file's real length, before anything big is allocated.
#include "plate/io/tiff_page.h"

namespace kirtle::detail {
namespace {

/// More bytes than one stored byte can unpack to; 0: no bound is known.
std::uint64_t unpack_limit(const TiffPage& page) {
  switch (page.compression) {
    case COMPRESSION_NONE:
      return 1;
    case COMPRESSION_PACKBITS:
      return 64;  // two bytes make 128
    case COMPRESSION_LZW:
      return 4096;  // a code of 9 to 12 bits stands for fewer bytes than there are codes
    case COMPRESSION_ADOBE_DEFLATE:
    case COMPRESSION_DEFLATE:
      return 1032;  // zlib technical details
    case COMPRESSION_ZSTD:
      return 131072;  // a block makes at most 128 KiB (RFC 8878, section 3.1.1.2.4) and has a header
    case COMPRESSION_LZMA:
      // A repeat of 273 bytes takes 14 binary choices of at least log2(2048 / 2017) bit each: 7077 to 1 at
      // most, computed from the coder's tables (public domain LZMA specification, 9.20).
      return 8192;
    case COMPRESSION_CCITTRLE:
    case COMPRESSION_CCITTRLEW:
    case COMPRESSION_CCITTFAX3:
    case COMPRESSION_CCITTFAX4:
      return 8 * page.row_bytes(page.block_width);  // a row takes at least one bit (ITU-T T.6)
    default:
      return 0;
  }
}

}  // namespace

void check_blocks(const SourceFile& file, TIFF* tiff, const TiffPage& page) {
  const auto height = static_cast<std::uint32_t>(page.page.height);
  const auto width = static_cast<std::uint32_t>(page.page.width);
  const std::uint64_t across = page.tiled ? (width + page.block_width - 1) / page.block_width : 1;
  const std::uint64_t down = (height + page.block_rows - 1) / page.block_rows;
  const std::uint64_t planes = static_cast<unsigned>(page.page.planar ? page.page.samples : 1);
  const std::uint64_t blocks = page.tiled ? TIFFNumberOfTiles(tiff) : TIFFNumberOfStrips(tiff);
  const std::string kind = page.tiled ? "tile " : "strip ";
  if (blocks != across * down * planes)
    file.damaged("it lists the wrong number of strips; no row was reached");
  const std::uint64_t limit = unpack_limit(page);
  const std::uint64_t row_bytes = page.row_bytes(page.block_width);
  for (std::uint64_t block = 0; block < blocks; ++block) {
    const std::uint32_t first = static_cast<std::uint32_t>(block / across % down) * page.block_rows;
    const std::uint64_t offset = TIFFGetStrileOffset(tiff, static_cast<std::uint32_t>(block));
    const std::uint64_t stored = TIFFGetStrileByteCount(tiff, static_cast<std::uint32_t>(block));
    const std::uint64_t rows = page.tiled ? page.block_rows : std::min(page.block_rows, height - first);
    const std::string at = "row " + std::to_string(first + 1) + " of " + std::to_string(height);
    if (stored == 0) file.damaged(kind + std::to_string(block + 1) + " is empty; " + at + " cannot be read");
    if (offset > file.size() || stored > file.size() - offset) {
      file.damaged(kind + std::to_string(block + 1) + " lies beyond the end of the file; " + at +
                   " cannot be read");
    }
    if (limit > 0 && row_bytes * rows > stored * limit) {
      file.damaged(kind + std::to_string(block + 1) + " holds " + std::to_string(stored) +
                   " bytes, too few for its rows; " + at + " cannot be read");
    }
  }
}

}  // namespace kirtle::detail
