#pragma once
// Pages as a PDF file or PNG pictures.
//
// The PDF: fonts embedded, text selectable in reading order and tagged (paragraphs, headings, figures with
// what they show), colours sRGB with that profile as its output intent (ISO 32000-1, 14.11.5), title and
// language set, metadata as XMP (ISO 16684-1). Neither clock nor chance goes into it: the same document gives
// the same bytes with the same fonts and libraries.
#include "proof/page.h"

#include <filesystem>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

struct PageDocument {
  std::string title;
  std::string subject;
  std::string keywords;  ///< for example a checksum
  std::string date;      ///< YYYY-MM-DD, of the job, never of the day it is written; empty = none is stated
  std::vector<Page> pages;
};

/// Throws InputError unless the target's name ends in one of these, capital or small; the first is named.
void check_ending(const std::filesystem::path& target, std::initializer_list<std::string_view> endings);

/// Throws std::runtime_error if a library fails; InternalError without pages or with a date of another form.
std::string pdf_bytes(const PageDocument& document);

/// Throws InputError if the target does not end in .pdf or cannot be written.
void write_pdf(const PageDocument& document, const std::filesystem::path& target);

/// The page as the PDF shows it, on white, sRGB embedded. dpi 20..1200.
PagePicture page_pixels(const Page& page, double dpi);

/// Throws InputError if the target does not end in .png or cannot be written.
void write_page_png(const Page& page, const std::filesystem::path& target, double dpi,
                    const std::string& title = {});

}  // namespace kirtle
