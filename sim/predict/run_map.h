#pragma once
// The picture of where a run shows: the print in grey, and over it on what share of the shirts each place
// shows.
#include "predict/prediction.h"
#include "verdict/showing.h"

#include <cstdint>
#include <filesystem>
#include <vector>

namespace kirtle {

/// The share of shirts that the strongest colour stands for: 1, 2, 5, 10, 20, 50 or 100 % (as 0..1), at or
/// above the map's largest.
double map_scale(const ShowingMap& map, int shirts);

/// Red, green, blue of a place that shows on `level` (0..1) of the scale.
struct MapColour {
  std::uint8_t r = 0, g = 0, b = 0;
};
MapColour map_colour(double level);

/// Writes it, about 1000 pixels wide, with its scale below. Throws InputError or std::runtime_error on a
/// target that cannot be written.
void write_map(const Prediction& prediction, const RunShowing& run, const std::filesystem::path& target,
               unsigned threads);

}  // namespace kirtle
