// PNG by hand over zlib (ISO/IEC 15948, PNG specification), because libpng deflates on one thread only. The
// zlib stream (RFC 1950, RFC 1951) is put together from bands that each end on a byte (Z_SYNC_FLUSH), one
// IDAT chunk a band.
#include "base/check.h"
#include "base/units.h"
#include "plate/io/banded_writer.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstring>

namespace kirtle::detail {
namespace {

using Bytes = std::vector<std::uint8_t>;

void append_be32(Bytes& out, std::uint32_t v) {
  for (int shift = 24; shift >= 0; shift -= 8) out.push_back(static_cast<std::uint8_t>(v >> shift));
}

void append_text(Bytes& out, std::string_view text) { out.insert(out.end(), text.begin(), text.end()); }

bool is_ascii(std::string_view text) {
  for (const char c : text) {
    if (static_cast<unsigned char>(c) > 0x7e) return false;
  }
  return true;
}

/// Keywords are ours, never the user's: 1 to 79 printable ASCII characters.
void check_keyword(const std::string& keyword) {
  KIRTLE_CHECK(keyword.size(), >=, 1u);
  KIRTLE_CHECK(keyword.size(), <=, 79u);
  KIRTLE_CHECK(is_ascii(keyword), ==, true);
}

class PngWriter final : public BandedWriter {
 public:
  PngWriter(const std::filesystem::path& target, const PictureFormat& format)
      : BandedWriter(target, format, Deflater::Wrap::raw) {
    constexpr std::array<std::uint8_t, 8> signature{0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    file().write(std::as_bytes(std::span(signature)));
    Bytes header;
    append_be32(header, static_cast<std::uint32_t>(format.width));
    append_be32(header, static_cast<std::uint32_t>(format.height));
    header.push_back(static_cast<std::uint8_t>(format.bits));
    header.push_back(format.channels == 1 ? 0 : 2);
    header.insert(header.end(), {0, 0, 0});
    put_chunk("IHDR", header);
    put_colour();
    put_resolution();
    for (const auto& [keyword, text] : format.text) put_text(keyword, text);
  }

 private:
  void put_chunk(std::string_view type, std::span<const std::uint8_t> data) {
    const auto* name = reinterpret_cast<const Bytef*>(type.data());
    uLong crc = crc32(crc32(0, nullptr, 0), name, 4);
    if (!data.empty()) crc = crc32(crc, data.data(), static_cast<uInt>(data.size()));
    Bytes head;
    append_be32(head, static_cast<std::uint32_t>(data.size()));
    append_text(head, type);
    file().write(std::as_bytes(std::span(head)));
    if (!data.empty()) file().write(std::as_bytes(data));
    Bytes tail;
    append_be32(tail, static_cast<std::uint32_t>(crc));
    file().write(std::as_bytes(std::span(tail)));
  }

  void put_colour() {
    const Bytes& profile = format().icc_profile;
    if (!profile.empty()) {
      Bytes chunk;
      append_text(chunk, "ICC profile");
      chunk.insert(chunk.end(), {0, 0});  // end of name; method 0 = deflate
      uLongf packed_size = compressBound(static_cast<uLong>(profile.size()));
      Bytes packed(packed_size);
      KIRTLE_CHECK(
          compress2(packed.data(), &packed_size, profile.data(), static_cast<uLong>(profile.size()), 9), ==,
          Z_OK);
      chunk.insert(chunk.end(), packed.begin(), packed.begin() + static_cast<std::ptrdiff_t>(packed_size));
      put_chunk("iCCP", chunk);
    } else if (format().channels == 3) {
      put_chunk("sRGB", Bytes{1});  // relative colorimetric
    }
  }

  void put_resolution() {
    if (!(format().ppi > 0)) return;
    Bytes chunk;
    const auto per_metre = static_cast<std::uint32_t>(std::lround(format().ppi * 1000.0 / kMmPerInch));
    append_be32(chunk, per_metre);
    append_be32(chunk, per_metre);
    chunk.push_back(1);
    put_chunk("pHYs", chunk);
  }

  void put_text(const std::string& keyword, const std::string& text) {
    check_keyword(keyword);
    KIRTLE_CHECK(text.find('\0'), ==, std::string::npos);
    Bytes chunk;
    append_text(chunk, keyword);
    chunk.push_back(0);
    if (is_ascii(text)) {
      append_text(chunk, text);
      put_chunk("tEXt", chunk);
    } else {
      chunk.insert(chunk.end(), {0, 0, 0, 0});  // plain; method; no language; no translated keyword
      append_text(chunk, text);
      put_chunk("iTXt", chunk);
    }
  }

  // Every row: filter type 1 (SUB), then each byte less the byte one pixel to the left. 16 bit is big-endian.
  void filter(std::span<const std::uint8_t> rows, Bytes& filtered) const override {
    const std::size_t pixel = static_cast<std::size_t>(std::max(format().channels * format().bits / 8, 1));
    const std::size_t row = row_bytes();
    const std::size_t count = rows.size() / row;
    filtered.resize(count * (row + 1));
    Bytes swapped(format().bits == 16 && std::endian::native == std::endian::little ? row : 0);
    for (std::size_t y = 0; y < count; ++y) {
      const std::uint8_t* from = rows.data() + y * row;
      if (!swapped.empty()) {
        for (std::size_t i = 0; i < row; i += 2) {
          swapped[i] = from[i + 1];
          swapped[i + 1] = from[i];
        }
        from = swapped.data();
      }
      std::uint8_t* to = filtered.data() + y * (row + 1);
      *to++ = 1;
      std::memcpy(to, from, pixel);
      for (std::size_t i = pixel; i < row; ++i) to[i] = static_cast<std::uint8_t>(from[i] - from[i - pixel]);
    }
  }

  int flush_of(bool last) const override { return last ? Z_FINISH : Z_SYNC_FLUSH; }

  void put(int band, const PackedBand& packed) override {
    if (band == 0) put_chunk("IDAT", Bytes{0x78, 0x01});  // zlib header: deflate, 32 KiB window, fastest
    put_chunk("IDAT", packed.bytes);
    adler_ = adler32_combine(adler_, packed.adler, static_cast<z_off_t>(packed.unpacked));
  }

  void finish() override {
    Bytes sum;
    append_be32(sum, static_cast<std::uint32_t>(adler_));
    put_chunk("IDAT", sum);
    put_chunk("IEND", {});
  }

  uLong adler_ = 1;
};

}  // namespace

std::unique_ptr<PictureWriter> open_png_writer(const std::filesystem::path& target,
                                               const PictureFormat& format) {
  return std::make_unique<PngWriter>(target, format);
}

}  // namespace kirtle::detail
