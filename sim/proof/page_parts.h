#pragma once
// Parts that pages share: headings, tables, plots, measures on drawings, page numbers.
#include "proof/page_file.h"

#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// A4 and US letter.
struct PaperSize {
  double width_mm = 210, height_mm = 297;
};
constexpr PaperSize kA4{210, 297}, kLetter{215.9, 279.4};

/// Title at the left with a line below it, facts right-aligned beside it, a rule under both. Returns the
/// height used, mm; box.height is the most it may take.
double place_heading(Page& page, const PageBox& box, const std::string& title, const std::string& below,
                     const std::vector<std::string>& facts);

/// A small bold heading. Returns the height used, mm.
double place_subheading(Page& page, const PageBox& box, const std::string& text);

/// Adds to each page a rule, a text at the left and "page i of n" at the right, in the strip of 8 mm that
/// ends `margin_mm` above the page's lower edge.
void number_pages(std::vector<Page>& pages, const std::string& text, double margin_mm);

struct TableColumn {
  std::string title;
  double width_mm = 0;  ///< the columns' widths sum to at most the table's
  TextAlign align = TextAlign::left;
};
struct TableCell {
  std::string text;
  std::optional<PageColour> swatch{};  ///< a patch before the text
  bool bold = false;
};
struct TableStyle {
  double size_pt = 9, least_pt = 6.5, title_pt = 7.5;
  double pad_mm = 0.8;      ///< above and below a row's text
  double least_row_mm = 0;  ///< a row is at least so high
  double swatch_mm = 6;     ///< width of a patch
  int most_lines = 3;       ///< a cell's text wraps to so many lines, then shrinks, then is cut
};
struct TableFit {
  std::size_t rows = 0;  ///< placed; fewer than asked for if the box was full
  double height_mm = 0;  ///< used, titles included
};
/// Titles, then rows from `first` on for as long as they fit into the box. Cells beyond the columns are our
/// bug.
TableFit place_table(Page& page, const std::string& name, const PageBox& box,
                     const std::vector<TableColumn>& columns, const std::vector<std::vector<TableCell>>& rows,
                     const TableStyle& style = {}, std::size_t first = 0);

/// Told apart in black and white by their dashes.
enum class PlotDash { solid, dashed, dotted, dash_dot, long_dash };

struct PlotSeries {
  std::string name;
  std::vector<PagePoint> points;  ///< x, y in the axes' units
  PlotDash dash = PlotDash::solid;
  double width_mm = 0.4;
  PageColour colour{};
};
struct PlotAxis {
  std::string title;
  double low = 0, high = 1;
  std::vector<double> ticks;
  std::vector<std::string> labels;  ///< one a tick
};
/// An upright line at an x, with its name above.
struct PlotMark {
  double x = 0;
  std::string name;
};
struct Plot {
  PlotAxis x, y;
  std::vector<PlotSeries> series;
  std::vector<PlotMark> marks;
  std::string alt;
};
/// The plot with its legend below, within the box. Curves are cut off at the axes' ends.
void place_plot(Page& page, const std::string& name, const PageBox& box, const Plot& plot);

/// A measure: a line between two points, level or upright, with end strokes, and its text beside it: above a
/// level one, left or right of an upright one. text_box is where the text stands.
void place_measure(Page& page, const std::string& name, PagePoint from, PagePoint to, const PageBox& text_box,
                   const std::string& text, double size_pt = 7.5);

}  // namespace kirtle
