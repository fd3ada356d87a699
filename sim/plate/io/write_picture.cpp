#include "plate/io/write_picture.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "plate/io/banded_writer.h"

#include <algorithm>

namespace kirtle {
namespace {

/// The ending in small letters, with its dot.
std::string ending_of(const std::filesystem::path& target) {
  std::string ending = target.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return ending;
}

void check(const PictureFormat& format) {
  KIRTLE_CHECK(format.width, >=, 1);
  KIRTLE_CHECK(format.height, >=, 1);
  KIRTLE_CHECK(format.width, <=, kMaxPictureSide);
  KIRTLE_CHECK(format.height, <=, kMaxPictureSide);
  if (format.inks.empty()) {
    KIRTLE_CHECK(format.channels == 1 || format.channels == 3 || format.channels == 4, ==, true);
  } else {
    KIRTLE_CHECK(format.channels, ==, static_cast<int>(format.inks.size()));
    KIRTLE_CHECK(format.channels, <=, kMaxPictureInks);
  }
  KIRTLE_CHECK(format.bits == 8 || format.bits == 16 || (format.bits == 1 && format.channels == 1), ==, true);
  KIRTLE_CHECK(format.ppi, >=, 0.0);
  KIRTLE_CHECK(format.ppi, <=, kMaxPicturePpi);
}

template <class Sample>
PictureFormat grey_format(int width, int height, double ppi, std::span<const Sample> pixels) {
  KIRTLE_CHECK(width, >=, 1);
  KIRTLE_CHECK(height, >=, 1);
  KIRTLE_CHECK(pixels.size(), ==, static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
  PictureFormat format;
  format.width = width;
  format.height = height;
  format.channels = 1;
  format.bits = static_cast<int>(sizeof(Sample) * 8);
  format.ppi = ppi;
  return format;
}

}  // namespace

std::unique_ptr<PictureWriter> PictureWriter::open(const std::filesystem::path& target,
                                                   const PictureFormat& format) {
  check(format);
  const std::string ending = ending_of(target);
  if (ending == ".png") {
    if (format.channels == 4 || !format.inks.empty()) {
      throw InputError({target.string(), 0, 0},
                       format.inks.empty() ? "a PNG cannot hold four process inks (CMYK)"
                                           : "a PNG cannot hold several inks",
                       "name a file that ends in .tif; nothing was written");
    }
    return detail::open_png_writer(target, format);
  }
  if (ending == ".tif" || ending == ".tiff") return detail::open_tiff_writer(target, format);
  throw InputError({target.string(), 0, 0},
                   "cannot tell which kind of picture to write: the name ends in \"" + printable(ending) +
                       "\"; .png, .tif and .tiff are known",
                   "give the file one of these endings; nothing was written");
}

void write_grey_png(const std::filesystem::path& target, int width, int height, double ppi,
                    std::span<const std::uint8_t> pixels) {
  const auto writer = PictureWriter::open(target, grey_format(width, height, ppi, pixels));
  writer->write_rows8(pixels);
  writer->commit();
}

void write_grey_png(const std::filesystem::path& target, int width, int height, double ppi,
                    std::span<const std::uint16_t> pixels) {
  const auto writer = PictureWriter::open(target, grey_format(width, height, ppi, pixels));
  writer->write_rows16(pixels);
  writer->commit();
}

}  // namespace kirtle
