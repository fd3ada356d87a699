#include "plate/io/read_plate.h"

#include "plate/io/page_reader.h"

namespace kirtle {

PlateHeader read_plate_header(const std::filesystem::path& file) {
  const PlateEntry entry = detail::only_plate(file);
  return {entry.width, entry.height, entry.bits <= 8 ? 8 : 16, entry.ppi};
}

PlateImage read_plate(const std::filesystem::path& file, Polarity polarity, Diagnostics& notes) {
  return std::move(read_plates({detail::only_plate(file)}, polarity, notes)[0]);
}

}  // namespace kirtle
