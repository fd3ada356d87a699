#pragma once
// Files for the plate tests, made with libpng and libtiff directly, not with the code under test.
#include "base/temp_folder.h"

#include <cstdint>
#include <filesystem>
#include <functional>
#include <png.h>
#include <string>
#include <tiffio.h>
#include <utility>
#include <vector>

namespace kirtle::test {

std::vector<std::uint8_t> bytes_of(const std::filesystem::path& file);
void write_bytes(const std::filesystem::path& file, const std::vector<std::uint8_t>& bytes);

/// The sample of channel c at (x, y), in the file's own depth.
using Sampler = std::function<unsigned(int x, int y, int c)>;

struct PngSpec {
  int width = 0, height = 0, depth = 8;
  int colour = PNG_COLOR_TYPE_GRAY;
  bool interlaced = false;
  std::uint32_t per_unit_x = 0, per_unit_y = 0;  // pHYs, if not 0
  int unit = PNG_RESOLUTION_METER;
  bool gamma = false, srgb = false, transparent_colour = false;
  std::vector<std::uint8_t> profile{};
  std::vector<png_color> palette{};
};
void make_png(const std::filesystem::path& file, const PngSpec& spec, const Sampler& sample);

struct TiffSpec {
  int width = 0, height = 0, depth = 8, samples = 1;
  int photometric = PHOTOMETRIC_MINISBLACK;
  int compression = COMPRESSION_NONE;
  int predictor = 1;
  int planar = PLANARCONFIG_CONTIG;
  int tile = 0;  // side; 0 = strips
  int rows_per_strip = 7;
  std::string mode = "wl";              // "wb": big-endian; "wl8": BigTIFF
  int extra = -1;                       // kind of the one extra sample
  std::vector<std::uint16_t> extras{};  // kinds of several
  int ink_set = 0, number_of_inks = 0;
  std::string ink_names{};  // each ends in NUL
  int dot_none = -1, dot_solid = -1;
  int fill_order = 0, subfile = 0;
  double float_top = 0;  // > 0: floating point, sample / float_top
  std::string page_name{};
  double x_res = 0, y_res = 0;
  int unit = RESUNIT_INCH;
  int orientation = 0;
  int sample_format = 0;
  std::vector<std::uint8_t> profile;
  int pages = 1;
};
void make_tiff(const std::filesystem::path& file, const TiffSpec& spec, const Sampler& sample);

/// Pages that may differ.
void make_tiff_pages(const std::filesystem::path& file, const std::vector<TiffSpec>& specs,
                     const std::function<unsigned(int page, int x, int y, int c)>& sample);

/// One entry of a TIFF directory written by hand, so that it can lie. type: 1 and 2 (text) = 8 bit, 3 = 16
/// bit, others 32 bit.
struct TiffEntry {
  std::uint16_t tag, type;
  std::vector<std::uint32_t> values;
  std::uint32_t count = 0;  // 0 = values.size()
};
/// Little-endian TIFF with its directory in front: header, directory, arrays, then `data` (at offset
/// data_offset()).
std::vector<std::uint8_t> hand_made_tiff(const std::vector<TiffEntry>& entries,
                                         const std::vector<std::uint8_t>& data);
std::uint32_t hand_made_data_offset(const std::vector<TiffEntry>& entries);

/// A PNG read with libpng alone.
struct DecodedPng {
  int width = 0, height = 0, depth = 0, channels = 0;
  std::uint32_t x_per_metre = 0, y_per_metre = 0;
  bool srgb = false;
  std::vector<std::uint16_t> samples;  // file depth, interleaved
  std::vector<std::uint8_t> profile;
  std::vector<std::pair<std::string, std::string>> text;
  std::string trouble;  // errors and warnings
};
DecodedPng decode_png(const std::filesystem::path& file);

/// A TIFF read with libtiff alone.
struct DecodedTiff {
  int width = 0, height = 0, depth = 0, channels = 0, photometric = 0, compression = 0;
  double x_res = 0, y_res = 0;
  std::vector<std::uint16_t> samples;
  std::vector<std::uint8_t> profile;
  std::string description;
  std::string trouble;
};
DecodedTiff decode_tiff(const std::filesystem::path& file);

}  // namespace kirtle::test
