#pragma once
// A page painted by Cairo, for page_file.cpp. Not for users of the page kit.
#include "proof/page.h"

#include <cairo.h>
#include <memory>

namespace kirtle {

struct ReleaseCairo {
  void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
  void operator()(cairo_t* c) const { cairo_destroy(c); }
};
using CairoSurface = std::unique_ptr<cairo_surface_t, ReleaseCairo>;
using CairoContext = std::unique_ptr<cairo_t, ReleaseCairo>;

/// Paints onto a surface whose unit is the point (1/72 in). tagged: items are marked as paragraphs, headings
/// and figures, in their order, for a PDF's structure.
void paint_page(cairo_t* cairo, const Page& page, bool tagged);

}  // namespace kirtle
