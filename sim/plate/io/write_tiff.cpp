// TIFF (TIFF 6.0; Adobe Photoshop TIFF Technical Notes 2002 for deflate) through libtiff, but for the
// deflating of the strips: a band is a strip, packed by BandedWriter on several threads and handed over
// finished. Always little-endian.
#include "base/check.h"
#include "plate/io/banded_writer.h"
#include "plate/io/tiff_messages.h"

#include <cerrno>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <stdexcept>
#include <tiffio.h>

namespace kirtle::detail {
namespace {

// Offsets are 32 bits in an ordinary TIFF. Above this many bytes of samples a BigTIFF is written; the margin
// covers what deflate adds to samples that do not pack, and the tags.
constexpr std::uint64_t kBigTiffFrom = 4'000'000'000;

std::FILE* stream_of(thandle_t handle) { return static_cast<std::FILE*>(handle); }

tmsize_t read_stream(thandle_t handle, void* data, tmsize_t size) {
  return static_cast<tmsize_t>(std::fread(data, 1, static_cast<std::size_t>(size), stream_of(handle)));
}
tmsize_t write_stream(thandle_t handle, void* data, tmsize_t size) {
  return static_cast<tmsize_t>(std::fwrite(data, 1, static_cast<std::size_t>(size), stream_of(handle)));
}
toff_t seek_stream(thandle_t handle, toff_t offset, int whence) {
  if (::fseeko(stream_of(handle), static_cast<off_t>(offset), whence) != 0) return static_cast<toff_t>(-1);
  return static_cast<toff_t>(::ftello(stream_of(handle)));
}
int keep_open(thandle_t) { return 0; }  // ReplacedFile closes its stream itself
toff_t size_of_stream(thandle_t handle) {
  const off_t here = ::ftello(stream_of(handle));
  if (::fseeko(stream_of(handle), 0, SEEK_END) != 0) return 0;
  const off_t size = ::ftello(stream_of(handle));
  return ::fseeko(stream_of(handle), here, SEEK_SET) == 0 ? static_cast<toff_t>(size) : 0;
}

class TiffWriter final : public BandedWriter {
 public:
  TiffWriter(const std::filesystem::path& target, const PictureFormat& format)
      : BandedWriter(target, format, Deflater::Wrap::zlib), target_(target.string()) {
    const bool big =
        static_cast<std::uint64_t>(row_bytes()) * static_cast<std::uint64_t>(format.height) > kBigTiffFrom;
    TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
    TIFFOpenOptionsSetErrorHandlerExtR(options, keep_message, &message_);
    TIFFOpenOptionsSetWarningHandlerExtR(options, say_nothing, nullptr);
    tiff_ = TIFFClientOpenExt(target_.c_str(), big ? "wl8" : "wl", file().stream(), read_stream, write_stream,
                              seek_stream, keep_open, size_of_stream, nullptr, nullptr, options);
    TIFFOpenOptionsFree(options);
    if (tiff_ == nullptr) fail();
    try {
      set_tags();
    } catch (...) {
      TIFFCleanup(tiff_);
      throw;
    }
  }

  // Without commit() the part-file is thrown away, so nothing need be flushed to it.
  ~TiffWriter() override {
    if (tiff_ != nullptr) TIFFCleanup(tiff_);
  }

 private:
  [[noreturn]] void fail() const {
    const int cause = errno;
    std::string why = std::ferror(stream()) != 0 && cause != 0 ? std::strerror(cause) : message_;
    throw std::runtime_error(target_ + ": cannot write: " + why);
  }
  std::FILE* stream() const { return const_cast<TiffWriter*>(this)->file().stream(); }

  template <class... Values>
  void set(std::uint32_t tag, Values... values) {
    KIRTLE_CHECK(TIFFSetField(tiff_, tag, values...), ==, 1);
  }

  void set_tags() {
    set(TIFFTAG_IMAGEWIDTH, static_cast<std::uint32_t>(format().width));
    set(TIFFTAG_IMAGELENGTH, static_cast<std::uint32_t>(format().height));
    set(TIFFTAG_BITSPERSAMPLE, format().bits);
    set(TIFFTAG_SAMPLESPERPIXEL, format().channels);
    set(TIFFTAG_ROWSPERSTRIP, static_cast<std::uint32_t>(band_rows(format())));
    set(TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    set(TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
    if (!format().inks.empty()) {
      set_inks();
    } else {
      set(TIFFTAG_PHOTOMETRIC, format().channels == 1   ? PHOTOMETRIC_MINISBLACK
                               : format().channels == 3 ? PHOTOMETRIC_RGB
                                                        : PHOTOMETRIC_SEPARATED);
      if (format().channels == 4) set(TIFFTAG_INKSET, INKSET_CMYK);
    }
    set(TIFFTAG_COMPRESSION, COMPRESSION_ADOBE_DEFLATE);
    if (format().bits > 1) set(TIFFTAG_PREDICTOR, PREDICTOR_HORIZONTAL);
    if (format().ppi > 0) {
      set(TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
      set(TIFFTAG_XRESOLUTION, format().ppi);
      set(TIFFTAG_YRESOLUTION, format().ppi);
    }
    if (!format().icc_profile.empty()) {
      set(TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(format().icc_profile.size()),
          format().icc_profile.data());
    }
    std::string description;
    for (const auto& [keyword, text] : format().text) {
      if (!description.empty()) description += '\n';
      description += keyword + ": " + text;
    }
    if (!description.empty()) set(TIFFTAG_IMAGEDESCRIPTION, description.c_str());
  }

  void set_inks() {
    set(TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_SEPARATED);
    set(TIFFTAG_INKSET, INKSET_MULTIINK);
    set(TIFFTAG_NUMBEROFINKS, format().channels);
    std::string names;  // each ends with a NUL
    for (const std::string& ink : format().inks) names.append(ink).push_back('\0');
    set(TIFFTAG_INKNAMES, static_cast<std::uint32_t>(names.size()), names.data());
  }

  // Predictor 2: each sample less the one of the same channel one pixel to the left, 16 bit as whole numbers.
  void filter(std::span<const std::uint8_t> rows, std::vector<std::uint8_t>& filtered) const override {
    const std::size_t row = row_bytes();
    const std::size_t channels = static_cast<std::size_t>(format().channels);
    if (format().bits == 1) {
      filtered.assign(rows.begin(), rows.end());
      return;
    }
    filtered.resize(rows.size());
    for (std::size_t start = 0; start < rows.size(); start += row) {
      const std::uint8_t* from = rows.data() + start;
      std::uint8_t* to = filtered.data() + start;
      if (format().bits == 8) {
        std::memcpy(to, from, channels);
        for (std::size_t i = channels; i < row; ++i)
          to[i] = static_cast<std::uint8_t>(from[i] - from[i - channels]);
      } else {
        const auto sample = [&](std::size_t i) {
          std::uint16_t v;
          std::memcpy(&v, from + 2 * i, 2);
          return v;
        };
        for (std::size_t i = 0; i < row / 2; ++i) {
          const int step = i < channels ? sample(i) : sample(i) - sample(i - channels);
          to[2 * i] = static_cast<std::uint8_t>(step);
          to[2 * i + 1] = static_cast<std::uint8_t>(step >> 8);
        }
      }
    }
  }

  int flush_of(bool) const override { return Z_FINISH; }

  void put(int band, const PackedBand& packed) override {
    const auto size = static_cast<tmsize_t>(packed.bytes.size());
    void* bytes = const_cast<std::uint8_t*>(packed.bytes.data());  // libtiff reads it only
    if (TIFFWriteRawStrip(tiff_, static_cast<std::uint32_t>(band), bytes, size) != size) fail();
  }

  void finish() override {
    if (TIFFWriteDirectory(tiff_) != 1) fail();
    TIFFCleanup(tiff_);
    tiff_ = nullptr;
  }

  std::string target_;
  std::string message_;
  TIFF* tiff_ = nullptr;
};

}  // namespace

std::unique_ptr<PictureWriter> open_tiff_writer(const std::filesystem::path& target,
                                                const PictureFormat& format) {
  return std::make_unique<TiffWriter>(target, format);
}

}  // namespace kirtle::detail
