// The art of [compare]: read as sRGB, its limits checked from the header.
#include "plate/io/colour_picture.h"

#include "base/diagnostics.h"
#include "plate/plate_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <zlib.h>

namespace kirtle {
namespace {

using test::bytes_of;
using test::make_png;
using test::PngSpec;
using test::TempFolder;
using test::write_bytes;
using testing::ElementsAre;
using testing::HasSubstr;

std::string refusal(const std::filesystem::path& file) {
  try {
    read_colour_png(file);
  } catch (const InputError& e) {
    EXPECT_EQ(e.diagnostics().all().size(), 1u);
    EXPECT_EQ(e.diagnostics().all()[0].place.file, file.string());
    EXPECT_FALSE(e.diagnostics().all()[0].remedy.empty());
    return e.diagnostics().all()[0].message;
  }
  return "taken";
}

/// A PNG whose header says another size than it has.
void write_with_size(const std::filesystem::path& file, std::uint32_t width, std::uint32_t height) {
  make_png(file, PngSpec{8, 8}, [](int, int, int) { return 90u; });
  auto bytes = bytes_of(file);
  const auto put = [&](std::size_t at, std::uint32_t v) {
    for (std::size_t i = 0; i < 4; ++i) bytes[at + i] = static_cast<std::uint8_t>(v >> (24 - 8 * i));
  };
  put(16, width);
  put(20, height);
  put(29, static_cast<std::uint32_t>(crc32(crc32(0, nullptr, 0), bytes.data() + 12, 17)));
  write_bytes(file, bytes);
}

TEST(ColourPicture, GreyColourAndSeeThroughAllComeAsRgb) {
  const TempFolder folder;
  PngSpec spec{2, 1};
  spec.colour = PNG_COLOR_TYPE_RGB_ALPHA;
  make_png(folder / "a.png", spec, [](int x, int, int c) {
    return x == 0 && c == 3 ? 0u : c == 3 ? 255u : 40u * c;
  });
  const ColourPicture art = read_colour_png(folder / "a.png");
  EXPECT_EQ(art.width, 2);
  EXPECT_EQ(art.height, 1);
  EXPECT_THAT(art.rgb, ElementsAre(255, 255, 255, 0, 40, 80));
}

TEST(ColourPicture, AbsurdSizesAreRefusedFromTheHeader) {
  const TempFolder folder;
  const auto file = folder / "art.png";
  write_with_size(file, 65001, 1);
  EXPECT_THAT(refusal(file), HasSubstr("the picture is 65001 x 1 pixels; art may have 65000 a side"));
  write_with_size(file, 60000, 60000);  // 3 bytes a pixel of it do not fit into 32 bit
  EXPECT_THAT(refusal(file), HasSubstr("100 million in all"));
  write_with_size(file, 10000, 10000);  // allowed, but not in a file of 100 bytes
  EXPECT_THAT(refusal(file), HasSubstr("promises 10000 rows, but it is too short"));
  write_with_size(file, 8, 9);
  EXPECT_THAT(refusal(file), HasSubstr("damaged or cut short"));
}

TEST(ColourPicture, WhatIsNoPngIsRefused) {
  const TempFolder folder;
  EXPECT_THAT(refusal(folder / "none.png"), HasSubstr("no such file"));
  EXPECT_THAT(refusal(folder.path()), HasSubstr("this is a folder"));
  ASSERT_EQ(::mkfifo((folder / "pipe.png").c_str(), 0600), 0);
  EXPECT_THAT(refusal(folder / "pipe.png"), HasSubstr("not an ordinary file"));
  write_bytes(folder / "text.png", {'h', 'e', 'l', 'l', 'o', '!', '!', '!', '!'});
  EXPECT_THAT(refusal(folder / "text.png"), HasSubstr("not a PNG"));
}

}  // namespace
}  // namespace kirtle
