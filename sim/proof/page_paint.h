#pragma once
// A page painted by Cairo, for page_file.cpp. Not for users of the page kit.
#include "proof/page.h"

#include <cairo.h>

namespace kirtle {

/// Paints onto a surface whose unit is the point (1/72 in). tagged: items are marked as paragraphs, headings
/// and figures, in their order, for a PDF's structure.
void paint_page(cairo_t* cairo, const Page& page, bool tagged);

}  // namespace kirtle
