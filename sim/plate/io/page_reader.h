#pragma once
// The two formats behind one door. Internal to plate/io.
#include "plate/io/plate_rows.h"

namespace kirtle::detail {

/// Every page of the file with its plates, unnamed unless the file names them, from the headers. What is left
/// out is noted. Throws InputError.
std::vector<PlatePage> png_pages(SourceFile& file);
std::vector<PlatePage> tiff_pages(SourceFile& file, Diagnostics& notes);

/// All rows of a page into `rows`, or until it is done. Throws InputError.
void read_png_page(SourceFile& file, PlateRows& rows, Diagnostics& notes);
void read_tiff_page(SourceFile& file, int page, PlateRows& rows, Diagnostics& notes);

}  // namespace kirtle::detail
