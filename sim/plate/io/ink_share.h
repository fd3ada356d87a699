#pragma once
// A plate whose polarity looks wrong. Internal to plate/io.
#include "plate/io/source_file.h"

namespace kirtle::detail {

/// More than 60 % of the plate's upper `rows`, or of the outermost pixels of these, is ink.
bool mostly_ink(const PlateImage& image, int rows);

/// Adds a warning if more than 60 % of the plate, or of its outermost pixels, is ink (common practice, no
/// source).
void warn_if_mostly_ink(const SourceFile& file, SampleKind kind, const PlateImage& image, Diagnostics& notes);

}  // namespace kirtle::detail
