#include "proof/page.h"

#include "base/check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <limits>

namespace kirtle {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

TEST(CleanText, KeepsWhatPeopleWrite) {
  for (const char* text :
       {"Zoë & Søn <Ltd>", "日本語のシャツ", "שלום", "مرحبا", "हिन्दी", "e\xCC\x81", "50 %"})
    EXPECT_EQ(clean_text(text), text);
}

TEST(CleanText, TakesOutWhatWouldHarm) {
  EXPECT_EQ(clean_text("a\nb\tc\r\xE2\x80\xA8"
                       "d"),
            "a b c  d");
  EXPECT_EQ(clean_text(std::string_view("a\0b\x1b[31m", 8)),
            "a\xEF\xBF\xBD"
            "b\xEF\xBF\xBD[31m");
  EXPECT_EQ(clean_text("\xFF\xC0\xAF"
                       "x"),
            "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBDx");                             // overlong "/"
  EXPECT_EQ(clean_text("\xED\xA0\x80"), "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");  // a surrogate
  EXPECT_EQ(clean_text("pay\xE2\x80\xAE"
                       "10"),
            "pay10");  // override
  EXPECT_EQ(clean_text("cut\xE2"), "cut\xEF\xBF\xBD");
  std::string pile = "a";
  for (int i = 0; i < 50; ++i) pile += "\xCC\x81";
  EXPECT_EQ(clean_text(pile), "a\xCC\x81\xCC\x81\xCC\x81\xCC\x81");
}

TEST(PageText, MarkupIsText) {
  Page page(100, 100);
  page.text("t", {10, 10, 80, 10}, "<b>&amp;</b>");
  EXPECT_EQ(std::get<TextItem>(page.items()[0].what).text, "<b>&amp;</b>");
}

TEST(PageText, ShrinksThenIsCut) {
  Page page(200, 100);
  TextStyle style;
  style.size_pt = 12;
  style.least_pt = 6;
  style.wrap = false;
  const double natural = measure_text("A middling name", style, 500).width_mm;
  EXPECT_EQ(page.text("fits", {0, 0, natural + 0.1, 8}, "A middling name", style).size_pt, 12);
  const TextFit shrunk = page.text("shrinks", {0, 10, natural * 0.7, 8}, "A middling name", style);
  EXPECT_FALSE(shrunk.cut);
  EXPECT_LT(shrunk.size_pt, 12 * 0.72);
  EXPECT_GE(shrunk.size_pt, 6);
  const TextFit cut = page.text("is cut", {0, 20, natural * 0.3, 8}, "A middling name", style);
  EXPECT_TRUE(cut.cut);
  EXPECT_EQ(cut.size_pt, 6);
  EXPECT_THAT(layout_faults(page), IsEmpty());
}

TEST(PageText, WrapsWordsAndWordlessTextAlike) {
  Page page(200, 200);
  TextStyle style;
  const TextFit words =
      page.text("words", {0, 0, 30, 40}, "several words that need a few lines to stand", style);
  EXPECT_GT(words.height_mm, 2 * 4);
  const TextFit wordless = page.text("wordless", {0, 50, 30, 40}, std::string(60, 'W'), style);
  EXPECT_FALSE(wordless.cut);
  page.text("far too much", {0, 100, 30, 9}, std::string(20000, 'x'), style);
  EXPECT_TRUE(std::get<TextItem>(page.items().back().what).cut);
  EXPECT_THAT(layout_faults(page), IsEmpty());
}

TEST(PageText, FontsHoldTheScriptsThatNamesComeIn) {
  for (const char* text :
       {"Łódź Ærø Țară", "Ελληνικά", "Кириллица", "日本語 中文", "שלום", "مرحبا", "हिन्दी", "ไทย", "한국어"})
    EXPECT_EQ(measure_text(text, {}, 100).glyphs_not_in_font, 0) << text;
}

TEST(LayoutFaults, NameWhatIsWrong) {
  Page page(100, 100);
  page.fill("ground", {0, 0, 100, 100}, {1, 1, 1});
  page.swatch("a", {10, 10, 20, 20}, {1, 0, 0});
  page.swatch("beside", {30, 10, 20, 20}, {1, 0, 0});
  EXPECT_THAT(layout_faults(page), IsEmpty());
  page.swatch("b", {25, 25, 20, 20}, {1, 0, 0});
  EXPECT_THAT(layout_faults(page), ElementsAre(HasSubstr("\"b\""), HasSubstr("overlaps")));
  Page low(100, 100);
  low.begin_group("group", {10, 10, 30, 30});
  low.swatch("out", {30, 30, 20, 5}, {0, 0, 0});
  low.end_group();
  TextStyle style;
  style.size_pt = 40;
  low.text("too low a box", {50, 50, 50, 5}, "Ag", style);
  EXPECT_THAT(layout_faults(low),
              ElementsAre(HasSubstr("\"out\" (30.0,30.0 20.0 x 5.0 mm, takes 20.0 x 5.0) leaves its group"),
                          HasSubstr("\"too low a box\"")));
}

TEST(Page, RefusesSidesThatAreNoPaper) {
  EXPECT_NO_THROW(Page(20, 2000));
  EXPECT_THROW(Page(19.9, 100), InternalError);
  EXPECT_THROW(Page(100, 2000.1), InternalError);
  EXPECT_THROW(Page(std::numeric_limits<double>::quiet_NaN(), 100), InternalError);
}

}  // namespace
}  // namespace kirtle
