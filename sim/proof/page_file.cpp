#include "proof/page_file.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "base/replaced_file.h"
#include "light/icc_output.h"
#include "plate/io/write_picture.h"
#include "proof/page_paint.h"
#include "proof/pdf_finish.h"
#include "proof/text_shape.h"

#include <algorithm>
#include <cairo-pdf.h>
#include <cctype>
#include <cmath>
#include <cstring>
#include <stdexcept>

namespace kirtle {

namespace {

cairo_status_t append(void* to, const unsigned char* data, unsigned length) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

bool is_date(const std::string& text) {
  if (text.empty()) return true;
  if (text.size() != 10) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool dash = i == 4 || i == 7;
    if (dash ? text[i] != '-' : !std::isdigit(static_cast<unsigned char>(text[i]))) return false;
  }
  return true;
}

}  // namespace

void check_ending(const std::filesystem::path& target, std::initializer_list<std::string_view> endings) {
  std::string found = target.extension().string();
  std::transform(found.begin(), found.end(), found.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (std::find(endings.begin(), endings.end(), found) != endings.end()) return;
  const std::string wanted(*endings.begin());
  throw InputError({target.string(), 0, 0}, "the file's name must end in " + wanted,
                   "name it, for example, page" + wanted + "; nothing was written");
}

std::string pdf_bytes(const PageDocument& document) {
  KIRTLE_CHECK(document.pages.size(), >, std::size_t{0});
  KIRTLE_CHECK(is_date(document.date), ==, true);
  std::string bytes;
  const Page& first = document.pages.front();
  CairoSurface surface(cairo_pdf_surface_create_for_stream(append, &bytes, first.width_mm() * kPointsPerMm,
                                                           first.height_mm() * kPointsPerMm));
  cairo_pdf_surface_restrict_to_version(surface.get(), CAIRO_PDF_VERSION_1_5);
  // Cairo would write the time of day; finish_pdf puts the document's own information in its place.
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
  CairoContext cairo(cairo_create(surface.get()));
  std::vector<std::string> figures;
  for (const Page& page : document.pages) {
    cairo_pdf_surface_set_size(surface.get(), page.width_mm() * kPointsPerMm,
                               page.height_mm() * kPointsPerMm);
    paint_page(cairo.get(), page, true);
    cairo_show_page(cairo.get());
    for (const PlacedItem& item : page.items())
      if (std::holds_alternative<PictureItem>(item.what)) figures.push_back(item.alt);
  }
  cairo.reset();
  cairo_surface_finish(surface.get());
  const cairo_status_t status = cairo_surface_status(surface.get());
  if (status != CAIRO_STATUS_SUCCESS)
    throw std::runtime_error(std::string("making a PDF failed: ") + cairo_status_to_string(status));
  return finish_pdf(bytes, document, figures);
}

void write_pdf(const PageDocument& document, const std::filesystem::path& target) {
  check_ending(target, {".pdf"});
  ReplacedFile file(target);
  file.write(pdf_bytes(document));
  file.commit();
}

PagePicture page_pixels(const Page& page, double dpi) {
  KIRTLE_CHECK(dpi, >=, 20.0);
  KIRTLE_CHECK(dpi, <=, 1200.0);
  PagePicture out;
  out.width = static_cast<int>(std::lround(page.width_mm() / 25.4 * dpi));
  out.height = static_cast<int>(std::lround(page.height_mm() / 25.4 * dpi));
  CairoSurface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, out.width, out.height));
  if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();
  {
    CairoContext cairo(cairo_create(surface.get()));
    cairo_set_source_rgb(cairo.get(), 1, 1, 1);
    cairo_paint(cairo.get());
    cairo_scale(cairo.get(), dpi / 72, dpi / 72);
    paint_page(cairo.get(), page, false);
  }
  cairo_surface_flush(surface.get());
  const unsigned char* data = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  out.rgba.resize(4 * static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  std::uint8_t* to = out.rgba.data();
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x, to += 4) {
      std::uint32_t word = 0;
      std::memcpy(&word, data + static_cast<std::ptrdiff_t>(y) * stride + 4 * x, 4);
      to[0] = static_cast<std::uint8_t>(word >> 16);
      to[1] = static_cast<std::uint8_t>(word >> 8);
      to[2] = static_cast<std::uint8_t>(word);
      to[3] = 255;
    }
  }
  return out;
}

void write_page_png(const Page& page, const std::filesystem::path& target, double dpi,
                    const std::string& title) {
  check_ending(target, {".png"});
  const PagePicture pixels = page_pixels(page, dpi);
  const IccOutput srgb = IccOutput::srgb({XYZ{96.42, 100, 82.49}, Intent::relative, true});
  PictureFormat format;
  format.width = pixels.width;
  format.height = pixels.height;
  format.ppi = dpi;
  const auto profile = srgb.profile_bytes();
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(profile.data());
  format.icc_profile.assign(bytes, bytes + profile.size());
  format.text = {{"Title", clean_text(title)}, {"Software", "Kirtle"}};
  const auto writer = PictureWriter::open(target, format);
  std::vector<std::uint8_t> row(3 * static_cast<std::size_t>(pixels.width));
  for (int y = 0; y < pixels.height; ++y) {
    const std::uint8_t* from = pixels.rgba.data() + 4 * static_cast<std::size_t>(y) * pixels.width;
    for (std::size_t x = 0; x < static_cast<std::size_t>(pixels.width); ++x)
      std::copy_n(from + 4 * x, 3, row.data() + 3 * x);
    writer->write_rows8(row);
  }
  writer->commit();
}

}  // namespace kirtle
