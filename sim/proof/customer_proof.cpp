#include "proof/customer_proof.h"

#include "base/check.h"
#include "proof/proof_pages.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr double kCloseUp = 46;
constexpr std::size_t kShirtsInTable = 5;

std::string letter(std::size_t i) { return std::string(1, static_cast<char>('A' + i)); }

PagePicture cut(const PrintPixels& pixels, double w_mm, double h_mm) {
  PrintPixels part;
  part.width = std::min(pixels.width, static_cast<int>(std::lround(w_mm * pixels.px_per_mm)));
  part.height = std::min(pixels.height, static_cast<int>(std::lround(h_mm * pixels.px_per_mm)));
  part.px_per_mm = pixels.px_per_mm;
  for (int y = 0; y < part.height; ++y) {
    const auto from = pixels.rgb.begin() + static_cast<std::ptrdiff_t>(y) * pixels.width;
    part.rgb.insert(part.rgb.end(), from, from + part.width);
  }
  return close_up(part);
}

std::vector<TableColumn> ink_columns(const PrintStudy& study, double width) {
  std::vector<TableColumn> columns;
  const std::size_t shirts = std::min(study.shirts.size(), kShirtsInTable);
  double used = 0;
  for (std::size_t s = 0; s < shirts; ++s) {
    columns.push_back({shirts > 1 ? "on " + letter(s) : kAsItPrints, shirts > 1 ? 13.2 : 17.5});
    used += columns.back().width_mm;
  }
  const double note = (width - used) * 0.46;
  columns.push_back({shirts > 1 ? kInk : kInk + (" on " + study.shirts.front().name), width - used - note});
  columns.push_back({"", note});
  return columns;
}

std::vector<std::vector<TableCell>> ink_rows(const PrintStudy& study) {
  std::vector<std::vector<TableCell>> rows;
  const std::size_t shirts = std::min(study.shirts.size(), kShirtsInTable);
  for (const InkStudy& ink : study.inks) {
    std::vector<TableCell> row;
    for (std::size_t s = 0; s < shirts; ++s) {
      const Rgb8& c = ink.on[s].codes;
      row.push_back({"", PageColour{c[0] / 255.0, c[1] / 255.0, c[2] / 255.0}});
    }
    row.push_back({ink.customer, {}, true});
    row.push_back({ink_note(ink, shirts)});
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace

ProofPages::ProofPages(const Order& order, const std::vector<PrintStudy>& studies,
                       const std::string& checksum, const PaperSize& paper)
    : order_(order),
      studies_(studies),
      checksum_(short_checksum(checksum)),
      flow_(paper.width_mm, paper.height_mm) {}

std::vector<Page> ProofPages::make() {
  heading();
  for (std::size_t i = 0; i < studies_.size(); ++i) {
    if (i > 0) {
      flow_.next_page();
      heading();
    }
    print(studies_[i]);
  }
  approval();
  std::vector<Page> pages = flow_.take();
  number_pages(pages, proof_foot(checksum_), kPageMargin);
  return pages;
}

void ProofPages::heading() {
  flow_.down(place_heading(flow_.page(), flow_.box(21), proof_title(order_, studies_), proof_for(order_),
                           proof_facts(order_)) +
             2);
}

void ProofPages::print(const PrintStudy& study) {
  flow_.down(place_subheading(flow_.page(), flow_.box(6), print_heading(order_, study)));
  garments(study);
  if (study.shirts.size() > 1) other_shirts(study);
  close_up_and_inks(study);
  words(study);
}

void ProofPages::garments(const PrintStudy& study) {
  std::vector<PanelShirt> shirts;
  for (const DrawnSize& drawn : drawn_sizes(order_)) {
    PanelShirt s;
    s.size = drawn.size;
    s.caption = drawn.caption;
    if (study.shirts.size() > 1) s.caption += ", shirt A";
    s.print_width_mm = width_for(order_, study, s.size);
    s.drop_mm = drop_mm(study.print, s.size);
    shirts.push_back(std::move(s));
  }
  const double height = std::min(studies_.size() == 1 ? 66.0 : 88.0, 0.47 * flow_.width());
  place_garments(flow_.page(), "shirts", flow_.box(height), study, 0, shirts, true);
  flow_.down(height + 2.5);
}

/// The same print on the other colours ordered.
void ProofPages::other_shirts(const PrintStudy& study) {
  constexpr double kHeight = 31, kCaption = 7.5;
  const std::size_t shown = std::min(study.shirts.size(), kShirtsInTable);
  const double column = flow_.width() / static_cast<double>(kShirtsInTable);
  TextStyle small;
  small.size_pt = 7.5;
  small.least_pt = 5.5;
  small.align = TextAlign::centre;
  for (std::size_t i = 0; i < shown; ++i) {
    const double x = flow_.x() + static_cast<double>(i) * column;
    PanelShirt s;
    s.size = ShirtSize::l;
    s.print_width_mm = width_for(order_, study, s.size);
    s.drop_mm = drop_mm(study.print, s.size);
    place_garments(flow_.page(), "colour " + letter(i), {x, flow_.y(), column - 2, kHeight - kCaption}, study,
                   i, {s}, false);
    const std::string text = letter(i) + ": " + shirt_text(study.shirts[i]);
    flow_.page().text("colour name", {x, flow_.y() + kHeight - kCaption, column - 2, kCaption}, text, small);
  }
  flow_.down(kHeight + 1.5);
}

void ProofPages::close_up_and_inks(const PrintStudy& study) {
  const PrintPixels& pixels = study.close_up;
  const double w = std::min(kCloseUp, pixels.width / pixels.px_per_mm),
               h = std::min(kCloseUp, pixels.height / pixels.px_per_mm);
  const double gap = 5, table_x = flow_.x() + kCloseUp + gap, table_width = flow_.width() - kCloseUp - gap;
  const std::vector<TableColumn> columns = ink_columns(study, table_width);
  const std::vector<std::vector<TableCell>> rows = ink_rows(study);
  TableStyle style;
  style.size_pt = 9;
  style.least_pt = 6;
  style.most_lines = 2;
  style.swatch_mm = study.shirts.size() > 1 ? 10.5 : 14;
  style.least_row_mm = 6.4;
  if (rows.size() > 8) {  // as many inks as a press has heads: a line each
    style.size_pt = 8;
    style.pad_mm = 0.5;
    style.least_row_mm = 5.8;
  }
  flow_.page().picture("close-up", {flow_.x(), flow_.y(), w, h},
                       std::make_shared<PagePicture>(cut(pixels, w, h)), kCloseUpAlt);
  TextStyle small;
  small.size_pt = 7.5;
  small.colour = kMidGrey;
  flow_.page().text("close-up note", {flow_.x(), flow_.y() + h + 0.8, kCloseUp, 4}, kRealSize, small);
  double beside = h + 6;  // what stands beside the table
  for (std::size_t done = 0; done < rows.size();) {
    const TableFit fit = place_table(flow_.page(), "inks", {table_x, flow_.y(), table_width, flow_.room()},
                                     columns, rows, style, done);
    done += fit.rows;
    flow_.down(std::max(beside, fit.height_mm + 2) + 1);
    if (done == rows.size()) break;
    flow_.next_page();
    heading();
    beside = 0;
  }
}

void ProofPages::words(const PrintStudy& study) {
  const std::vector<std::string> expect = expectations(study), asked = questions(order_, study);
  const bool two = !asked.empty();
  const double gap = 6, left = two ? 0.56 * flow_.width() : flow_.width(), right = flow_.width() - left - gap;
  constexpr double kSize = 8.5;
  double height = sentences_height(expect, left, kSize);
  if (two) height = std::max(height, sentences_height(asked, right, kSize));
  height = std::min(height + 5.4, std::max(flow_.room(), 45.0));
  if (flow_.need(height)) heading();
  Page& page = flow_.page();
  const double y = flow_.y(), head = place_subheading(page, {flow_.x(), y, left, 6}, kExpectHeading);
  place_sentences(page, "expectation", {flow_.x(), y + head, left, height - head}, expect, false, kSize);
  if (two) {
    const double x = flow_.x() + left + gap;
    place_subheading(page, {x, y, right, 6}, kAskHeading);
    place_sentences(page, "question", {x, y + head, right, height - head}, asked, true, kSize);
  }
  flow_.down(height + 2);
}

PageDocument customer_proof(const Order& order, const std::vector<PrintStudy>& studies,
                            const std::string& checksum, const ProofSettings& settings) {
  KIRTLE_CHECK(studies.size(), >, std::size_t{0});
  ProofPages pages(order, studies, checksum, settings.paper);
  PageDocument out;
  out.title = "Proof: " + proof_title(order, studies);
  out.subject = order.number.empty()
                    ? "Proof for approval"
                    : fmt::format("Proof for approval, order {}, version {}", order.number, order.version);
  out.keywords = "checksum " + checksum;
  out.date = order.date;
  out.pages = pages.make();
  return out;
}

}  // namespace kirtle
