#pragma once
// PDFs looked at by other people's programs: qpdf, and poppler's pdftotext and pdftoppm.
#include "base/temp_folder.h"
#include "light/srgb.h"

#include <filesystem>
#include <string>
#include <vector>

namespace kirtle::test {

struct Ran {
  int status = -1;
  std::string output;  ///< standard output and error
};
/// Runs a program with these arguments, no shell. Fails the test if it is not installed.
Ran run(const std::vector<std::string>& words);

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;
  Rgb8 at(int x, int y) const;
};
/// A page (from 1) as poppler draws it.
Pixels rasterised(const std::filesystem::path& pdf, int page, int dpi, const TempFolder& scratch);

}  // namespace kirtle::test
