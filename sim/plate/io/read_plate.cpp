#include "plate/io/read_plate.h"

#include "plate/io/source_file.h"

#include <array>
#include <cstring>
#include <string_view>

namespace kirtle {
namespace {

using detail::SourceFile;

bool starts_with(std::span<const std::uint8_t> head, std::string_view start, std::size_t at = 0) {
  return head.size() >= at + start.size() && std::memcmp(head.data() + at, start.data(), start.size()) == 0;
}

/// What a file that is neither PNG nor TIFF looks like, by its first bytes; "" if unknown.
std::string looks_like(std::span<const std::uint8_t> head) {
  using namespace std::string_view_literals;
  struct Kind {
    std::string_view start;
    std::size_t at;
    std::string_view name;
  };
  static constexpr Kind kKinds[] = {
      {"%PDF"sv, 0, "a PDF"},
      {"%!PS"sv, 0, "PostScript"},
      {"\xC5\xD0\xD3\xC6"sv, 0, "PostScript with a preview"},
      {"8BPS"sv, 0, "an image editor's own document"},
      {"\xFF\xD8\xFF"sv, 0, "a JPEG photograph"},
      {"GIF8"sv, 0, "a GIF picture"},
      {"BM"sv, 0, "a BMP picture"},
      {"WEBP"sv, 8, "a WebP picture"},
      {"ftyp"sv, 4, "a phone photograph or a film clip"},
      {"\0\0\0\x0CjP  "sv, 0, "a JPEG 2000 picture"},
      {"v/1\x01"sv, 0, "an OpenEXR picture"},
      {"PK\x03\x04"sv, 0, "a ZIP archive or an office document"},
      {"\x1F\x8B"sv, 0, "a compressed (gzip) file"},
      {"<svg"sv, 0, "an SVG drawing"},
      {"<?xml"sv, 0, "an SVG drawing or other XML"},
      {"\x89PNG"sv, 0, "a PNG spoilt by a transfer as text"},
  };
  for (const Kind& kind : kKinds) {
    if (starts_with(head, kind.start, kind.at)) return std::string(kind.name);
  }
  for (const std::uint8_t c : head) {
    if ((c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c >= 0x7f) return {};
  }
  return "text";
}

[[noreturn]] void refuse_kind(const SourceFile& file, std::span<const std::uint8_t> head) {
  const std::string kind = looks_like(head);
  file.refuse(
      kind.empty() ? "this is neither a PNG nor a TIFF" : "this looks like " + kind + ", not a PNG or TIFF",
      "export the plates as greys or TIFF");
}

enum class Kind { png, tiff };

Kind kind_of(const SourceFile& file) {
  std::array<std::uint8_t, 16> bytes{};
  const std::span<const std::uint8_t> head(bytes.data(), file.read_at(0, bytes));
  if (detail::is_png(head)) return Kind::png;
  if (detail::is_tiff(head)) return Kind::tiff;
  refuse_kind(file, head);
}

}  // namespace

PlateHeader read_plate_header(const std::filesystem::path& path) {
  const SourceFile file(path);
  return kind_of(file) == Kind::png ? detail::read_png_header(file) : detail::read_tiff_header(file);
}

PlateImage read_plate(const std::filesystem::path& path, Polarity polarity, Diagnostics& notes) {
  const SourceFile file(path);
  return kind_of(file) == Kind::png ? detail::read_png_plate(file, polarity, notes)
                                    : detail::read_tiff_plate(file, polarity, notes);
}

}  // namespace kirtle
