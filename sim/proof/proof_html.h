#pragma once
// The customer's proof as one HTML file, for e-mail and phones: nothing is fetched, and a security policy in
// it forbids fetching. Without script all pictures stand side by side; with it, shirt and light are switched
// and two pictures are laid over each other with a line between them. Words as on paper (proof_words.h).
#include "proof/print_views.h"

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// views: one a study. checksum: of checksum_of, 64 hex digits. The same input gives the same bytes with the
/// same libraries.
std::string proof_html(const Order& order, const std::vector<PrintStudy>& studies,
                       const std::vector<PrintViews>& views, const std::string& checksum);

/// Plain text for the customer to send back: what the proof is, what is asked, answers to choose from.
std::string reply_text(const Order& order, const std::vector<PrintStudy>& studies,
                       const std::string& checksum);

/// Throws InputError if the target does not end in .html or .htm, or cannot be written.
void write_html(const std::string& html, const std::filesystem::path& target);

/// What is within style and script of the file; html/proof.css, html/proof.js.
std::string_view proof_style();
std::string_view proof_script();

}  // namespace kirtle
