// TIFF 6.0 through libtiff. Every handle has its own error handlers and its own limit on memory, so files can
// be read on several threads.
#include "plate/io/page_reader.h"
#include "plate/io/tiff_page.h"

#include <algorithm>

namespace kirtle::detail {
namespace {

/// Memory for what libtiff unpacks, aligned for every kind of number.
std::vector<double> unpack_buffer(std::uint64_t bytes) { return std::vector<double>((bytes + 7) / 8); }

[[noreturn]] void contradiction(const SourceFile& file) {
  file.damaged("its tags contradict each other; no row was reached");
}

void read_strips(const SourceFile& file, const TiffHandle& handle, const TiffPage& facts, PlateRows& rows) {
  TIFF* tiff = handle.get();
  const int width = facts.page.width;
  const int height = facts.page.height;
  const std::uint64_t row_bytes = facts.row_bytes(static_cast<unsigned>(width));
  if (static_cast<std::uint64_t>(TIFFScanlineSize(tiff)) != row_bytes) contradiction(file);
  auto buffer = unpack_buffer(row_bytes);
  const bool one_by_one = facts.page.planar || facts.page.samples == 1;
  const int planes = facts.page.planar ? facts.page.samples : 1;
  for (int plane = 0; plane < planes; ++plane) {
    if (one_by_one && !rows.wants_plane(plane)) continue;
    for (int y = 0; y < height; ++y) {
      void* direct = one_by_one ? rows.direct_row(y, plane) : nullptr;
      if (TIFFReadScanline(tiff, direct != nullptr ? direct : buffer.data(), static_cast<std::uint32_t>(y),
                           static_cast<std::uint16_t>(plane)) != 1) {
        file.damaged_at_row(y, height, handle.message());
      }
      if (direct != nullptr) {
        rows.finish_direct_row(y);
      } else if (facts.page.planar) {
        rows.put_plane(plane, y, 0, width, buffer.data());
      } else {
        rows.put(y, 0, 1, width, buffer.data());
      }
      if (rows.done() || rows.enough(y)) return;
    }
  }
}

void read_tiles(const SourceFile& file, const TiffHandle& handle, const TiffPage& facts, PlateRows& rows) {
  TIFF* tiff = handle.get();
  const std::uint64_t tile_row = facts.row_bytes(facts.block_width);
  const auto tile_bytes = static_cast<tmsize_t>(tile_row * facts.block_rows);
  if (TIFFTileSize(tiff) != tile_bytes) contradiction(file);
  auto buffer = unpack_buffer(static_cast<std::uint64_t>(tile_bytes));
  const auto width = static_cast<std::uint32_t>(facts.page.width);
  const auto height = static_cast<std::uint32_t>(facts.page.height);
  const int planes = facts.page.planar ? facts.page.samples : 1;
  for (int plane = 0; plane < planes; ++plane) {
    if (facts.page.planar && !rows.wants_plane(plane)) continue;
    for (std::uint32_t y = 0; y < height; y += facts.block_rows) {
      for (std::uint32_t x = 0; x < width; x += facts.block_width) {
        const auto tile = TIFFComputeTile(tiff, x, y, 0, static_cast<std::uint16_t>(plane));
        if (TIFFReadEncodedTile(tiff, tile, buffer.data(), tile_bytes) != tile_bytes)
          file.damaged_at_row(static_cast<int>(y), facts.page.height, handle.message());
        const int count = static_cast<int>(std::min(facts.block_width, width - x));
        const std::uint32_t tile_rows = std::min(facts.block_rows, height - y);
        for (std::uint32_t row = 0; row < tile_rows; ++row) {
          const auto* from = reinterpret_cast<const std::uint8_t*>(buffer.data()) + row * tile_row;
          if (facts.page.planar) {
            rows.put_plane(plane, static_cast<int>(y + row), static_cast<int>(x), count, from);
          } else {
            rows.put(static_cast<int>(y + row), static_cast<int>(x), 1, count, from);
          }
        }
        if (rows.done()) return;
      }
      if (rows.enough(static_cast<int>(y + std::min(facts.block_rows, height - y)) - 1)) return;
    }
  }
}

}  // namespace

bool is_tiff(std::span<const std::uint8_t> head) {
  if (head.size() < 4 || head[0] != head[1]) return false;
  if (head[0] == 'I') return (head[2] == 42 || head[2] == 43) && head[3] == 0;
  return head[0] == 'M' && head[2] == 0 && (head[3] == 42 || head[3] == 43);
}

std::vector<PlatePage> tiff_pages(SourceFile& file, Diagnostics& notes) {
  const TiffHandle handle(file);
  TIFF* tiff = handle.get();
  std::vector<PlatePage> pages;
  const bool several = TIFFLastDirectory(tiff) == 0;
  for (int number = 0; number < kMaxPages; ++number) {
    if (several) file.talk_of_page(number);
    pages.push_back(look_through(file, handle, number, notes).page);
    file.talk_of_page(-1);
    if (TIFFLastDirectory(tiff) != 0) return pages;
    if (TIFFReadDirectory(tiff) != 1) {
      file.damaged("page " + std::to_string(number + 2) + " cannot be read (" + printable(handle.message()) +
                   ")");
    }
  }
  file.refuse("it holds more than " + std::to_string(kMaxPages) + " pages",
              "export each plate as a file of its own");
}

void read_tiff_page(SourceFile& file, int number, PlateRows& rows, Diagnostics& notes) {
  const TiffHandle handle(file);
  TIFF* tiff = handle.get();
  if (number > 0 && TIFFSetDirectory(tiff, static_cast<tdir_t>(number)) != 1) file.changed();
  Diagnostics said_already;
  const TiffPage facts = look_through(file, handle, number, said_already);
  if (!facts.page.same_shape(rows.page())) file.changed();
  if (facts.compression == COMPRESSION_JPEG || facts.compression == COMPRESSION_WEBP) {
    notes.warning(file.place(),
                  file.about_page("it is packed as a photograph (" +
                                  std::string(facts.compression == COMPRESSION_JPEG ? "JPEG" : "WebP") +
                                  "), which smears edges and leaves specks of tint beside them"),
                  "export it with LZW, deflate (ZIP) or no compression");
  }
  if (facts.tiled) {
    read_tiles(file, handle, facts, rows);
  } else {
    read_strips(file, handle, facts, rows);
  }
  std::vector<std::string> ignored;
  if (facts.transfer) ignored.emplace_back("the transfer curve");
  if (facts.profile) ignored.emplace_back("the colour profile");
  note_ignored_colour(file, ignored, notes);
}

}  // namespace kirtle::detail
