#pragma once
// The decision report: one page, readable in black and white.
#include "compare/compare.h"
#include "proof/page_file.h"

namespace kirtle {

/// comparison: with pictures.
PageDocument decision_page(const Scene& scene, const Comparison& comparison);

/// The table's rows, a label and one text a build; at most eight.
std::vector<std::vector<std::string>> decision_rows(const Comparison& comparison);

/// "none", "side by side only", "seen", "refused" (common practice, no source).
std::string shade_in_words(double de00);

}  // namespace kirtle
