#include "plate/io/tiff_page.h"

#include "base/units.h"
#include "plate/io/tiff_messages.h"

#include <algorithm>
#include <cstdarg>
#include <unistd.h>

namespace kirtle::detail {
namespace {

constexpr std::uint64_t kMaxBlockBytes = std::uint64_t{256} << 20;
constexpr tmsize_t kMemoryBeyondFile = tmsize_t{64} << 20;
constexpr int kMaxSamples = 2 * kMaxPlatesOfPage;

[[noreturn]] void refuse_kind(const SourceFile& file, const std::string& what) {
  file.refuse(
      "this TIFF holds " + what +
          ", which is not read; grey, RGB and Separated of 1, 2, 4, 8 or 16 bit or floating point are",
      "export the plates as greys, PNG or TIFF, 8 or 16 bit");
}

std::string compression_name(int compression) {
  const TIFFCodec* codec = TIFFFindCODEC(static_cast<std::uint16_t>(compression));
  return (codec != nullptr ? std::string(codec->name) : "number " + std::to_string(compression)) +
         " compression";
}

std::string photometric_name(int photometric) {
  switch (photometric) {
    case PHOTOMETRIC_PALETTE:
      return "a palette of more than 8 bit";
    case PHOTOMETRIC_MASK:
      return "a mask";
    case PHOTOMETRIC_YCBCR:
      return "YCbCr colour";
    case PHOTOMETRIC_CIELAB:
    case PHOTOMETRIC_ICCLAB:
    case PHOTOMETRIC_ITULAB:
      return "Lab colour";
    case PHOTOMETRIC_CFA:
      return "a camera's raw mosaic";
    case PHOTOMETRIC_LOGL:
      return "logarithmic light (LogL)";
    case PHOTOMETRIC_LOGLUV:
      return "logarithmic colour (LogLuv)";
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

void take_number(const SourceFile& file, TIFF* tiff, StoredNumber& number) {
  const int bits = tag<std::uint16_t>(tiff, TIFFTAG_BITSPERSAMPLE, 1);
  const int format = tag<std::uint16_t>(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_UINT);
  number = {bits, format == SAMPLEFORMAT_IEEEFP};
  if (number.is_float) {
    if (bits != 16 && bits != 32 && bits != 64)
      refuse_kind(file, std::to_string(bits) + " bit floating-point numbers");
    return;
  }
  if (format != SAMPLEFORMAT_UINT && format != SAMPLEFORMAT_VOID)
    refuse_kind(file, "signed or complex numbers");
  if (bits != 1 && bits != 2 && bits != 4 && bits != 8 && bits != 16)
    refuse_kind(file, std::to_string(bits) + " bit samples");
}

/// Colours of a palette in 8 bit. Old files hold 8 bit in the 16.
void take_palette(const SourceFile& file, TIFF* tiff, PlatePage& page) {
  if (page.number.is_float || page.number.bits > 8) refuse_kind(file, photometric_name(PHOTOMETRIC_PALETTE));
  if (page.samples != 1) refuse_kind(file, "a palette with more samples beside it");
  std::uint16_t* channel[3] = {};
  if (TIFFGetField(tiff, TIFFTAG_COLORMAP, &channel[0], &channel[1], &channel[2]) != 1)
    file.damaged("its palette is missing; no row was reached");
  const std::size_t size = std::size_t{1} << page.number.bits;
  unsigned highest = 0;
  for (const std::uint16_t* c : channel)
    highest = std::max<unsigned>(highest, *std::max_element(c, c + size));
  const auto of = [&](std::uint16_t v) {
    return static_cast<std::uint8_t>(highest < 256 ? v : (v * 255u + 32767u) / 65535u);
  };
  for (std::size_t i = 0; i < size; ++i)
    page.palette.push_back({of(channel[0][i]), of(channel[1][i]), of(channel[2][i])});
}

void take_kind(const SourceFile& file, TIFF* tiff, const TiffTags& tags, TiffPage& facts) {
  PlatePage& page = facts.page;
  page.samples = tag<std::uint16_t>(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
  if (page.samples < 1 || page.samples > kMaxSamples) {
    file.refuse("it has " + std::to_string(page.samples) + " samples a pixel; 1 to " +
                    std::to_string(kMaxSamples) + " are read, " + std::to_string(kMaxPlatesOfPage) +
                    " of them plates",
                "export the plates in several files; a damaged header can also say this");
  }
  facts.compression = tag<std::uint16_t>(tiff, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
  page.planar =
      tag<std::uint16_t>(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG) == PLANARCONFIG_SEPARATE &&
      page.samples > 1;
  facts.photometric = tag<std::uint16_t>(tiff, TIFFTAG_PHOTOMETRIC, 65535);
  if (facts.photometric == 65535)
    file.damaged("it does not say what its numbers mean (photometric); no row was reached");
  // libtiff takes a palette picture without its palette for a grey.
  const auto written = tags.numbers(TIFFTAG_PHOTOMETRIC, "photometric", 1);
  if (written && *written == std::vector<std::uint32_t>{PHOTOMETRIC_PALETTE} &&
      facts.photometric != PHOTOMETRIC_PALETTE)
    file.damaged("its palette is missing; no row was reached");
  const bool known = facts.photometric == PHOTOMETRIC_MINISWHITE ||
                     facts.photometric == PHOTOMETRIC_MINISBLACK || facts.photometric == PHOTOMETRIC_RGB ||
                     facts.photometric == PHOTOMETRIC_SEPARATED || facts.photometric == PHOTOMETRIC_PALETTE;
  if (!known) refuse_kind(file, photometric_name(facts.photometric));
  take_number(file, tiff, page.number);
  if (facts.photometric == PHOTOMETRIC_PALETTE) take_palette(file, tiff, page);
  const int orientation = tag<std::uint16_t>(tiff, TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
  if (orientation != ORIENTATION_TOPLEFT) {
    file.refuse("its orientation tag (" + std::to_string(orientation) +
                    ") asks for the picture to be turned or mirrored; only upright (1) is read",
                "save it upright, as it is to lie on the shirt");
  }
}

void take_resolution(const SourceFile& file, TIFF* tiff, PlatePage& page) {
  float x = 0, y = 0;
  TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x);
  TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y);
  const int unit = tag<std::uint16_t>(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
  const double per_inch = unit == RESUNIT_CENTIMETER ? kCmPerInch : 1.0;
  const double ppi = agreed_ppi(file, x * per_inch, y * per_inch);
  page.ppi = unit == RESUNIT_NONE ? 0 : ppi;
}

/// These unpack a whole block at once into memory of their own.
bool unpacks_whole_blocks(int compression) {
  return compression == COMPRESSION_WEBP || compression == COMPRESSION_JPEG;
}

/// Not LERC: libtiff 4.5 reads back other numbers than it wrote into a big-endian file. Not JBIG: it cannot
/// read it row by row. Not the logarithmic ones.
void check_compression(const SourceFile& file, int compression) {
  static constexpr int kRead[] = {COMPRESSION_NONE,      COMPRESSION_PACKBITS,  COMPRESSION_LZW,
                                  COMPRESSION_DEFLATE,   COMPRESSION_CCITTRLE,  COMPRESSION_CCITTRLEW,
                                  COMPRESSION_CCITTFAX3, COMPRESSION_CCITTFAX4, COMPRESSION_ADOBE_DEFLATE,
                                  COMPRESSION_ZSTD,      COMPRESSION_LZMA,      COMPRESSION_JPEG,
                                  COMPRESSION_WEBP};
  const bool read = std::find(std::begin(kRead), std::end(kRead), compression) != std::end(kRead);
  if (!read || TIFFIsCODECConfigured(static_cast<std::uint16_t>(compression)) == 0) {
    file.refuse("it uses " + compression_name(compression) + ", which is not read here",
                "export it with LZW, deflate (ZIP) or no compression");
  }
}

void take_blocks(const SourceFile& file, TIFF* tiff, TiffPage& facts) {
  const auto width = static_cast<std::uint32_t>(facts.page.width);
  const auto height = static_cast<std::uint32_t>(facts.page.height);
  facts.tiled = TIFFIsTiled(tiff) != 0;
  if (facts.tiled) {
    facts.block_width = tag<std::uint32_t>(tiff, TIFFTAG_TILEWIDTH, 0);
    facts.block_rows = tag<std::uint32_t>(tiff, TIFFTAG_TILELENGTH, 0);
  } else {
    facts.block_width = width;
    facts.block_rows = std::min(tag<std::uint32_t>(tiff, TIFFTAG_ROWSPERSTRIP, height), height);
    if (facts.block_rows == 0) file.damaged("its strips have no rows; no row was reached");
    if (!unpacks_whole_blocks(facts.compression)) return;
  }
  // Bounded one by one first, so that their product cannot overflow.
  if (facts.block_width == 0 || facts.block_rows == 0 || facts.block_width > kMaxBlockBytes ||
      facts.block_rows > kMaxBlockBytes ||
      facts.row_bytes(facts.block_width) * facts.block_rows > kMaxBlockBytes) {
    file.refuse(std::string("its ") + (facts.tiled ? "tiles" : "strips") + " are " +
                    std::to_string(facts.block_width) + " x " + std::to_string(facts.block_rows) +
                    " pixels; up to 256 MiB each is read",
                "export it in strips, with LZW, deflate (ZIP) or no compression");
  }
}

}  // namespace

TiffHandle::TiffHandle(SourceFile& file) {
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

TiffPage look_through(const SourceFile& file, const TiffHandle& handle, int number, Diagnostics& notes) {
  TIFF* tiff = handle.get();
  TiffPage facts;
  const auto subfile = tag<std::uint32_t>(tiff, TIFFTAG_SUBFILETYPE, 0);
  if ((subfile & (FILETYPE_REDUCEDIMAGE | FILETYPE_MASK)) != 0) {
    notes.notice(file.place(), file.about_page((subfile & FILETYPE_MASK) != 0
                                                   ? "a see-through mask; left out"
                                                   : "a reduced copy of another page; left out"));
    facts.skipped = true;
    return facts;
  }
  const auto width = tag<std::uint32_t>(tiff, TIFFTAG_IMAGEWIDTH, 0);
  const auto height = tag<std::uint32_t>(tiff, TIFFTAG_IMAGELENGTH, 0);
  check_plate_size(file, width, height);
  facts.page.width = static_cast<int>(width);
  facts.page.height = static_cast<int>(height);
  const TiffTags tags(file, TIFFCurrentDirOffset(tiff));
  take_kind(file, tiff, tags, facts);
  check_compression(file, facts.compression);
  take_resolution(file, tiff, facts.page);
  take_blocks(file, tiff, facts);
  check_blocks(file, tiff, facts);
  take_plates(file, tags, number, facts, notes);
  std::uint32_t size = 0;
  void* bytes = nullptr;
  facts.profile = TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &size, &bytes) == 1;
  std::uint16_t* curves[3] = {};
  facts.transfer = TIFFGetField(tiff, TIFFTAG_TRANSFERFUNCTION, &curves[0], &curves[1], &curves[2]) == 1;
  return facts;
}

}  // namespace kirtle::detail
