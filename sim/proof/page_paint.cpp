#include "proof/page_paint.h"

#include "proof/text_shape.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>
#include <stdexcept>

namespace kirtle {

namespace {

/// Cairo's pixels are premultiplied, in words of the machine's byte order.
CairoSurface surface_of(const PagePicture& picture) {
  const bool opaque = [&] {
    for (std::size_t i = 3; i < picture.rgba.size(); i += 4)
      if (picture.rgba[i] != 255) return false;
    return true;
  }();
  CairoSurface out(cairo_image_surface_create(opaque ? CAIRO_FORMAT_RGB24 : CAIRO_FORMAT_ARGB32,
                                              picture.width, picture.height));
  if (cairo_surface_status(out.get()) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();
  cairo_surface_flush(out.get());
  unsigned char* data = cairo_image_surface_get_data(out.get());
  const int stride = cairo_image_surface_get_stride(out.get());
  for (int y = 0; y < picture.height; ++y) {
    const std::uint8_t* from = picture.rgba.data() + 4 * static_cast<std::size_t>(y) * picture.width;
    for (int x = 0; x < picture.width; ++x, from += 4) {
      const unsigned a = from[3];
      const auto pre = [a](unsigned c) { return (c * a + 127) / 255; };
      const std::uint32_t word = a << 24 | pre(from[0]) << 16 | pre(from[1]) << 8 | pre(from[2]);
      std::memcpy(data + static_cast<std::ptrdiff_t>(y) * stride + 4 * x, &word, 4);
    }
  }
  cairo_surface_mark_dirty(out.get());
  return out;
}

void set_colour(cairo_t* c, const PageColour& colour) {
  cairo_set_source_rgb(c, colour.r, colour.g, colour.b);
}

void paint(cairo_t*, const PlacedItem&, const GroupItem&) {}

void paint(cairo_t* c, const PlacedItem& item, const TextItem& text) {
  TextFit fit;
  const TextLayout layout = lay_text(text.text, text.style, item.box.width, item.box.height, fit);
  set_colour(c, text.style.colour);
  cairo_move_to(c, item.box.x * kPointsPerMm, item.extent.y * kPointsPerMm);
  pango_cairo_show_layout(c, layout.get());
}

void paint(cairo_t* c, const PlacedItem& item, const PictureItem& it) {
  const CairoSurface surface = surface_of(*it.picture);
  cairo_translate(c, item.box.x * kPointsPerMm, item.box.y * kPointsPerMm);
  cairo_rectangle(c, 0, 0, item.box.width * kPointsPerMm, item.box.height * kPointsPerMm);
  cairo_clip(c);
  cairo_scale(c, item.box.width * kPointsPerMm / it.picture->width,
              item.box.height * kPointsPerMm / it.picture->height);
  cairo_set_source_surface(c, surface.get(), 0, 0);
  cairo_pattern_set_filter(cairo_get_source(c), it.smooth ? CAIRO_FILTER_GOOD : CAIRO_FILTER_NEAREST);
  cairo_pattern_set_extend(cairo_get_source(c), CAIRO_EXTEND_PAD);  // no soft rim
  cairo_paint(c);
}

void paint(cairo_t* c, const PlacedItem& item, const FillItem& fill) {
  const double x = item.box.x * kPointsPerMm, y = item.box.y * kPointsPerMm;
  const double w = item.box.width * kPointsPerMm, h = item.box.height * kPointsPerMm;
  const double r = std::min({fill.radius_mm * kPointsPerMm, w / 2, h / 2});
  constexpr double kRight = std::numbers::pi / 2;
  if (r > 0) {
    cairo_new_sub_path(c);
    cairo_arc(c, x + w - r, y + r, r, -kRight, 0);
    cairo_arc(c, x + w - r, y + h - r, r, 0, kRight);
    cairo_arc(c, x + r, y + h - r, r, kRight, 2 * kRight);
    cairo_arc(c, x + r, y + r, r, 2 * kRight, 3 * kRight);
    cairo_close_path(c);
  } else {
    cairo_rectangle(c, x, y, w, h);
  }
  set_colour(c, fill.colour);
  cairo_fill(c);
}

void paint(cairo_t* c, const PlacedItem&, const LineItem& line) {
  for (const PagePoint& p : line.points) cairo_line_to(c, p.x * kPointsPerMm, p.y * kPointsPerMm);
  if (line.closed) cairo_close_path(c);
  std::vector<double> dash;
  for (const double mm : line.dash_mm) dash.push_back(mm * kPointsPerMm);
  cairo_set_dash(c, dash.data(), static_cast<int>(dash.size()), 0);
  cairo_set_line_width(c, line.width_mm * kPointsPerMm);
  cairo_set_line_join(c, line.closed ? CAIRO_LINE_JOIN_MITER : CAIRO_LINE_JOIN_ROUND);
  set_colour(c, line.colour);
  cairo_stroke(c);
}

const char* tag_of(const PlacedItem& item) {
  if (const auto* text = std::get_if<TextItem>(&item.what)) {
    return text->style.role == TextRole::title ? "H1" : text->style.role == TextRole::heading ? "H2" : "P";
  }
  return std::holds_alternative<PictureItem>(item.what) ? "Figure" : nullptr;
}

}  // namespace

void paint_page(cairo_t* c, const Page& page, bool tagged) {
  for (const PlacedItem& item : page.items()) {
    const char* tag = tagged ? tag_of(item) : nullptr;
    cairo_save(c);
    cairo_new_path(c);
    if (tag != nullptr) cairo_tag_begin(c, tag, nullptr);
    std::visit([&](const auto& what) { paint(c, item, what); }, item.what);
    if (tag != nullptr) cairo_tag_end(c, tag);
    cairo_restore(c);
  }
  if (cairo_status(c) != CAIRO_STATUS_SUCCESS)
    throw std::runtime_error(std::string("drawing a page failed: ") +
                             cairo_status_to_string(cairo_status(c)));
}

}  // namespace kirtle
