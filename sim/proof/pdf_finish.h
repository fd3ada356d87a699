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

/// SHA-256 of bytes, 64 hex digits. Source: FIPS 180-4, by GLib.
std::string sha256_hex(std::string_view bytes);
/// The same of a file, read piece by piece: plates may be larger than memory. Throws InputError if it cannot
/// be read.
std::string sha256_of_file(const std::filesystem::path& file);

}  // namespace kirtle
