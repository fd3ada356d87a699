#include "proof/page_parts.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr PageColour kGrey{0.35, 0.35, 0.35}, kRule{0.7, 0.7, 0.7};

void rule(Page& page, const std::string& name, double x0, double x1, double y, double width_mm,
          const PageColour& colour) {
  page.line(name, {{{x0, y}, {x1, y}}, width_mm, colour, {}, false});
}

}  // namespace

double place_heading(Page& page, const PageBox& box, const std::string& title, const std::string& below,
                     const std::vector<std::string>& facts) {
  const double facts_width = facts.empty() ? 0 : 0.36 * box.width;
  const double title_width = box.width - facts_width - (facts.empty() ? 0 : 4);
  TextStyle style;
  style.size_pt = 17;
  style.least_pt = 10;
  style.bold = true;
  style.role = TextRole::title;
  const double most_title = box.height * 0.62;
  const double title_height = std::min(most_title, measure_text(title, style, title_width).height_mm);
  page.begin_group("heading", box);
  const TextFit fit = page.text("title", {box.x, box.y, title_width, title_height}, title, style);
  double left = std::max(title_height, fit.height_mm);
  if (!below.empty()) {
    TextStyle small;
    small.size_pt = 9.5;
    small.least_pt = 7;
    small.colour = kGrey;
    const double most = std::max(4.5, box.height - left - 2);
    const double height = std::min(most, measure_text(below, small, title_width).height_mm);
    page.text("below title", {box.x, box.y + left, title_width, height}, below, small);
    left += height;
  }
  double right = 0.6;
  TextStyle fact;
  fact.size_pt = 9;
  fact.least_pt = 6.5;
  fact.wrap = false;
  fact.align = TextAlign::right;
  const double step =
      std::min(4.6, (box.height - 2) / std::max<double>(1, static_cast<double>(facts.size())));
  for (const std::string& text : facts) {
    page.text("fact", {box.right() - facts_width, box.y + right, facts_width, step}, text, fact);
    fact.bold = false;
    right += step;
  }
  const double used = std::min(box.height, std::max(left, right) + 1.5);
  rule(page, "heading rule", box.x, box.right(), box.y + used - 0.2, 0.4, {});
  page.end_group(used);
  return used;
}

double place_subheading(Page& page, const PageBox& box, const std::string& text) {
  TextStyle style;
  style.size_pt = 10;
  style.least_pt = 7;
  style.bold = true;
  style.wrap = false;
  style.role = TextRole::heading;
  constexpr double kHeight = 5.4;
  page.text("heading of " + text, {box.x, box.y, box.width, kHeight}, text, style);
  return kHeight;
}

void number_pages(std::vector<Page>& pages, const std::string& text, double margin_mm) {
  TextStyle style;
  style.size_pt = 7.5;
  style.least_pt = 5.5;
  style.wrap = false;
  style.colour = kGrey;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    Page& page = pages[i];
    const double y = page.height_mm() - margin_mm - 8, x0 = margin_mm, x1 = page.width_mm() - margin_mm;
    rule(page, "footer rule", x0, x1, y + 3, 0.15, kRule);
    style.align = TextAlign::left;
    page.text("footer", {x0, y + 3.6, x1 - x0 - 27, 4.4}, text, style);
    style.align = TextAlign::right;
    page.text("page number", {x1 - 25, y + 3.6, 25, 4.4},
              "page " + std::to_string(i + 1) + " of " + std::to_string(pages.size()), style);
  }
}

TableFit place_table(Page& page, const std::string& name, const PageBox& box,
                     const std::vector<TableColumn>& columns, const std::vector<std::vector<TableCell>>& rows,
                     const TableStyle& style, std::size_t first) {
  constexpr double kGap = 1.2;  // between columns
  const auto cell_style = [&](const TableColumn& column, bool bold) {
    TextStyle out;
    out.size_pt = style.size_pt;
    out.least_pt = style.least_pt;
    out.bold = bold;
    out.align = column.align;
    out.middle = true;
    return out;
  };
  TextStyle title_style;
  title_style.size_pt = style.title_pt;
  title_style.least_pt = 5.5;
  title_style.colour = kGrey;
  title_style.wrap = true;

  double width = 0, title_height = 0;
  for (const TableColumn& column : columns) {
    width += column.width_mm;
    if (!column.title.empty())
      title_height =
          std::max(title_height, measure_text(column.title, title_style, column.width_mm - kGap).height_mm);
  }
  KIRTLE_CHECK(width, <=, box.width + 0.01);
  const double line_mm = measure_text("Ag", cell_style(columns.front(), false), box.width).height_mm;

  const auto text_width = [&](const TableColumn& column, const TableCell& cell) {
    return column.width_mm - kGap - (cell.swatch ? style.swatch_mm + 1.5 : 0);
  };
  const auto row_height = [&](const std::vector<TableCell>& row) {
    KIRTLE_CHECK(row.size(), <=, columns.size());
    double height = std::max(style.least_row_mm - 2 * style.pad_mm, line_mm);
    for (std::size_t i = 0; i < row.size(); ++i) {
      const TextFit fit =
          measure_text(row[i].text, cell_style(columns[i], row[i].bold), text_width(columns[i], row[i]));
      height = std::max(height, std::min(fit.height_mm, style.most_lines * line_mm));
    }
    return height + 2 * style.pad_mm;
  };

  page.begin_group(name, box);
  TableFit fit;
  double y = box.y;
  if (title_height > 0) {
    double x = box.x;
    for (const TableColumn& column : columns) {
      title_style.align = column.align;
      page.text(name + " title", {x, y, column.width_mm - kGap, title_height}, column.title, title_style);
      x += column.width_mm;
    }
    y += title_height + 0.6;
    rule(page, name + " rule", box.x, box.x + width, y, 0.3, {});
  }
  for (std::size_t r = first; r < rows.size(); ++r) {
    const double height = row_height(rows[r]);
    if (y + height > box.bottom() + 0.01) break;
    double x = box.x;
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      const TableCell& cell = rows[r][i];
      double left = x;
      if (cell.swatch) {
        const double patch = std::min(height - 1, 2 * style.swatch_mm);
        page.swatch(name + " swatch " + std::to_string(r),
                    {left, y + (height - patch) / 2, style.swatch_mm, patch}, *cell.swatch);
        left += style.swatch_mm + 1.5;
      }
      if (!cell.text.empty())
        page.text(name + " cell " + std::to_string(r) + "," + std::to_string(i),
                  {left, y + style.pad_mm, text_width(columns[i], cell), height - 2 * style.pad_mm},
                  cell.text, cell_style(columns[i], cell.bold));
      x += columns[i].width_mm;
    }
    y += height;
    rule(page, name + " rule", box.x, box.x + width, y, 0.12, kRule);
    ++fit.rows;
  }
  fit.height_mm = y - box.y;
  page.end_group(fit.height_mm);
  return fit;
}

void place_measure(Page& page, const std::string& name, PagePoint from, PagePoint to, const PageBox& text_box,
                   const std::string& text, double size_pt) {
  constexpr double kEnd = 1.2, kWidth = 0.18;
  const bool level = std::abs(to.x - from.x) > std::abs(to.y - from.y);
  page.line(name, {{from, to}, kWidth, kGrey, {}, false});
  for (const PagePoint& p : {from, to}) {
    const double dx = level ? 0 : kEnd, dy = level ? kEnd : 0;
    page.line(name + " end", {{{p.x - dx, p.y - dy}, {p.x + dx, p.y + dy}}, kWidth, kGrey, {}, false});
  }
  TextStyle style;
  style.size_pt = size_pt;
  style.least_pt = 5;
  style.align = TextAlign::centre;
  style.middle = true;
  page.text(name + " text", text_box, text, style);
}

}  // namespace kirtle
