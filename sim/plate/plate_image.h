#pragma once
// One plate in memory: how much of it is ink, on film, at each pixel.
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// How a file's numbers say "ink". A grey plate of a film positive is usually dark_is_ink (0 = solid, 255 = none).
enum class Polarity { dark_is_ink, light_is_ink };

/// Film coverage, polarity resolved: 0 = no ink, max = solid. 8-bit files stay 8 bit (max 255), 16-bit files 16 (65535).
struct PlateImage {
  std::string name;
  int width = 0, height = 0;       ///< pixels
  double ppi = 0;                  ///< pixels per inch; 0 = the file does not say
  bool dots = false;               ///< from a 1-bit file: its pixels are dots already, none or solid, never tints
  int bits = 8;                    ///< 8 or 16: which of the two stores below is in use
  std::vector<std::uint8_t> ink8;
  std::vector<std::uint16_t> ink16;

  int max() const { return bits == 8 ? 255 : 65535; }
  std::size_t pixels() const { return static_cast<std::size_t>(width) * static_cast<std::size_t>(height); }
  /// Film coverage 0..1 at a pixel.
  double film(int x, int y) const {
    const std::size_t i = static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
    return bits == 8 ? ink8[i] / 255.0 : ink16[i] / 65535.0;
  }
};

}  // namespace kirtle
