// Pages, photographs' packing, and plates that are mostly ink.
#include "plate/corpus.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::corpus_ink;
using test::corpus_spec;
using test::make_png;
using test::make_tiff;
using test::make_tiff_pages;
using test::TempFolder;
using test::TiffSpec;
using testing::HasSubstr;

class PlateFile : public testing::Test {
 protected:
  TempFolder folder;
};

TEST_F(PlateFile, PagesAreListedWithTheirSizes) {
  std::vector<TiffSpec> pages(4, corpus_spec());
  pages[0].page_name = "base";
  pages[1].depth = 1;
  pages[1].compression = COMPRESSION_CCITTFAX4;
  pages[2].subfile = FILETYPE_REDUCEDIMAGE;
  pages[3].width = 20;
  pages[3].height = 10;
  make_tiff_pages(folder / "pages.tif", pages, [](int page, int x, int y, int) {
    return page == 1 ? 1 - corpus_ink(0, x, y, 2) : 255 - corpus_ink(0, x, y, 256);
  });
  Diagnostics notes;
  const auto entries = list_plates(folder / "pages.tif", notes);
  ASSERT_EQ(entries.size(), 3u);
  EXPECT_EQ(entries[0].name, "base");
  EXPECT_EQ(entries[1].name, "pages page 2");
  EXPECT_EQ(entries[2].name, "pages page 4");
  EXPECT_EQ(entries[2].page, 3);
  EXPECT_EQ(entries[2].width, 20);
  EXPECT_EQ(entries[2].height, 10);
  ASSERT_EQ(notes.all().size(), 1u);
  EXPECT_EQ(notes.all()[0].message, "page 3: a reduced copy of another page; left out");
  const auto images = read_plates({entries[1], entries[0]}, Polarity::dark_is_ink, notes);
  EXPECT_EQ(test::film_of(images[0]), test::corpus_film(0, 2));
  EXPECT_TRUE(images[0].dots);
  EXPECT_EQ(test::film_of(images[1]), test::corpus_film(0, 256));
  EXPECT_FALSE(images[1].dots);
}

TEST_F(PlateFile, JpegIsReadWithAWarning) {
  TiffSpec spec = corpus_spec();
  spec.compression = COMPRESSION_JPEG;
  spec.rows_per_strip = 16;
  make_tiff(folder / "j.tif", spec, [](int x, int y, int) { return x + y < 40 ? 255u : 128u; });
  Diagnostics notes;
  const auto images = test::read_all(folder / "j.tif", notes);
  EXPECT_NEAR(images[0].film(0, 0), 0, 0.1);
  EXPECT_NEAR(images[0].film(60, 44), 127 / 255.0, 0.1);
  ASSERT_EQ(notes.all().size(), 1u);
  EXPECT_EQ(notes.all()[0].severity, Severity::warning);
  EXPECT_THAT(notes.all()[0].message, HasSubstr("JPEG), which smears edges"));
}

TEST_F(PlateFile, MostlyInkIsAskedAbout) {
  const auto warnings = [&](const std::function<unsigned(int, int)>& ink) {
    make_png(folder / "m.png", {10, 10}, [&](int x, int y, int) { return 255 - ink(x, y); });
    Diagnostics notes;
    test::read_all(folder / "m.png", notes);
    return notes.all().empty() ? std::string() : to_string(notes.all()[0]);
  };
  EXPECT_EQ(warnings([](int, int) { return 153u; }), "");  // 60 % just so
  EXPECT_EQ(
      warnings([](int, int) { return 154u; }),
      (folder / "m.png").string() +
          ": warning: plate \"m\": 60 % of it is ink, and 60 % of its outermost pixels; is the polarity "
          "right?\n  fix: if not, turn ink_is round (\"dark\" or \"light\")");
  const auto on_border = [](int x, int y) { return x == 0 || y == 0 || x == 9 || y == 9; };
  EXPECT_THAT(warnings([&](int x, int y) { return on_border(x, y) ? 255u : 0u; }),
              HasSubstr("36 % of it is ink, and 100 % of its outermost pixels"));
  EXPECT_EQ(warnings([&](int x, int y) { return on_border(x, y) ? 0u : 239u; }), "");
}

}  // namespace
}  // namespace kirtle
