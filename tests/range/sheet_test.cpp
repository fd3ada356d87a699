// The contact sheet is laid out whatever is on it, and says what the figures say.
#include "range/contact_sheet.h"
#include "range/range_fixture.h"

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class Sheets : public Ranges {
 protected:
  static std::vector<std::string> faults(const ContactSheet& sheet) {
    std::vector<std::string> out;
    for (const Page& page : sheet.document.pages)
      for (const std::string& fault : layout_faults(page)) out.push_back(fault);
    return out;
  }
  static std::string text_of(const ContactSheet& sheet) {
    std::string out;
    for (const Page& page : sheet.document.pages)
      for (const PlacedItem& item : page.items())
        if (const TextItem* text = std::get_if<TextItem>(&item.what)) out += text->text + "\n";
    return out;
  }
  static int pictures_on(const ContactSheet& sheet) {
    int out = 0;
    for (const Page& page : sheet.document.pages)
      for (const PlacedItem& item : page.items())
        out += std::holds_alternative<PictureItem>(item.what) ? 1 : 0;
    return out;
  }
  RangeResult made() {
    return run_range(scenes_ = {discharge_scene()}, options("", {"black-cotton", "royal-cotton"}));
  }
  std::vector<Scene> scenes_;
};

TEST_F(Sheets, EveryDesignOnEveryShirtHasItsPicture) {
  const RangeResult result = made();
  const ContactSheet sheet = contact_sheet(scenes_, result);
  EXPECT_THAT(faults(sheet), IsEmpty());
  EXPECT_EQ(pictures_on(sheet), static_cast<int>(2 * result.items.front().lines.size()));
  EXPECT_THAT(text_of(sheet), HasSubstr("off 0.0 (0.0), no new screen"));
  EXPECT_LT(sheet.first_pictures, sheet.document.pages.size());
  EXPECT_THAT(text_of(sheet), HasSubstr("Discharge inks release formaldehyde"));
  EXPECT_THAT(text_of(sheet), HasSubstr("2 shirts"));
}

TEST_F(Sheets, SixtyShirtsAndLongMarkedUpNamesAreLaidOut) {
  RangeResult result = made();
  scenes_.front().title =
      "A title that goes on and on, <b>with markup</b> & \x01 \u202e" + std::string(150, 'W');
  const RangeItem one = result.items.front();
  for (int i = 0; i < 58; ++i) {
    result.items.push_back(one);
    RangeItem& item = result.items.back();
    item.shirt_name = i % 3 == 0 ? "<span size='99'>" + std::string(80, 'M')
                                 : "Seagrass \u6d77\u8349 heather " + std::string(40, 'i');
    for (RangeLine& line : item.lines) {
      line.called = std::string(90, 'W') + " in place of " + std::string(90, 'W');
      line.figures.why = {{"a", std::string(120, 'W'), "b"}, {"c", "d", "e"}};
      line.figures.difference_mean = 88.8;
      line.figures.difference_p95 = 188.8;
      line.new_screens = 11;
      line.figures.verdict = static_cast<RangeVerdict>(i % 3);
    }
  }
  const ContactSheet sheet = contact_sheet(scenes_, result);
  EXPECT_THAT(faults(sheet), IsEmpty());
  EXPECT_THAT(text_of(sheet), Not(HasSubstr("\x01")));
  EXPECT_THAT(text_of(sheet), HasSubstr("<b>with markup</b>"));  // as it stands, not read
  EXPECT_EQ(pictures_on(sheet), static_cast<int>(60 * one.lines.size()));
}

TEST_F(Sheets, WorksComesFirstThenByDifference) {
  const RangeResult result = made();
  const std::vector<RangeEntry> entries = sorted_entries(result);
  for (std::size_t i = 1; i < entries.size(); ++i) {
    const RangeFigures &a = entries[i - 1].line->figures, &b = entries[i].line->figures;
    EXPECT_LE(a.verdict, b.verdict);
    if (a.verdict == b.verdict) {
      EXPECT_LE(a.difference_mean, b.difference_mean);
    }
  }
}

TEST_F(Sheets, WhatToTakePrefersWorkingThenFewerScreensThenTheDesignAsItIs) {
  RangeItem item;
  const auto line = [](RangeVariant variant, RangeVerdict verdict, double off, int screens) {
    RangeLine out;
    out.variant = variant;
    out.id = std::string(variant_id(variant));
    out.figures.verdict = verdict;
    out.figures.difference_mean = off;
    out.new_screens = screens;
    return out;
  };
  using V = RangeVariant;
  item.lines = {line(V::as_is, RangeVerdict::no, 0.5, 0), line(V::with_base, RangeVerdict::works, 1.9, 1),
                line(V::inks_swapped, RangeVerdict::care, 0.1, 0)};
  EXPECT_EQ(best_line(item).id, "with-base");
  item.lines[0].figures.verdict = RangeVerdict::works;
  EXPECT_EQ(best_line(item).id, "as-is");
  item.lines[0].figures.difference_mean = 1.95;
  EXPECT_EQ(best_line(item).id, "as-is") << "the same in words, and no new screen";
  item.lines[0].figures.difference_mean = 2.05;
  EXPECT_EQ(best_line(item).id, "with-base");
  EXPECT_EQ(difference_in_words(0.99), "none to see");
  EXPECT_EQ(difference_in_words(1), "side by side only");
  EXPECT_EQ(difference_in_words(2), "seen");
  EXPECT_EQ(difference_in_words(4), "another colour");
}

TEST_F(Sheets, FieldsOfACsvAreNoFormulaAndQuoted) {
  RangeResult result = made();
  result.items.front().shirt_name = "=HYPERLINK(\"x\"),\n<b>";
  const std::string csv = range_csv(scenes_, result);
  EXPECT_THAT(csv, HasSubstr("\"'=HYPERLINK(\"\"x\"\"),"));
  // One line a design and its title: the line end in the name broke none.
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'),
            1 + static_cast<std::ptrdiff_t>(2 * result.items.front().lines.size()));
}

}  // namespace
}  // namespace kirtle::test
