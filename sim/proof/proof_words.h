#pragma once
// What a customer's proof says, whatever it is written on: paper (customer_proof.cpp) and HTML
// (proof_html.cpp) take the same words from here. expectations() and questions() stand in print_study.h.
#include "proof/print_study.h"

#include <string>
#include <vector>

namespace kirtle {

constexpr const char *kExpectHeading = "What to expect", *kAskHeading = "Please tell us",
                     *kAsItPrints = "predicted", *kInk = "ink",
                     *kRealSize = "real size at 100 %, knit drawn in",
                     *kCloseUpAlt = "A part of the print at real size", *kComments = "Changes or comments",
                     *kName = "Name", *kSignature = "Signature", *kDate = "Date";

/// The order's title, or its scenes': all of them, or the first and how many more where they are long.
std::string proof_title(const Order& order, const std::vector<PrintStudy>& studies);
/// "Proof for Harbour choir".
std::string proof_for(const Order& order);
/// "Order 7", "Version 2, replaces version 1", dates: those that are stated.
std::vector<std::string> proof_facts(const Order& order);

/// "front", "left chest" as a heading: "Front print".
std::string location_heading(PrintLocation location);
/// "11.0 in (280 mm) wide, ...".
std::string size_text(const Order& order, const PrintStudy& study);
/// "Front print", and in an order of several prints the title of this one: "Back print, Reef at night".
std::string print_title(const Order& order, const PrintStudy& study);
/// The same, and its size.
std::string print_heading(const Order& order, const PrintStudy& study);
/// "3.0 in (76 mm) below the collar"; both where sizes differ.
std::string drop_text(const OrderPrint& print, const ExtremeSizes& sizes);
/// A size's print, mm: as ordered, or with two sets of screens its own.
double width_for(const Order& order, const PrintStudy& study, ShirtSize size);

/// A drawn shirt to compare others with.
struct DrawnSize {
  ShirtSize size = ShirtSize::s;
  std::string caption;  ///< "S (smallest ordered), 18 x 28 in"
};
/// The smallest and the largest; one where they are the same.
std::vector<DrawnSize> drawn_sizes(const Order& order);

/// Beside an ink: what it lies on, tint, what the page cannot show on the first `shirts` shirts. May be
/// empty.
std::string ink_note(const InkStudy& ink, std::size_t shirts);
/// What a picture of a print on a drawn shirt shows.
std::string garment_alt(const PrintStudy& study, const std::string& shirt);
/// "Forest green, cotton, 24 shirts".
std::string shirt_text(const ShirtStudy& shirt);

/// A light as people say it: "daylight (D50)".
std::string light_words(const std::string& light);
/// What may differ from shirt to shirt.
std::string tolerance_text(const Order& order, const std::vector<PrintStudy>& studies);
/// Light to judge by, dye lots, washing, discharge, children's wear.
std::vector<std::string> caution_texts(const Order& order, const std::vector<PrintStudy>& studies);

/// Heading above the signature.
std::string approval_heading(const std::vector<PrintStudy>& studies);
/// The three answers to tick.
std::vector<std::string> approval_choices();
/// "Signed for: version 2, checksum ...".
std::string signed_for(const Order& order, const std::string& short_checksum);
/// What is drawn, what is predicted, and whence the limits: at the foot of every page.
std::string proof_foot(const std::string& short_checksum);

/// Shirts by colour and size, a cell a word: titles first, then a row a colour. Empty where none are ordered.
std::vector<std::vector<std::string>> shirt_counts(const Order& order, const PrintStudy& study);

}  // namespace kirtle
