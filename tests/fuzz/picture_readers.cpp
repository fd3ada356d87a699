#include "base/diagnostics.h"
#include "fuzz/readers.h"
#include "light/icc_output.h"
#include "plate/io/colour_picture.h"
#include "plate/io/plate_file.h"

#include <array>
#include <cmath>

namespace kirtle::test {
namespace {

/// Larger ones are listed but not read, to keep the fuzzer quick; the limits themselves are tested in
/// tests/plate.
constexpr std::size_t kMostPixels = std::size_t{1} << 22;

void feed_plates(std::span<const std::uint8_t> bytes, const std::string& name) {
  const std::string file = as_file(bytes, name);
  try {
    Diagnostics notes;
    const std::vector<PlateEntry> entries = list_plates(file, notes);
    std::size_t pixels = 0;
    for (const PlateEntry& entry : entries)
      pixels += static_cast<std::size_t>(entry.width) * static_cast<std::size_t>(entry.height);
    if (pixels > kMostPixels) return;
    const std::vector<PlateImage> images = read_plates(entries, Polarity::dark_is_ink, notes);
    if (images.size() != entries.size()) found("not as many plates as were listed");
    for (std::size_t i = 0; i < images.size(); ++i)
      if (images[i].width != entries[i].width || images[i].height != entries[i].height)
        found("a plate has not the size that was listed");
  } catch (const InputError&) {
  }
}

}  // namespace

void feed_png(std::span<const std::uint8_t> bytes) { feed_plates(bytes, "plate.png"); }
void feed_tiff(std::span<const std::uint8_t> bytes) { feed_plates(bytes, "plate.tif"); }

void feed_art(std::span<const std::uint8_t> bytes) {
  const std::string file = as_file(bytes, "art.png");
  try {
    const ColourPicture art = read_colour_png(file);
    if (art.rgb.size() != 3 * static_cast<std::size_t>(art.width) * static_cast<std::size_t>(art.height))
      found("the art has not its size");
  } catch (const InputError&) {
  }
}

void feed_icc(std::span<const std::uint8_t> bytes) {
  const std::array<float, 9> colours{0, 0, 0, 30, 40, 50, 96.4F, 100, 82.5F};
  for (const Intent intent : {Intent::perceptual, Intent::absolute}) {
    try {
      IccSettings settings;
      settings.source_white = {96.42, 100, 82.49};
      settings.intent = intent;
      const IccOutput out = IccOutput::from_bytes(std::as_bytes(bytes), "fuzzed.icc", settings);
      std::vector<std::uint16_t> codes(3 * out.channels());
      GamutReport report;
      out.convert16(colours, codes, &report);
    } catch (const InputError&) {
    }
  }
}

}  // namespace kirtle::test
