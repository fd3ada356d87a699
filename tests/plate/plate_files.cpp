#include "plate/plate_files.h"

#include <bit>
#include <cmath>
#include <csetjmp>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <gtest/gtest.h>

namespace kirtle::test {
namespace fs = std::filesystem;

std::vector<std::uint8_t> bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void write_bytes(const fs::path& file, const std::vector<std::uint8_t>& bytes) {
  // A file cut to nothing and written anew is flushed to the disk by some file systems, thousands of times
  // here.
  std::error_code ignored;
  fs::remove(file, ignored);
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  ASSERT_TRUE(out.good());
}

namespace {
int png_channels(int colour) {
  return colour == PNG_COLOR_TYPE_RGB          ? 3
         : colour == PNG_COLOR_TYPE_RGB_ALPHA  ? 4
         : colour == PNG_COLOR_TYPE_GRAY_ALPHA ? 2
                                               : 1;
}

/// The nearest IEEE 754 binary16 of 0 or of v within 2^-14 .. 2.
std::uint16_t to_half(double v) {
  if (v == 0) return 0;
  int exponent = 0;
  const double fraction = std::frexp(v, &exponent);  // 0.5 .. 1
  const auto steps = static_cast<int>(std::lround(std::ldexp(fraction, 11)));
  return static_cast<std::uint16_t>((exponent + 14) * 1024 + steps - 1024);
}

template <class Number>
void put_number(std::vector<std::uint8_t>& row, int i, Number v) {
  std::memcpy(row.data() + static_cast<std::size_t>(i) * sizeof v, &v, sizeof v);
}

/// One row in the file's packing: most significant bit first; 16 bit in `big` or little order; floating point
/// (sample / float_top) in this machine's.
std::vector<std::uint8_t> packed_row(int width, int channels, int depth, bool big, int y,
                                     const Sampler& sample, double float_top = 0) {
  std::vector<std::uint8_t> row(static_cast<std::size_t>((width * channels * depth + 7) / 8));
  for (int i = 0; i < width * channels; ++i) {
    const unsigned v = sample(i / channels, y, i % channels);
    if (float_top > 0) {
      const double number = v / float_top;
      if (depth == 16) put_number(row, i, to_half(number));
      if (depth == 32) put_number(row, i, static_cast<float>(number));
      if (depth == 64) put_number(row, i, number);
    } else if (depth == 16) {
      row[2 * i + (big ? 0 : 1)] = static_cast<std::uint8_t>(v >> 8);
      row[2 * i + (big ? 1 : 0)] = static_cast<std::uint8_t>(v);
    } else {
      const int bit = i * depth;
      row[bit / 8] = static_cast<std::uint8_t>(row[bit / 8] | v << (8 - depth - bit % 8));
    }
  }
  return row;
}
}  // namespace

void make_png(const fs::path& file, const PngSpec& spec, const Sampler& sample) {
  std::FILE* out = std::fopen(file.c_str(), "wb");
  ASSERT_NE(out, nullptr);
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(png);
  png_init_io(png, out);
  png_set_IHDR(png, info, static_cast<png_uint_32>(spec.width), static_cast<png_uint_32>(spec.height),
               spec.depth, spec.colour, spec.interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  if (spec.gamma) png_set_gAMA(png, info, 1 / 2.2);
  if (spec.srgb) png_set_sRGB(png, info, PNG_sRGB_INTENT_RELATIVE);
  if (spec.per_unit_x != 0) png_set_pHYs(png, info, spec.per_unit_x, spec.per_unit_y, spec.unit);
  if (!spec.palette.empty())
    png_set_PLTE(png, info, spec.palette.data(), static_cast<int>(spec.palette.size()));
  png_color_16 white{};
  white.gray = 255;
  if (spec.transparent_colour) png_set_tRNS(png, info, nullptr, 0, &white);
  if (!spec.profile.empty()) {
    // By hand, since libpng refuses a made-up profile: name, 0, method 0, one stored deflate block would do,
    // but the reader never looks inside.
    std::vector<png_byte> chunk{'x', 0, 0};
    chunk.insert(chunk.end(), spec.profile.begin(), spec.profile.end());
    png_write_info_before_PLTE(png, info);
    png_write_chunk(png, reinterpret_cast<png_const_bytep>("iCCP"), chunk.data(), chunk.size());
  }
  png_write_info(png, info);
  const int channels = png_channels(spec.colour);
  std::vector<std::vector<std::uint8_t>> rows;
  std::vector<png_bytep> pointers;
  for (int y = 0; y < spec.height; ++y)
    rows.push_back(packed_row(spec.width, channels, spec.depth, true, y, sample));
  for (auto& row : rows) pointers.push_back(row.data());
  png_write_image(png, pointers.data());
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  std::fclose(out);
}

namespace {
void make_tiff_page(TIFF* tiff, const TiffSpec& spec, const Sampler& sample) {
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, static_cast<std::uint32_t>(spec.width));
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, static_cast<std::uint32_t>(spec.height));
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, spec.depth);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, spec.samples);
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, spec.photometric);
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, spec.planar);
  TIFFSetField(tiff, TIFFTAG_COMPRESSION, spec.compression);
  if (spec.predictor != 1) TIFFSetField(tiff, TIFFTAG_PREDICTOR, spec.predictor);
  if (spec.extra >= 0) {
    const std::uint16_t kind = static_cast<std::uint16_t>(spec.extra);
    TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &kind);
  }
  if (!spec.extras.empty()) {
    TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, static_cast<std::uint16_t>(spec.extras.size()),
                 spec.extras.data());
  }
  if (spec.ink_set > 0) TIFFSetField(tiff, TIFFTAG_INKSET, spec.ink_set);
  if (spec.number_of_inks > 0) TIFFSetField(tiff, TIFFTAG_NUMBEROFINKS, spec.number_of_inks);
  if (!spec.ink_names.empty()) {
    TIFFSetField(tiff, TIFFTAG_INKNAMES, static_cast<std::uint32_t>(spec.ink_names.size()),
                 spec.ink_names.data());
  }
  if (spec.dot_none >= 0) TIFFSetField(tiff, TIFFTAG_DOTRANGE, spec.dot_none, spec.dot_solid);
  if (spec.fill_order > 0) TIFFSetField(tiff, TIFFTAG_FILLORDER, spec.fill_order);
  if (spec.subfile > 0) TIFFSetField(tiff, TIFFTAG_SUBFILETYPE, spec.subfile);
  if (!spec.page_name.empty()) TIFFSetField(tiff, TIFFTAG_PAGENAME, spec.page_name.c_str());
  if (spec.float_top > 0) TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_IEEEFP);
  if (spec.x_res > 0) TIFFSetField(tiff, TIFFTAG_XRESOLUTION, spec.x_res);
  if (spec.y_res > 0) TIFFSetField(tiff, TIFFTAG_YRESOLUTION, spec.y_res);
  if (spec.x_res > 0 || spec.y_res > 0) TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, spec.unit);
  if (spec.orientation > 0) TIFFSetField(tiff, TIFFTAG_ORIENTATION, spec.orientation);
  if (spec.sample_format > 0) TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, spec.sample_format);
  if (!spec.profile.empty()) {
    TIFFSetField(tiff, TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(spec.profile.size()),
                 spec.profile.data());
  }
  const bool planar = spec.planar == PLANARCONFIG_SEPARATE;
  const int planes = planar ? spec.samples : 1;
  const int channels = planar ? 1 : spec.samples;
  constexpr bool big = std::endian::native == std::endian::big;  // libtiff swaps to the file's own order
  if (spec.tile > 0) {
    TIFFSetField(tiff, TIFFTAG_TILEWIDTH, static_cast<std::uint32_t>(spec.tile));
    TIFFSetField(tiff, TIFFTAG_TILELENGTH, static_cast<std::uint32_t>(spec.tile));
    for (int plane = 0; plane < planes; ++plane) {
      for (int y0 = 0; y0 < spec.height; y0 += spec.tile) {
        for (int x0 = 0; x0 < spec.width; x0 += spec.tile) {
          std::vector<std::uint8_t> tile;
          for (int y = y0; y < y0 + spec.tile; ++y) {
            const auto row = packed_row(
                spec.tile, channels, spec.depth, big, y,
                [&](int x, int yy, int c) {
                  if (x0 + x >= spec.width || yy >= spec.height)
                    return spec.depth == 1 ? 1u : 3u;  // beyond the edge: must not be read
                  return sample(x0 + x, yy, planar ? plane : c);
                },
                spec.float_top);
            tile.insert(tile.end(), row.begin(), row.end());
          }
          TIFFWriteTile(tiff, tile.data(), static_cast<std::uint32_t>(x0), static_cast<std::uint32_t>(y0), 0,
                        static_cast<std::uint16_t>(plane));
        }
      }
    }
  } else {
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, static_cast<std::uint32_t>(spec.rows_per_strip));
    for (int plane = 0; plane < planes; ++plane) {
      for (int y = 0; y < spec.height; ++y) {
        auto row = packed_row(
            spec.width, channels, spec.depth, big, y,
            [&](int x, int yy, int c) { return sample(x, yy, planar ? plane : c); }, spec.float_top);
        ASSERT_EQ(TIFFWriteScanline(tiff, row.data(), static_cast<std::uint32_t>(y),
                                    static_cast<std::uint16_t>(plane)),
                  1);
      }
    }
  }
}
}  // namespace

void make_tiff_pages(const fs::path& file, const std::vector<TiffSpec>& specs,
                     const std::function<unsigned(int page, int x, int y, int c)>& sample) {
  TIFF* tiff = TIFFOpen(file.c_str(), specs.front().mode.c_str());
  ASSERT_NE(tiff, nullptr);
  for (int page = 0; page < static_cast<int>(specs.size()); ++page) {
    make_tiff_page(tiff, specs[static_cast<std::size_t>(page)],
                   [&](int x, int y, int c) { return sample(page, x, y, c); });
    ASSERT_EQ(TIFFWriteDirectory(tiff), 1);
  }
  TIFFClose(tiff);
}

void make_tiff(const fs::path& file, const TiffSpec& spec, const Sampler& sample) {
  TIFFSetWarningHandler(nullptr);
  TIFF* tiff = TIFFOpen(file.c_str(), spec.mode.c_str());
  ASSERT_NE(tiff, nullptr);
  for (int page = 0; page < spec.pages; ++page) {
    make_tiff_page(tiff, spec, sample);
    ASSERT_EQ(TIFFWriteDirectory(tiff), 1);
  }
  TIFFClose(tiff);
}

namespace {
void le(std::vector<std::uint8_t>& out, std::uint32_t v, int bytes) {
  for (int i = 0; i < bytes; ++i) out.push_back(static_cast<std::uint8_t>(v >> (8 * i)));
}
int value_bytes(int type) { return type <= 2 ? 1 : type == 3 ? 2 : 4; }
std::size_t array_bytes(const TiffEntry& e) {
  const std::size_t bytes = e.values.size() * static_cast<unsigned>(value_bytes(e.type));
  return bytes > 4 ? bytes : 0;
}
}  // namespace

std::uint32_t hand_made_data_offset(const std::vector<TiffEntry>& entries) {
  std::size_t at = 8 + 2 + 12 * entries.size() + 4;
  for (const TiffEntry& e : entries) at += array_bytes(e);
  return static_cast<std::uint32_t>(at);
}

std::vector<std::uint8_t> hand_made_tiff(const std::vector<TiffEntry>& entries,
                                         const std::vector<std::uint8_t>& data) {
  std::vector<std::uint8_t> out{'I', 'I', 42, 0};
  le(out, 8, 4);
  le(out, static_cast<std::uint32_t>(entries.size()), 2);
  std::size_t array = 8 + 2 + 12 * entries.size() + 4;
  std::vector<std::uint8_t> arrays;
  for (const TiffEntry& e : entries) {
    le(out, e.tag, 2);
    le(out, e.type, 2);
    le(out, e.count != 0 ? e.count : static_cast<std::uint32_t>(e.values.size()), 4);
    std::vector<std::uint8_t> values;
    for (const std::uint32_t v : e.values) le(values, v, value_bytes(e.type));
    if (array_bytes(e) > 0) {
      le(out, static_cast<std::uint32_t>(array + arrays.size()), 4);
      arrays.insert(arrays.end(), values.begin(), values.end());
    } else {
      values.resize(4);
      out.insert(out.end(), values.begin(), values.end());
    }
  }
  le(out, 0, 4);
  out.insert(out.end(), arrays.begin(), arrays.end());
  out.insert(out.end(), data.begin(), data.end());
  return out;
}

namespace {
void note_trouble(png_structp png, png_const_charp text) {
  *static_cast<std::string*>(png_get_error_ptr(png)) += text;
}
[[noreturn]] void stop_at_trouble(png_structp png, png_const_charp text) {
  note_trouble(png, text);
  png_longjmp(png, 1);
}
bool read_whole_png(png_structp png, png_infop info) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  png_read_png(png, info, PNG_TRANSFORM_IDENTITY, nullptr);
  return true;
}
}  // namespace

DecodedPng decode_png(const fs::path& file) {
  DecodedPng out;
  std::FILE* in = std::fopen(file.c_str(), "rb");
  if (in == nullptr) return out;
  png_structp png =
      png_create_read_struct(PNG_LIBPNG_VER_STRING, &out.trouble, stop_at_trouble, note_trouble);
  png_infop info = png_create_info_struct(png);
  png_init_io(png, in);
  if (read_whole_png(png, info)) {
    out.width = static_cast<int>(png_get_image_width(png, info));
    out.height = static_cast<int>(png_get_image_height(png, info));
    out.depth = png_get_bit_depth(png, info);
    out.channels = png_get_channels(png, info);
    out.x_per_metre = png_get_x_pixels_per_meter(png, info);
    out.y_per_metre = png_get_y_pixels_per_meter(png, info);
    int intent = 0;
    out.srgb = png_get_sRGB(png, info, &intent) != 0;
    png_bytepp rows = png_get_rows(png, info);
    for (int y = 0; y < out.height; ++y) {
      for (int i = 0; i < out.width * out.channels; ++i) {
        out.samples.push_back(out.depth == 16
                                  ? static_cast<std::uint16_t>(rows[y][2 * i] << 8 | rows[y][2 * i + 1])
                                  : rows[y][i]);
      }
    }
    png_charp name = nullptr;
    int method = 0;
    png_bytep profile = nullptr;
    png_uint_32 size = 0;
    if (png_get_iCCP(png, info, &name, &method, &profile, &size) != 0)
      out.profile.assign(profile, profile + size);
    png_textp text = nullptr;
    const int texts = png_get_text(png, info, &text, nullptr);
    for (int i = 0; i < texts; ++i) out.text.emplace_back(text[i].key, text[i].text);
  }
  png_destroy_read_struct(&png, &info, nullptr);
  std::fclose(in);
  return out;
}

namespace {
int tiff_trouble(TIFF*, void* user, const char*, const char* text, va_list args) {
  char message[256];
  std::vsnprintf(message, sizeof message, text, args);
  *static_cast<std::string*>(user) += message;
  return 1;
}
}  // namespace

DecodedTiff decode_tiff(const fs::path& file) {
  DecodedTiff out;
  TIFFOpenOptions* options = TIFFOpenOptionsAlloc();
  TIFFOpenOptionsSetErrorHandlerExtR(options, tiff_trouble, &out.trouble);
  TIFFOpenOptionsSetWarningHandlerExtR(options, tiff_trouble, &out.trouble);
  TIFF* tiff = TIFFOpenExt(file.c_str(), "r", options);
  TIFFOpenOptionsFree(options);
  if (tiff == nullptr) return out;
  std::uint32_t width = 0, height = 0;
  std::uint16_t depth = 0, channels = 0, photometric = 0, compression = 0;
  float x = 0, y_res = 0;
  TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width);
  TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height);
  TIFFGetField(tiff, TIFFTAG_BITSPERSAMPLE, &depth);
  TIFFGetField(tiff, TIFFTAG_SAMPLESPERPIXEL, &channels);
  TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &photometric);
  TIFFGetField(tiff, TIFFTAG_COMPRESSION, &compression);
  TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x);
  TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y_res);
  out.width = static_cast<int>(width);
  out.height = static_cast<int>(height);
  out.depth = depth;
  out.channels = channels;
  out.photometric = photometric;
  out.compression = compression;
  out.x_res = x;
  out.y_res = y_res;
  std::uint32_t size = 0;
  void* profile = nullptr;
  if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &size, &profile) == 1) {
    const auto* p = static_cast<const std::uint8_t*>(profile);
    out.profile.assign(p, p + size);
  }
  char* description = nullptr;
  if (TIFFGetField(tiff, TIFFTAG_IMAGEDESCRIPTION, &description) == 1) out.description = description;
  std::vector<std::uint8_t> row(static_cast<std::size_t>(TIFFScanlineSize(tiff)));
  for (std::uint32_t y = 0; y < height; ++y) {
    if (TIFFReadScanline(tiff, row.data(), y, 0) != 1) out.trouble += "row";
    for (std::size_t i = 0; i < static_cast<std::size_t>(width) * channels; ++i) {
      std::uint16_t v = row[i];
      if (depth == 16) std::memcpy(&v, row.data() + 2 * i, 2);
      out.samples.push_back(v);
    }
  }
  TIFFClose(tiff);
  return out;
}

}  // namespace kirtle::test
