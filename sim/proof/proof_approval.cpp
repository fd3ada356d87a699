// The last part of a proof: what was ordered, what may differ, and the signature for all of it.
#include "proof/proof_pages.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

void ProofPages::approval() {
  const std::vector<std::string> notes = [&] {
    std::vector<std::string> out{tolerance_text(order_, studies_)};
    for (std::string& c : caution_texts(order_, studies_)) out.push_back(std::move(c));
    return out;
  }();
  constexpr double kSize = 8, kSign = 36;
  const double words_height = sentences_height(notes, flow_.width(), kSize);
  const double table_height =
      order_.shirts.empty() ? 0
                            : 9 + 5.2 * static_cast<double>(std::min<std::size_t>(order_.shirts.size(), 20));
  const double note_height = order_.note.empty() ? 0 : 9;
  if (flow_.need(6 + table_height + note_height + words_height + kSign + 2)) {
    heading();
    if (studies_.size() > 1) at_a_glance();
  }
  flow_.down(place_subheading(flow_.page(), flow_.box(6), approval_heading(studies_)));
  shirts_table();
  if (!order_.note.empty()) {
    TextStyle style;
    style.size_pt = 8.5;
    style.least_pt = 6;
    flow_.page().text("note", flow_.box(8), "Note: " + order_.note, style);
    flow_.down(9);
  }
  if (flow_.need(words_height + kSign + 4)) heading();
  flow_.down(place_sentences(flow_.page(), "caution", flow_.box(words_height), notes, false, kSize) + 1.5);
  sign(flow_.box(kSign));
  flow_.down(kSign);
}

/// All prints small, so that whoever signs sees what they sign.
void ProofPages::at_a_glance() {
  const double column = flow_.width() / 4, height = std::min(46.0, flow_.room() / 5);
  TextStyle small;
  small.size_pt = 8;
  small.least_pt = 6;
  small.align = TextAlign::centre;
  for (std::size_t i = 0; i < studies_.size(); ++i) {
    if (i > 0 && i % 4 == 0) flow_.down(height + 2);
    const PrintStudy& study = studies_[i];
    const double x = flow_.x() + static_cast<double>(i % 4) * column;
    PanelShirt s;
    s.size = extreme_sizes(order_).largest;
    s.print_width_mm = width_for(order_, study, s.size);
    s.drop_mm = drop_mm(study.print, s.size);
    place_garments(flow_.page(), "glance", {x, flow_.y(), column - 2, height - 9}, study, 0, {s}, false);
    flow_.page().text("glance name", {x, flow_.y() + height - 9, column - 2, 8.5},
                      fmt::format("{}: {:.1f} x {:.1f} in", location_heading(study.print.location),
                                  s.print_width_mm / kMmPerInch,
                                  s.print_width_mm * study.height_mm / study.width_mm / kMmPerInch),
                      small);
  }
  flow_.down(height + 3);
}

/// Shirts by colour and size.
void ProofPages::shirts_table() {
  const std::vector<std::vector<std::string>> counts = shirt_counts(order_, studies_.front());
  if (counts.empty()) return;
  const double width = flow_.width(), sizes = static_cast<double>(counts[0].size() - 2);
  const double step = std::min(11.5, (width - 45 - 14) / sizes);
  std::vector<TableColumn> columns;
  for (const std::string& title : counts[0]) columns.push_back({title, step, TextAlign::right});
  columns.front() = {counts[0].front(), width - 14 - step * sizes};
  columns.back().width_mm = 14;
  std::vector<std::vector<TableCell>> rows;
  for (std::size_t i = 1; i < counts.size(); ++i) {
    std::vector<TableCell> row;
    for (const std::string& text : counts[i]) row.push_back({text});
    row.back().bold = true;
    rows.push_back(std::move(row));
  }
  TableStyle style;
  style.size_pt = 8.5;
  style.least_pt = 5.5;
  style.pad_mm = 0.5;
  style.most_lines = 1;
  std::size_t done = 0;
  while (done < rows.size()) {
    if (flow_.need(16)) heading();
    const TableFit fit =
        place_table(flow_.page(), "shirts ordered", flow_.box(flow_.room()), columns, rows, style, done);
    done += fit.rows;
    flow_.down(fit.height_mm + 2);
  }
}

void ProofPages::sign(const PageBox& box) {
  Page& page = flow_.page();
  page.begin_group("sign", box);
  page.frame("sign frame", box, 0.35);
  const std::vector<std::string> choices = approval_choices();
  const double x = box.x + 4, w = box.width - 8, third = w / 3;
  TextStyle style;
  style.size_pt = 9;
  style.least_pt = 6.5;
  place_tick(page, "approved", {x, box.y + 1.5, third - 2, 7.5}, choices[0]);
  place_tick(page, "approved with changes", {x + third, box.y + 1.5, third - 2, 7.5}, choices[1]);
  place_tick(page, "not approved", {x + 2 * third, box.y + 1.5, third, 7.5}, choices[2]);
  place_blank(page, "comment", {x, box.y + 9, w, 6}, kComments);
  page.line("comment line", {{{x, box.y + 20.5}, {x + w, box.y + 20.5}}, 0.18, kMidGrey, {}, false});
  place_blank(page, "name", {x, box.y + 22.5, third - 3, 7}, kName);
  place_blank(page, "signature", {x + third, box.y + 22.5, third - 3, 7}, kSignature);
  place_blank(page, "date", {x + 2 * third, box.y + 22.5, third, 7}, kDate);
  style.size_pt = 7.5;
  style.colour = kMidGrey;
  style.wrap = false;
  style.least_pt = 5.5;
  page.text("what is signed", {x, box.bottom() - 5.2, w, 4.4}, signed_for(order_, checksum_), style);
  page.end_group();
}

}  // namespace kirtle
