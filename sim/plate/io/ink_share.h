#pragma once
// A plate whose polarity looks wrong. Internal to plate/io.
#include "plate/io/source_file.h"

namespace kirtle::detail {

/// Adds a warning if more than 60 % of the plate, or of its outermost pixels, is ink (common practice, no
/// source).
void warn_if_mostly_ink(const SourceFile& file, SampleKind kind, const PlateImage& image, Diagnostics& notes);

}  // namespace kirtle::detail
