#include "plate/reshape/write_plates.h"

#include "base/diagnostics.h"
#include "plate/io/write_picture.h"
#include "plate/reshape/rows.h"

#include <set>

namespace kirtle {

namespace {

constexpr int kRowsAtOnce = 64;

PictureFormat format_of(const PlateImage& plate, double ppi, const std::string& note, unsigned threads) {
  KIRTLE_CHECK(ppi, >, 0);
  PictureFormat format;
  format.width = plate.width;
  format.height = plate.height;
  format.bits = plate.bits;
  format.ppi = ppi;
  format.threads = threads;
  if (!plate.name.empty()) format.text.emplace_back("Title", plate.name);
  if (!note.empty()) format.text.emplace_back("Comment", note);
  return format;
}

/// Rows from the top, `code(plate row's first index, x, channel)` for each sample.
template <class Sample, class Code>
void put_rows(PictureWriter& writer, const PictureFormat& format, const Code& code) {
  const std::size_t channels = static_cast<std::size_t>(format.channels);
  const std::size_t width = static_cast<std::size_t>(format.width);
  std::vector<Sample> rows;
  for (int y0 = 0; y0 < format.height; y0 += kRowsAtOnce) {
    const std::size_t count = static_cast<std::size_t>(std::min(kRowsAtOnce, format.height - y0)) * width;
    const std::size_t from = static_cast<std::size_t>(y0) * width;
    rows.resize(count * channels);
    for (std::size_t i = 0; i < count; ++i) {
      for (std::size_t c = 0; c < channels; ++c)
        rows[i * channels + c] = static_cast<Sample>(code(from + i, c));
    }
    if constexpr (sizeof(Sample) == 1) {
      writer.write_rows8(rows);
    } else {
      writer.write_rows16(rows);
    }
  }
  writer.commit();
}

void check_names(const std::filesystem::path& target, std::span<const PlateImage> plates) {
  std::set<std::string> names;
  for (const PlateImage& plate : plates) {
    const bool whole = !plate.name.empty() && plate.name.find('\0') == std::string::npos;
    if (whole && names.insert(plate.name).second) continue;
    throw InputError(
        {target.string(), 0, 0},
        whole ? "two plates are named \"" + printable(plate.name) + "\"" : std::string("a plate has no name"),
        "give each plate a name of its own; nothing was written");
  }
}

}  // namespace

void write_grey_plate(const std::filesystem::path& target, const PlateImage& plate, double ppi,
                      const std::string& note, unsigned threads) {
  PictureFormat format = format_of(plate, ppi, note, threads);
  format.channels = 1;
  const auto writer = PictureWriter::open(target, format);
  // A film positive: ink is black.
  if (plate.bits == 8) {
    put_rows<std::uint8_t>(*writer, format, [&](std::size_t i, std::size_t) { return 255 - plate.ink8[i]; });
  } else {
    put_rows<std::uint16_t>(*writer, format,
                            [&](std::size_t i, std::size_t) { return 65535 - plate.ink16[i]; });
  }
}

void write_separated_tiff(const std::filesystem::path& target, std::span<const PlateImage> plates, double ppi,
                          const std::string& note, unsigned threads) {
  KIRTLE_CHECK(plates.empty(), ==, false);
  check_names(target, plates);
  PictureFormat format = format_of(plates.front(), ppi, note, threads);
  format.text.clear();
  if (!note.empty()) format.text.emplace_back("Comment", note);
  for (const PlateImage& plate : plates) {
    detail::check_same_size(plate, plates.front());
    format.bits = std::max(format.bits, plate.bits);
    format.inks.push_back(plate.name);
  }
  format.channels = static_cast<int>(plates.size());
  const auto writer = PictureWriter::open(target, format);
  if (format.bits == 8) {
    put_rows<std::uint8_t>(*writer, format, [&](std::size_t i, std::size_t c) { return plates[c].ink8[i]; });
  } else {
    put_rows<std::uint16_t>(*writer, format, [&](std::size_t i, std::size_t c) {
      const PlateImage& plate = plates[c];
      return detail::code_at(plate, i) * (plate.bits == 8 ? 257 : 1);  // 255 * 257 = 65535
    });
  }
}

}  // namespace kirtle
