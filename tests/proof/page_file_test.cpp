#include "proof/page_file.h"

#include "base/diagnostics.h"
#include "proof/page_parts.h"
#include "proof/pdf_tools.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::run;
using test::TempFolder;
using ::testing::HasSubstr;
using ::testing::Not;

/// Title, swatches, a picture with clear corners, a table: everything that a page can hold.
PageDocument sample() {
  Page page(210, 297);
  place_heading(page, {15, 15, 180, 24}, "Proof for <b>Zoë & Søn</b>", "日本語 שלום",
                {"Order (7)", "\\Version 2"});
  page.swatch("red", {15, 50, 20, 20}, {200 / 255.0, 30 / 255.0, 40 / 255.0});
  page.swatch("teal", {45, 50, 20, 20}, {0, 128 / 255.0, 130 / 255.0});
  auto picture = std::make_shared<PagePicture>();
  picture->width = picture->height = 4;
  for (int i = 0; i < 16; ++i)
    picture->rgba.insert(picture->rgba.end(), {10, 200, 90, static_cast<std::uint8_t>(i % 5 == 0 ? 0 : 255)});
  page.picture("print", {75, 50, 25.4, 25.4}, picture, "The print (front)", false);
  place_table(page, "inks", {15, 90, 120, 40}, {{"Ink", 60}, {"Mesh", 60}}, {{{"Cream"}, {"43/cm"}}});
  PageDocument document;
  document.title = "Proof <7> & \"more\"";
  document.subject = "Order 7";
  document.keywords = "checksum 0123";
  document.date = "2026-11-25";
  document.pages = {page, page};
  number_pages(document.pages, "Kirtle", 12);
  return document;
}

TEST(Pdf, ToolsOfOthersFindNothingWrong) {
  const TempFolder folder;
  write_pdf(sample(), folder / "a.pdf");
  const test::Ran check = run({"qpdf", "--check", (folder / "a.pdf").string()});
  EXPECT_EQ(check.status, 0) << check.output;
  EXPECT_THAT(check.output, Not(HasSubstr("WARNING")));
  const test::Ran info = run({"pdfinfo", (folder / "a.pdf").string()});
  EXPECT_THAT(info.output, HasSubstr("Title:           Proof <7> & \"more\""));
  EXPECT_THAT(info.output, HasSubstr("Tagged:          yes"));
  EXPECT_THAT(info.output, HasSubstr("Pages:           2"));
  EXPECT_THAT(info.output, Not(HasSubstr("Error")));
  const test::Ran fonts = run({"pdffonts", (folder / "a.pdf").string()});
  EXPECT_THAT(fonts.output, HasSubstr("NotoSans"));
  std::istringstream lines(fonts.output);
  std::string line;
  std::getline(lines, line);
  std::getline(lines, line);
  while (std::getline(lines, line))
    EXPECT_THAT(line, ::testing::ContainsRegex("yes yes yes")) << fonts.output;
}

TEST(Pdf, NamesProfileMetadataAndWhatFiguresShow) {
  const TempFolder folder;
  write_pdf(sample(), folder / "a.pdf");
  run({"qpdf", "--qdf", "--object-streams=disable", (folder / "a.pdf").string(),
       (folder / "b.pdf").string()});
  std::ifstream in(folder / "b.pdf", std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  EXPECT_THAT(text, HasSubstr("/OutputIntents"));
  EXPECT_THAT(text, HasSubstr("acsp"));  // signature of an ICC profile
  EXPECT_THAT(text, HasSubstr("<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">Proof &lt;7&gt; &amp; "
                              "&quot;more&quot;</rdf:li>"));
  EXPECT_THAT(text, HasSubstr("2026-11-25T00:00:00Z"));
  EXPECT_THAT(text, HasSubstr("(D:20261125000000Z)"));
  EXPECT_THAT(text, HasSubstr("/Alt (The print \\(front\\))"));
  EXPECT_THAT(text, Not(HasSubstr("/JavaScript")));
}

TEST(Pdf, SameDocumentSameBytes) { EXPECT_EQ(pdf_bytes(sample()), pdf_bytes(sample())); }

TEST(Pdf, TextIsReadInOrder) {
  const TempFolder folder;
  write_pdf(sample(), folder / "a.pdf");
  const std::string text =
      run({"pdftotext", "-raw", "-f", "1", "-l", "1", (folder / "a.pdf").string(), "-"}).output;
  std::size_t at = 0;
  for (const char* word : {"Proof for <b>Zoë & Søn</b>", "日本語", "Order (7)", "\\Version 2", "Ink", "Mesh",
                           "Cream", "43/cm", "page 1 of 2"}) {
    const std::size_t found = text.find(word, at);
    ASSERT_NE(found, std::string::npos) << word << " in:\n" << text;
    at = found;
  }
}

TEST(Pdf, ColoursAndSizesComeBackThroughPoppler) {
  const TempFolder folder;
  write_pdf(sample(), folder / "a.pdf");
  const test::Pixels page = test::rasterised(folder / "a.pdf", 1, 254, folder);  // 10 pixels a mm
  EXPECT_NEAR(page.width, 2100, 1);
  EXPECT_EQ(page.at(250, 600), (Rgb8{200, 30, 40}));
  EXPECT_EQ(page.at(550, 600), (Rgb8{0, 128, 130}));
  // 25.4 mm of picture from 75, 50: second pixel of four is full, the first is clear; white beside it.
  EXPECT_EQ(page.at(750 + 32, 500 + 32), (Rgb8{255, 255, 255}));
  EXPECT_EQ(page.at(750 + 95, 500 + 32), (Rgb8{10, 200, 90}));
  EXPECT_EQ(page.at(750 + 250, 500 + 95), (Rgb8{10, 200, 90}));
  EXPECT_EQ(page.at(750 + 258, 500 + 95), (Rgb8{255, 255, 255}));
}

TEST(Pdf, PngIsTheSamePage) {
  const TempFolder folder;
  const PageDocument document = sample();
  write_pdf(document, folder / "a.pdf");
  const test::Pixels poppler = test::rasterised(folder / "a.pdf", 1, 127, folder);
  const PagePicture own = page_pixels(document.pages[0], 127);
  // poppler rounds the paper's size up.
  ASSERT_NEAR(own.width, poppler.width, 1);
  ASSERT_NEAR(own.height, poppler.height, 1);
  double difference = 0;
  for (int y = 0; y < own.height; ++y) {
    for (int x = 0; x < own.width; ++x) {
      const std::size_t i = 4 * (static_cast<std::size_t>(y) * own.width + x);
      difference += std::abs(own.rgba[i + 1] - poppler.at(x, y)[1]);
    }
  }
  // Two rasterisers: edges of letters differ, nothing else does.
  EXPECT_LT(difference / own.width / own.height, 0.6);
  write_page_png(document.pages[0], folder / "a.png", 127, "Proof");
  EXPECT_GT(std::filesystem::file_size(folder / "a.png"), 1000u);
}

std::string fault_of(const std::function<void()>& work) {
  try {
    work();
  } catch (const InputError& e) {
    return e.what();
  }
  return "";
}

TEST(Pdf, TargetsThatCannotBeWritten) {
  const TempFolder folder;
  const PageDocument document = sample();
  EXPECT_THAT(fault_of([&] { write_pdf(document, folder / "a.txt"); }), HasSubstr("must end in .pdf"));
  EXPECT_THAT(fault_of([&] { write_pdf(document, folder / "none/a.pdf"); }), HasSubstr("none"));
  EXPECT_THAT(fault_of([&] { write_page_png(document.pages[0], folder / "a.pdf", 100); }),
              HasSubstr("must end in .png"));
  std::filesystem::create_directory(folder / "b.pdf");
  EXPECT_THAT(fault_of([&] { write_pdf(document, folder / "b.pdf"); }), HasSubstr("b.pdf"));
}

}  // namespace
}  // namespace kirtle
