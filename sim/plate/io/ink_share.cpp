#include "plate/io/ink_share.h"

namespace kirtle::detail {
namespace {

constexpr double kMostlyInk = 0.6;

struct Shares {
  double all = 0, border = 0;
  bool mostly_ink() const { return all > kMostlyInk || border > kMostlyInk; }
};

template <class Code>
Shares shares_of(const std::vector<Code>& ink, int width, int height, double top) {
  const auto across = static_cast<std::size_t>(width);
  double all = 0, border = 0;
  for (int y = 0; y < height; ++y) {
    const Code* row = ink.data() + static_cast<std::size_t>(y) * across;
    std::uint64_t sum = 0;  // of at most 65000 numbers of 16 bit
    for (std::size_t x = 0; x < across; ++x) sum += row[x];
    all += static_cast<double>(sum);
    const bool edge = y == 0 || y + 1 == height;
    border +=
        edge ? static_cast<double>(sum) : static_cast<double>(row[0]) + (width > 1 ? row[across - 1] : 0);
  }
  const double rows_inside = height > 2 ? height - 2 : 0;
  const double border_pixels =
      static_cast<double>(width) * (height > 1 ? 2 : 1) + rows_inside * (width > 1 ? 2 : 1);
  return {all / (top * width * height), border / (top * border_pixels)};
}

Shares shares_of(const PlateImage& image, int rows) {
  return image.bits == 8 ? shares_of(image.ink8, image.width, rows, 255)
                         : shares_of(image.ink16, image.width, rows, 65535);
}

std::string percent(double share) {
  char text[16];
  std::snprintf(text, sizeof text, "%.0f %%", 100 * share);
  return text;
}

}  // namespace

bool mostly_ink(const PlateImage& image, int rows) { return shares_of(image, rows).mostly_ink(); }

void warn_if_mostly_ink(const SourceFile& file, SampleKind kind, const PlateImage& image,
                        Diagnostics& notes) {
  const Shares shares = shares_of(image, image.height);
  if (!shares.mostly_ink()) return;
  notes.warning(
      file.place(),
      "plate \"" + printable(image.name) + "\": " + percent(shares.all) + " of it is ink, and " +
          percent(shares.border) + " of its outermost pixels; is the polarity right?",
      kind == SampleKind::grey
          ? "if not, turn ink_is round (\"dark\" or \"light\")"
          : "the format says which numbers are ink; if they are the wrong way round, export it again");
}

}  // namespace kirtle::detail
