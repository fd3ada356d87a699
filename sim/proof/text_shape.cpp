#include "proof/text_shape.h"

#include <cmath>
#include <new>
#include <sys/mman.h>

namespace kirtle {

namespace {

// Noto covers the scripts that names come in; its fallbacks are the system's.
constexpr const char* kFamily = "Noto Sans, DejaVu Sans, Droid Sans Fallback, NanumGothic, sans-serif";
constexpr double kSlackMm = 0.02;

/// fontconfig crashes, and GLib aborts, where they get no memory for what they read of the fonts and for
/// their threads, to each of which malloc gives up to 128 MiB of addresses. So it is asked for first.
void make_sure_of_memory() {
  constexpr std::size_t kBytes = std::size_t{192} << 20;
  void* room =
      ::mmap(nullptr, kBytes, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
  if (room == MAP_FAILED) throw std::bad_alloc();
  ::munmap(room, kBytes);
}

/// One context a thread: Pango's font maps are not shared between threads.
PangoContext* text_context() {
  thread_local const auto context = [] {
    make_sure_of_memory();
    PangoFontMap* map = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(map), 72);
    std::unique_ptr<PangoContext, void (*)(void*)> out(pango_font_map_create_context(map), g_object_unref);
    g_object_unref(map);
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(out.get(), options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(out.get(), FALSE);
    pango_context_set_language(out.get(), pango_language_from_string("en"));
    return out;
  }();
  return context.get();
}

int pango_units(double mm) { return static_cast<int>(std::lround(mm * kPointsPerMm * PANGO_SCALE)); }

void set_font(PangoLayout* layout, const TextStyle& style, double size_pt) {
  PangoFontDescription* font = pango_font_description_new();
  pango_font_description_set_family_static(font, kFamily);
  pango_font_description_set_weight(font, style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_style(font, style.italic ? PANGO_STYLE_ITALIC : PANGO_STYLE_NORMAL);
  pango_font_description_set_size(font, static_cast<int>(std::lround(size_pt * PANGO_SCALE)));
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
}

void read_fit(PangoLayout* layout, TextFit& fit) {
  PangoRectangle logical;
  pango_layout_get_extents(layout, nullptr, &logical);
  fit.width_mm = logical.width / kPointsPerMm / PANGO_SCALE;
  fit.height_mm = logical.height / kPointsPerMm / PANGO_SCALE;
  fit.glyphs_not_in_font = pango_layout_get_unknown_glyphs_count(layout);
}

}  // namespace

void ReleaseLayout::operator()(PangoLayout* layout) const { g_object_unref(layout); }

TextLayout lay_text(const std::string& clean, const TextStyle& style, double width_mm, double height_mm,
                    TextFit& fit) {
  TextLayout layout(pango_layout_new(text_context()));
  pango_layout_set_text(layout.get(), clean.data(), static_cast<int>(clean.size()));
  pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
  pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  pango_layout_set_alignment(layout.get(), style.align == TextAlign::left     ? PANGO_ALIGN_LEFT
                                           : style.align == TextAlign::centre ? PANGO_ALIGN_CENTER
                                                                              : PANGO_ALIGN_RIGHT);
  const double least = style.least_pt > 0 ? style.least_pt : style.size_pt;
  for (double size = style.size_pt;; size -= 0.5) {
    if (size < least) size = least;
    set_font(layout.get(), style, size);
    // One line is first measured free, then given its width, for alignment.
    pango_layout_set_width(layout.get(), style.wrap ? pango_units(width_mm) : -1);
    read_fit(layout.get(), fit);
    fit.size_pt = size;
    const bool fits =
        fit.width_mm <= width_mm + kSlackMm && (height_mm < 0 || fit.height_mm <= height_mm + kSlackMm);
    if (fits || size <= least) {
      pango_layout_set_width(layout.get(), pango_units(width_mm + (style.wrap ? 0 : kSlackMm)));
      if (fits) return layout;
      break;
    }
  }
  pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
  pango_layout_set_height(layout.get(), style.wrap && height_mm >= 0 ? pango_units(height_mm) : -1);
  read_fit(layout.get(), fit);
  fit.cut = pango_layout_is_ellipsized(layout.get()) != FALSE;
  return layout;
}

}  // namespace kirtle
