#pragma once
// Where a record's numbers come from. Every ink, shirt, mesh and press says so.
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// measured: read with an instrument. literature: printed somewhere that is named. estimated: worked out by
/// Kirtle from less than is needed (Lab, hex). invented: made up for the demo; of no real material.
enum class DataStatus { measured, literature, estimated, invented };

std::string_view to_string(DataStatus s);

struct Provenance {
  DataStatus status = DataStatus::invented;
  std::string source;                ///< required, free text
  std::string method;                ///< for example "film over black and over white"; may be empty
  std::string date;                  ///< ISO 8601 or empty
  double colour_sigma_de00 = 0;      ///< 1 s.d. of the record's own colour, CIEDE2000; 0 = not stated
  std::vector<std::string> assumed;  ///< keys that the record left out, so that a default stands in
};

}  // namespace kirtle
