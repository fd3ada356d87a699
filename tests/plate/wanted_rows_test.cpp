// Plates of which only the upper rows are wanted: the rest is left out, or read where something hangs on it.
#include "plate/io/plate_file.h"
#include "plate/plate_files.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::make_png;
using test::make_tiff;
using test::PngSpec;
using test::TempFolder;
using test::TiffSpec;

constexpr int kAcross = 61, kDown = 45;

std::vector<std::string> texts(const Diagnostics& said) {
  std::vector<std::string> out;
  for (const Diagnostic& d : said.all()) out.push_back(to_string(d));
  return out;
}

TEST(WantedRows, RowsBelowThoseWantedAreLeftOutWhereNothingHangsOnThem) {
  const TempFolder folder;
  Diagnostics notes;
  constexpr int kWanted = 10;
  const auto light = [](int x, int y, int) { return 200U + static_cast<unsigned>(x + 3 * y) % 50U; };
  PngSpec png{kAcross, kDown};
  png.gamma = true;
  make_png(folder / "a.png", png, light);
  TiffSpec tiff;
  tiff.width = kAcross;
  tiff.height = kDown;
  tiff.compression = COMPRESSION_LZW;
  make_tiff(folder / "strips.tif", tiff, light);
  tiff.tile = 16;
  make_tiff(folder / "tiles.tif", tiff, light);
  for (const char* name : {"a.png", "strips.tif", "tiles.tif"}) {
    SCOPED_TRACE(name);
    const std::vector<PlateEntry> entries = list_plates(folder / name, notes);
    Diagnostics of_all, of_some;
    const PlateImage all = read_plates(entries, Polarity::dark_is_ink, of_all).front();
    const PlateImage some = read_plates(entries, Polarity::dark_is_ink, of_some, kWanted).front();
    EXPECT_EQ(some.height, kDown);
    const std::ptrdiff_t wanted = kWanted * kAcross;
    EXPECT_TRUE(std::equal(all.ink8.begin(), all.ink8.begin() + wanted, some.ink8.begin()));
    EXPECT_NE(all.ink8.back(), 0);
    EXPECT_EQ(some.ink8.back(), 0);
    EXPECT_EQ(texts(of_some), texts(of_all));
  }
}

TEST(WantedRows, AllRowsAreReadWhereSomethingHangsOnThem) {
  const TempFolder folder;
  Diagnostics notes;
  const auto same = [&](const char* name, Polarity polarity) {
    const std::vector<PlateEntry> entries = list_plates(folder / name, notes);
    Diagnostics of_all, of_some;
    const PlateImage all = read_plates(entries, polarity, of_all).front();
    const PlateImage some = read_plates(entries, polarity, of_some, 3).front();
    EXPECT_EQ(all.ink8, some.ink8) << name;
    EXPECT_EQ(texts(of_some), texts(of_all)) << name;
    return of_all.all().size();
  };
  // Colour and transparency may come on any row; a plate the wrong way round is warned of by all of it.
  const auto light = [](int, int y, int c) { return c == 1 && y == 40 ? 10U : 230U; };
  make_png(folder / "alpha.png", {kAcross, kDown, 8, PNG_COLOR_TYPE_GRAY_ALPHA}, light);
  EXPECT_EQ(same("alpha.png", Polarity::dark_is_ink), 1U);
  make_png(folder / "rgb.png", {kAcross, kDown, 8, PNG_COLOR_TYPE_RGB},
           [](int x, int, int) { return 200U + x % 40; });
  EXPECT_EQ(same("rgb.png", Polarity::dark_is_ink), 1U);
  make_png(folder / "turned.png", {kAcross, kDown}, light);
  EXPECT_EQ(same("turned.png", Polarity::light_is_ink), 1U);
}

}  // namespace
}  // namespace kirtle
