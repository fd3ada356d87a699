#pragma once
// From XYZ to what the monitor is sent, as a table for the graphics card. Its axes are the three sRGB
// channels, encoded, beyond 0..1 too: within sRGB the table then is straight, and the faces of the gamut lie
// on its nodes.
#include "light/adapt.h"
#include "light/colour.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct DisplayTable {
  static constexpr int kSide = 45;
  static constexpr double kFrom = -0.6, kStep = 0.04;  ///< encoded; below 0 mirrored
  XYZ white;
  Matrix3 to_linear;                       ///< XYZ (Y of white = 100) to linear sRGB
  std::vector<float> rgb;                  ///< 0..1, kSide^3 nodes, red fastest
  std::string space;                       ///< "sRGB" or the profile's description
  double mean_de00 = 0, largest_de00 = 0;  ///< of the table's interpolation, over colours inside the space
};

/// white: of the viewing light, Y = 100. profile: the monitor's; none = sRGB. Throws InputError (profile).
DisplayTable make_display_table(const XYZ& white, const std::optional<std::filesystem::path>& profile);

/// What the table gives for a colour, interpolated as the card does.
void display_rgb(const DisplayTable& table, const XYZ& xyz, float rgb[3]);

}  // namespace kirtle
