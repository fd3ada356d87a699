#pragma once
// What Cairo leaves out of a PDF: output intent, metadata, language, what figures show, ids without clock.
// For page_file.cpp alone.
#include "proof/page_file.h"

namespace kirtle {

/// figures: what the document's figures show, in order.
std::string finish_pdf(const std::string& pdf, const PageDocument& document,
                       const std::vector<std::string>& figures);

/// Text as XML content.
std::string xml_text(std::string_view clean);

}  // namespace kirtle
