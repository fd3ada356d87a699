#pragma once
// A file of one plate, listed and read.
#include "plate/io/plate_file.h"

#include <gtest/gtest.h>

namespace kirtle::test {

/// The file's only plate. Throws InputError as list_plates().
inline PlateEntry list_plate(const std::filesystem::path& file) {
  Diagnostics said_when_listed;
  const std::vector<PlateEntry> entries = list_plates(file, said_when_listed);
  EXPECT_EQ(entries.size(), 1u);
  return entries[0];
}

/// Lists and reads it. Throws InputError as the two do.
inline PlateImage read_plate(const std::filesystem::path& file, Polarity polarity, Diagnostics& notes) {
  return std::move(read_plates({list_plate(file)}, polarity, notes)[0]);
}

}  // namespace kirtle::test
