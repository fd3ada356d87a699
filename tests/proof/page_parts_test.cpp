#include "proof/page_parts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using ::testing::IsEmpty;

const std::string kLong =
    "A name so long that no column of any table on this page could ever hold it in one line, whatever is "
    "tried";

std::vector<std::vector<TableCell>> rows_of(std::size_t n, const std::string& text) {
  std::vector<std::vector<TableCell>> rows;
  for (std::size_t i = 0; i < n; ++i)
    rows.push_back({{std::to_string(i + 1)}, {text, PageColour{0.2, 0.4, 0.6}}, {"61/cm", {}, true}});
  return rows;
}

const std::vector<TableColumn> kColumns{
    {"Head", 14}, {"Ink, as the customer calls it", 60}, {"Mesh", 30, TextAlign::right}};

TEST(Table, ContinuesOnTheNextPage) {
  const auto rows = rows_of(40, "Cream");
  std::size_t first = 0;
  int pages = 0;
  while (first < rows.size()) {
    Page page(210, 100);
    const TableFit fit = place_table(page, "inks", {10, 10, 120, 80}, kColumns, rows, {}, first);
    ASSERT_GT(fit.rows, 0u);
    EXPECT_LE(fit.height_mm, 80);
    EXPECT_THAT(layout_faults(page), IsEmpty());
    first += fit.rows;
    ++pages;
  }
  EXPECT_EQ(first, rows.size());
  EXPECT_GT(pages, 2);
}

TEST(Table, LongTextStaysInItsCell) {
  Page page(210, 297);
  const TableFit fit = place_table(page, "inks", {10, 10, 120, 250}, kColumns, rows_of(12, kLong + kLong));
  EXPECT_EQ(fit.rows, 12u);
  EXPECT_THAT(layout_faults(page), IsEmpty());
}

TEST(Heading, HoldsLongTitlesAndFacts) {
  Page page(210, 297);
  const double used = place_heading(page, {12, 12, 186, 24}, kLong + kLong, kLong,
                                    {"Order " + kLong, "Version 2", "2026-11-25", "Due 2026-12-18"});
  EXPECT_LE(used, 24);
  EXPECT_THAT(layout_faults(page), IsEmpty());
}

TEST(PageNumbers, CountEveryPage) {
  std::vector<Page> pages(3, Page(210, 297));
  number_pages(pages, kLong + kLong, 12);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    EXPECT_THAT(layout_faults(pages[i]), IsEmpty());
    EXPECT_EQ(std::get<TextItem>(pages[i].items().back().what).text,
              "page " + std::to_string(i + 1) + " of 3");
  }
}

Plot tolerance_plot() {
  Plot plot;
  plot.x = {"press holds +- mm", 0, 1, {0, 0.25, 0.5, 0.75, 1}, {"0", "0.25", "0.50", "0.75", "1.00"}};
  plot.y = {"shirts that show", 0, 100, {0, 50, 100}, {"0 %", "50 %", "100 %"}};
  plot.series = {{"fade", {{0, 10}, {0.5, 60}, {1, 130}}, PlotDash::solid},
                 {"fade with trap", {{0, 0}, {1, 80}}, PlotDash::dashed},
                 {"solid under, knocked out", {{0, 0}, {1, 3}}, PlotDash::dotted}};
  plot.marks = {{0.2, "this press"}, {0.25, "the press next to it"}};
  return plot;
}

TEST(PlotPart, LiesInItsBoxAndCutsCurvesAtItsAxes) {
  Page page(210, 297);
  place_plot(page, "tolerance", {20, 20, 90, 60}, tolerance_plot());
  EXPECT_THAT(layout_faults(page), IsEmpty());
  double top = 1e9;
  bool found = false;
  for (const PlacedItem& item : page.items()) {
    if (item.name == "tolerance axes") top = item.box.y;
    if (item.name != "tolerance curve fade") continue;
    found = true;
    EXPECT_NEAR(item.box.y, top, 1e-9);  // 130 % is beyond the axis
  }
  EXPECT_TRUE(found);
}

TEST(PlotPart, NarrowBoxesHoldToo) {
  Page page(210, 297);
  place_plot(page, "narrow", {20, 20, 45, 60}, tolerance_plot());
  EXPECT_THAT(layout_faults(page), IsEmpty());
}

}  // namespace
}  // namespace kirtle
