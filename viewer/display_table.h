#pragma once
// From XYZ to what the monitor is sent, as a table over the cube roots of XYZ / white for the graphics card.
#include "light/colour.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct DisplayTable {
  static constexpr int kSide = 41;
  XYZ white;
  std::vector<float> rgb;                  ///< 0..1, kSide^3 nodes, X fastest
  std::string space;                       ///< "sRGB" or the profile's description
  double mean_de00 = 0, largest_de00 = 0;  ///< of the table's interpolation, over colours inside the space
};

/// white: of the viewing light, Y = 100. profile: the monitor's; none = sRGB. Throws InputError (profile).
DisplayTable make_display_table(const XYZ& white, const std::optional<std::filesystem::path>& profile);

/// What the table gives for a colour, interpolated as the card does.
void display_rgb(const DisplayTable& table, const XYZ& xyz, float rgb[3]);

}  // namespace kirtle
