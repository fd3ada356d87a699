#pragma once
// A colour picture beside the plates: the art that builds are compared with. Never a plate.
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <vector>

namespace kirtle {

constexpr std::size_t kMaxColourPixels = 100'000'000;  ///< and kMaxPlateSide a side; checked from the header

struct ColourPicture {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;  ///< sRGB codes, row by row, on white where it is see-through
};

/// Reads a PNG of any kind as 8-bit sRGB (libpng converts by the file's gamma). Throws InputError naming the
/// file: not there, not a PNG, over the limits, longer unpacked than its bytes can hold, damaged or cut
/// short.
ColourPicture read_colour_png(const std::filesystem::path& file);

}  // namespace kirtle
