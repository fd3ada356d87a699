// TIFF 6.0 through libtiff. Every handle has its own error handlers and its own limit on memory, so files can
// be read on several threads. The header is checked against the file's real length before anything big is
// allocated.
#include "base/units.h"
#include "plate/io/plate_rows.h"

#include <algorithm>
#include <cstdarg>
#include <memory>
#include <tiffio.h>
#include <unistd.h>

namespace kirtle::detail {
namespace {

constexpr std::uint64_t kMaxTileBytes = std::uint64_t{256} << 20;
constexpr tmsize_t kMemoryBeyondFile = tmsize_t{64} << 20;

struct TiffFacts {
  PlateHeader header;
  PixelLayout layout;
  int samples = 1;
  int compression = COMPRESSION_NONE;
  bool white_is_zero = false;
  bool planar = false;
  bool tiled = false;
  std::uint32_t block_width = 0, block_rows = 0;  // of a tile or strip
  bool profile = false, transfer = false, more_pages = false;
};

int keep_message(TIFF*, void* user, const char*, const char* text, va_list args) {
  char message[256];
  std::vsnprintf(message, sizeof message, text, args);
  *static_cast<std::string*>(user) = message;
  return 1;  // nothing more is to be printed
}
int say_nothing(TIFF*, void*, const char*, const char*, va_list) { return 1; }

class TiffHandle {
 public:
  explicit TiffHandle(const SourceFile& file) {
    const int fd = ::dup(file.descriptor());  // libtiff closes its own
    if (fd < 0) file.refuse("cannot open this file a second time", "close other programs and try again");
    ::lseek(fd, 0, SEEK_SET);
    TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
    TIFFOpenOptionsSetErrorHandlerExtR(options, keep_message, &message_);
    TIFFOpenOptionsSetWarningHandlerExtR(options, say_nothing, nullptr);
    // What is stored is never larger than the file, and what is unpacked goes to our own, checked memory.
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, static_cast<tmsize_t>(file.size()) + kMemoryBeyondFile);
    tiff_ = TIFFFdOpenExt(fd, file.path().c_str(), "rm", options);  // m: no memory map, the file may shrink
    TIFFOpenOptionsFree(options);
    if (tiff_ == nullptr) {
      ::close(fd);
      file.damaged("its tags cannot be read (" + printable(message_) + "); no row was reached");
    }
  }
  ~TiffHandle() { TIFFClose(tiff_); }
  TiffHandle(const TiffHandle&) = delete;
  TiffHandle& operator=(const TiffHandle&) = delete;

  TIFF* get() const { return tiff_; }
  const std::string& message() const { return message_; }

 private:
  TIFF* tiff_ = nullptr;
  std::string message_;
};

[[noreturn]] void not_yet(const SourceFile& file, const std::string& what) {
  file.refuse("this TIFF holds " + what + ", which is not read yet; 8 or 16 bit grey is",
              "export each plate as one grey, 8 or 16 bit");
}

std::string compression_name(int compression) {
  const TIFFCodec* codec = TIFFFindCODEC(static_cast<std::uint16_t>(compression));
  return (codec != nullptr ? std::string(codec->name) : "number " + std::to_string(compression)) +
         " compression";
}

std::string photometric_name(int photometric) {
  switch (photometric) {
    case PHOTOMETRIC_PALETTE:
      return "a palette";
    case PHOTOMETRIC_MASK:
      return "a mask";
    case PHOTOMETRIC_SEPARATED:
      return "several inks (Separated)";
    case PHOTOMETRIC_YCBCR:
      return "YCbCr colour";
    case PHOTOMETRIC_CIELAB:
    case PHOTOMETRIC_ICCLAB:
    case PHOTOMETRIC_ITULAB:
      return "Lab colour";
    default:
      return "an unknown kind of picture (photometric " + std::to_string(photometric) + ")";
  }
}

/// The tag's value, or `fallback` if it is missing. TIFF's own defaults count.
template <class T>
T tag(TIFF* tiff, std::uint32_t number, T fallback) {
  T value{};
  return TIFFGetFieldDefaulted(tiff, number, &value) == 1 ? value : fallback;
}

void take_kind(const SourceFile& file, TIFF* tiff, TiffFacts& facts) {
  const int bits = tag<std::uint16_t>(tiff, TIFFTAG_BITSPERSAMPLE, 1);
  const int sample_format = tag<std::uint16_t>(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_UINT);
  facts.samples = tag<std::uint16_t>(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
  facts.compression = tag<std::uint16_t>(tiff, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
  facts.planar =
      tag<std::uint16_t>(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) == PLANARCONFIG_SEPARATE &&
      facts.samples > 1;
  const int photometric = tag<std::uint16_t>(tiff, TIFFTAG_PHOTOMETRIC, 65535);
  if (photometric == 65535)
    file.damaged("it does not say what its numbers mean (photometric); no row was reached");
  facts.layout.rgb = photometric == PHOTOMETRIC_RGB;
  facts.white_is_zero = photometric == PHOTOMETRIC_MINISWHITE;
  if (!facts.layout.rgb && !facts.white_is_zero && photometric != PHOTOMETRIC_MINISBLACK) {
    not_yet(file, photometric_name(photometric));
  }
  if (sample_format != SAMPLEFORMAT_UINT && sample_format != SAMPLEFORMAT_VOID) {
    not_yet(file,
            sample_format == SAMPLEFORMAT_IEEEFP ? "floating-point numbers" : "signed or complex numbers");
  }
  if (bits != 8 && bits != 16) not_yet(file, std::to_string(bits) + " bit samples");
  facts.header.bits = bits;

  const int own = facts.layout.rgb ? 3 : 1;
  const int extra = facts.samples - own;
  if (extra < 0) file.damaged("it has too few samples a pixel; no row was reached");
  if (extra > 0) {
    std::uint16_t count = 0;
    std::uint16_t* kinds = nullptr;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_EXTRASAMPLES, &count, &kinds);
    const bool alpha = extra == 1 && count == 1 && kinds != nullptr &&
                       (kinds[0] == EXTRASAMPLE_ASSOCALPHA || kinds[0] == EXTRASAMPLE_UNASSALPHA);
    if (!alpha) {
      not_yet(file, std::to_string(extra) + (extra == 1 ? " extra channel" : " extra channels") +
                        " (spot plates, say)");
    }
    facts.layout.alpha = true;
  }
  const int orientation = tag<std::uint16_t>(tiff, TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
  if (orientation != ORIENTATION_TOPLEFT) {
    file.refuse("its orientation tag (" + std::to_string(orientation) +
                    ") asks for the picture to be turned or mirrored; only upright (1) is read",
                "save it upright, as it is to lie on the shirt");
  }
  if (TIFFIsCODECConfigured(static_cast<std::uint16_t>(facts.compression)) == 0) {
    file.refuse("it uses " + compression_name(facts.compression) + ", which is not read here",
                "export it with LZW, deflate (ZIP) or no compression");
  }
}

void take_resolution(const SourceFile& file, TIFF* tiff, TiffFacts& facts) {
  float x = 0, y = 0;
  TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x);
  TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y);
  const int unit = tag<std::uint16_t>(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
  const double per_inch = unit == RESUNIT_CENTIMETER ? kCmPerInch : 1.0;
  const double ppi = agreed_ppi(file, x * per_inch, y * per_inch);
  facts.header.ppi = unit == RESUNIT_NONE ? 0 : ppi;
}

/// More bytes than one stored byte can unpack to.
std::uint64_t unpack_limit(int compression) {
  switch (compression) {
    case COMPRESSION_NONE:
      return 1;
    case COMPRESSION_PACKBITS:
      return 64;  // two bytes make 128
    case COMPRESSION_LZW:
      return 4096;  // a code of 9 to 12 bits stands for fewer bytes than there are codes
    case COMPRESSION_ADOBE_DEFLATE:
    case COMPRESSION_DEFLATE:
      return 1032;  // zlib technical details
    default:
      return 0;
  }
}

/// Each strip or tile must lie inside the file and be able to hold its rows.
void check_blocks(const SourceFile& file, TIFF* tiff, const TiffFacts& facts) {
  const std::uint64_t sample_bytes = static_cast<unsigned>(facts.header.bits / 8);
  const std::uint64_t pixel_bytes = sample_bytes * static_cast<unsigned>(facts.planar ? 1 : facts.samples);
  const std::uint32_t height = static_cast<std::uint32_t>(facts.header.height);
  const std::uint32_t width = static_cast<std::uint32_t>(facts.header.width);
  const std::uint64_t across = facts.tiled ? (width + facts.block_width - 1) / facts.block_width : 1;
  const std::uint64_t down = (height + facts.block_rows - 1) / facts.block_rows;
  const std::uint64_t planes = static_cast<unsigned>(facts.planar ? facts.samples : 1);
  const std::uint64_t blocks = facts.tiled ? TIFFNumberOfTiles(tiff) : TIFFNumberOfStrips(tiff);
  const std::string kind = facts.tiled ? "tile " : "strip ";
  if (blocks != across * down * planes)
    file.damaged("it lists the wrong number of strips; no row was reached");
  const std::uint64_t limit = unpack_limit(facts.compression);
  for (std::uint64_t block = 0; block < blocks; ++block) {
    const std::uint32_t first = static_cast<std::uint32_t>(block / across % down) * facts.block_rows;
    const std::uint64_t offset = TIFFGetStrileOffset(tiff, static_cast<std::uint32_t>(block));
    const std::uint64_t stored = TIFFGetStrileByteCount(tiff, static_cast<std::uint32_t>(block));
    const std::uint32_t rows = facts.tiled ? facts.block_rows : std::min(facts.block_rows, height - first);
    const std::uint64_t row_bytes = (facts.tiled ? facts.block_width : width) * pixel_bytes;
    const std::uint64_t unpacked = rows * row_bytes;
    const std::string at = "row " + std::to_string(first + 1) + " of " + std::to_string(height);
    if (stored == 0) file.damaged(kind + std::to_string(block + 1) + " is empty; " + at + " cannot be read");
    if (offset > file.size() || stored > file.size() - offset) {
      file.damaged(kind + std::to_string(block + 1) + " lies beyond the end of the file; " + at +
                   " cannot be read");
    }
    if (unpacked > stored * limit) {
      file.damaged(kind + std::to_string(block + 1) + " holds " + std::to_string(stored) +
                   " bytes, too few for its rows; " + at + " cannot be read");
    }
  }
}

TiffFacts look_through(const SourceFile& file, TIFF* tiff) {
  TiffFacts facts;
  const auto width = tag<std::uint32_t>(tiff, TIFFTAG_IMAGEWIDTH, 0);
  const auto height = tag<std::uint32_t>(tiff, TIFFTAG_IMAGELENGTH, 0);
  check_plate_size(file, width, height);
  facts.header.width = static_cast<int>(width);
  facts.header.height = static_cast<int>(height);
  take_kind(file, tiff, facts);
  take_resolution(file, tiff, facts);
  facts.tiled = TIFFIsTiled(tiff) != 0;
  if (facts.tiled) {
    facts.block_width = tag<std::uint32_t>(tiff, TIFFTAG_TILEWIDTH, 0);
    facts.block_rows = tag<std::uint32_t>(tiff, TIFFTAG_TILELENGTH, 0);
    const std::string size = std::to_string(facts.block_width) + " x " + std::to_string(facts.block_rows);
    const std::uint64_t pixel_bytes = static_cast<unsigned>(facts.samples * facts.header.bits / 8);
    // Bounded one by one first, so that their product cannot overflow.
    if (facts.block_width == 0 || facts.block_rows == 0 || facts.block_width > kMaxTileBytes ||
        facts.block_rows > kMaxTileBytes ||
        std::uint64_t{facts.block_width} * facts.block_rows * pixel_bytes > kMaxTileBytes) {
      file.refuse("its tiles are " + size + " pixels; up to 256 MiB a tile is read", "export it in strips");
    }
  } else {
    facts.block_width = width;
    facts.block_rows = std::min(tag<std::uint32_t>(tiff, TIFFTAG_ROWSPERSTRIP, height), height);
    if (facts.block_rows == 0) file.damaged("its strips have no rows; no row was reached");
  }
  check_blocks(file, tiff, facts);
  std::uint32_t size = 0;
  void* bytes = nullptr;
  facts.profile = TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &size, &bytes) == 1;
  std::uint16_t* curves[3] = {};
  facts.transfer = TIFFGetField(tiff, TIFFTAG_TRANSFERFUNCTION, &curves[0], &curves[1], &curves[2]) == 1;
  facts.more_pages = TIFFLastDirectory(tiff) == 0;
  return facts;
}

/// Memory for what libtiff unpacks, aligned for 16 bit samples.
std::vector<std::uint16_t> unpack_buffer(tmsize_t bytes) {
  return std::vector<std::uint16_t>((static_cast<std::size_t>(bytes) + 1) / 2);
}

void read_strips(const SourceFile& file, const TiffHandle& handle, const TiffFacts& facts, PlateRows& rows) {
  TIFF* tiff = handle.get();
  const int width = facts.header.width;
  const int height = facts.header.height;
  const tmsize_t row_bytes =
      static_cast<tmsize_t>(width) * (facts.header.bits / 8) * (facts.planar ? 1 : facts.samples);
  if (TIFFScanlineSize(tiff) != row_bytes) file.damaged("its tags contradict each other; no row was reached");
  if (facts.samples == 1) {
    for (int y = 0; y < height; ++y) {
      if (TIFFReadScanline(tiff, rows.row(y), static_cast<std::uint32_t>(y), 0) != 1) {
        file.damaged_at_row(y, height, handle.message());
      }
      rows.finish_row(y, width);
    }
    return;
  }
  auto buffer = unpack_buffer(row_bytes);
  const int planes = facts.planar ? facts.samples : 1;
  for (int plane = 0; plane < planes; ++plane) {
    for (int y = 0; y < height; ++y) {
      if (TIFFReadScanline(tiff, buffer.data(), static_cast<std::uint32_t>(y),
                           static_cast<std::uint16_t>(plane)) != 1) {
        file.damaged_at_row(y, height, handle.message());
      }
      if (facts.planar) {
        rows.put_plane(plane, y, 0, width, buffer.data());
      } else {
        rows.put(y, 0, 1, width, buffer.data());
      }
    }
  }
}

void read_tiles(const SourceFile& file, const TiffHandle& handle, const TiffFacts& facts, PlateRows& rows) {
  TIFF* tiff = handle.get();
  const std::size_t tile_row =
      static_cast<std::size_t>(facts.block_width) *
      static_cast<std::size_t>(facts.header.bits / 8 * (facts.planar ? 1 : facts.samples));
  const auto tile_bytes = static_cast<tmsize_t>(tile_row * facts.block_rows);
  if (TIFFTileSize(tiff) != tile_bytes) file.damaged("its tags contradict each other; no row was reached");
  auto buffer = unpack_buffer(tile_bytes);
  const auto width = static_cast<std::uint32_t>(facts.header.width);
  const auto height = static_cast<std::uint32_t>(facts.header.height);
  const int planes = facts.planar ? facts.samples : 1;
  for (int plane = 0; plane < planes; ++plane) {
    for (std::uint32_t y = 0; y < height; y += facts.block_rows) {
      for (std::uint32_t x = 0; x < width; x += facts.block_width) {
        const auto tile = TIFFComputeTile(tiff, x, y, 0, static_cast<std::uint16_t>(plane));
        if (TIFFReadEncodedTile(tiff, tile, buffer.data(), tile_bytes) != tile_bytes) {
          file.damaged_at_row(static_cast<int>(y), facts.header.height, handle.message());
        }
        const int count = static_cast<int>(std::min(facts.block_width, width - x));
        const std::uint32_t tile_rows = std::min(facts.block_rows, height - y);
        for (std::uint32_t row = 0; row < tile_rows; ++row) {
          const auto* from = reinterpret_cast<const std::uint8_t*>(buffer.data()) + row * tile_row;
          if (facts.planar) {
            rows.put_plane(plane, static_cast<int>(y + row), static_cast<int>(x), count, from);
          } else {
            rows.put(static_cast<int>(y + row), static_cast<int>(x), 1, count, from);
          }
        }
      }
    }
  }
}

}  // namespace

bool is_tiff(std::span<const std::uint8_t> head) {
  if (head.size() < 4 || head[0] != head[1]) return false;
  if (head[0] == 'I') return (head[2] == 42 || head[2] == 43) && head[3] == 0;
  return head[0] == 'M' && head[2] == 0 && (head[3] == 42 || head[3] == 43);
}

PlateHeader read_tiff_header(const SourceFile& file) {
  const TiffHandle handle(file);
  return look_through(file, handle.get()).header;
}

PlateImage read_tiff_plate(const SourceFile& file, Polarity polarity, Diagnostics& notes) {
  const TiffHandle handle(file);
  const TiffFacts facts = look_through(file, handle.get());
  // Numbers that say white by 0 already grow with the ink of a dark_is_ink plate.
  const bool invert = (polarity == Polarity::dark_is_ink) != facts.white_is_zero;
  PlateRows rows(file, facts.header, facts.layout, invert);
  if (facts.tiled) {
    read_tiles(file, handle, facts, rows);
  } else {
    read_strips(file, handle, facts, rows);
  }
  std::vector<std::string> ignored;
  if (facts.transfer) ignored.emplace_back("the transfer curve");
  if (facts.profile) ignored.emplace_back("the colour profile");
  note_ignored_colour(file, ignored, notes);
  if (facts.more_pages) {
    notes.warning(file.place(), "the file holds more than one page; only the first is read",
                  "export each plate as a file of its own");
  }
  return rows.take(notes);
}

}  // namespace kirtle::detail
