#include "plate/io/file_kind.h"

#include <array>
#include <cstring>
#include <string_view>

namespace kirtle::detail {
namespace {

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
      {"gimp xcf"sv, 0, "an image editor's own document"},
      {"CDR"sv, 8, "a drawing program's own document"},
      {"\xD7\xCD\xC6\x9A"sv, 0, "a drawing (WMF)"},
      {" EMF"sv, 40, "a drawing (EMF)"},
      {"AC10"sv, 0, "a technical drawing"},
      {"GIF8"sv, 0, "a GIF picture"},
      {"BM"sv, 0, "a BMP picture"},
      {"P5"sv, 0, "a PGM picture"},
      {"P6"sv, 0, "a PPM picture"},
      {"P4"sv, 0, "a PBM picture"},
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
      "export the plates as greys, PNG or TIFF");
}

}  // namespace

FileKind kind_of(const SourceFile& file) {
  std::array<std::uint8_t, 64> bytes{};
  const std::span<const std::uint8_t> head(bytes.data(), file.read_at(0, bytes));
  if (is_png(head)) return FileKind::png;
  if (is_tiff(head)) return FileKind::tiff;
  refuse_kind(file, head);
}

}  // namespace kirtle::detail
