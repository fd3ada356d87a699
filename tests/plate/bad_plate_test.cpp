// Files that must be refused, each with a message that says what was found and what to do. Nothing half-read
// comes back, nothing big is allocated, and no damaged byte makes trouble beyond an InputError.
#include "plate/bad_plate.h"

#include "plate/peak_memory.h"

#include <cstring>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

namespace kirtle {
namespace {

using test::BadPlate;
using test::bytes_of;
using test::forget_peak;
using test::make_png;
using test::make_tiff;
using test::noise_sample;
using test::peak_bytes;
using test::PngSpec;
using test::TempFolder;
using test::tiff_that_claims;
using test::TiffSpec;
using test::write_bytes;
using testing::AllOf;
using testing::AnyOf;
using testing::HasSubstr;

TEST_F(BadPlate, MissingEmptyFolderPipeUnreadable) {
  EXPECT_EQ(refusal(folder / "none.png"),
            place("none.png") +
                ": error: there is no such file\n"
                "  fix: check the name and the folder; names are case-sensitive");
  EXPECT_EQ(
      refusal(folder.path()),
      folder.path().string() + ": error: this is a folder, not a plate\n  fix: name one PNG or TIFF file");
  write_bytes(folder / "empty.png", {});
  EXPECT_EQ(
      refusal(folder / "empty.png"),
      place("empty.png") +
          ": error: the file is empty (0 bytes)\n  fix: export the plate again; the disk may have been full");
  ASSERT_EQ(::mkfifo((folder / "pipe.png").c_str(), 0600), 0);
  EXPECT_THAT(refusal(folder / "pipe.png"), HasSubstr("this is not an ordinary file"));
  std::filesystem::create_symlink("gone.png", folder / "dangling.png");
  EXPECT_THAT(refusal(folder / "dangling.png"), HasSubstr("there is no such file"));
}

TEST_F(BadPlate, Unreadable) {
  write_bytes(folder / "locked.png", {1});
  std::filesystem::permissions(folder / "locked.png", std::filesystem::perms::none);
  // Root may read everything, so a test run by root puts its rights down for a moment.
  const bool root = ::geteuid() == 0;
  if (root) {
    ASSERT_EQ(::seteuid(65534), 0);
  }
  const std::string text = refusal(folder / "locked.png");
  if (root) {
    ASSERT_EQ(::seteuid(0), 0);
  }
  EXPECT_EQ(text, place("locked.png") +
                      ": error: you may not read this file\n"
                      "  fix: ask its owner for the right to read it, or copy it to your own folder");
}

TEST_F(BadPlate, AFileOfMoreThan16GiB) {
  const auto file = folder / "huge.tif";
  write_bytes(file, {'I', 'I', 42, 0, 8, 0, 0, 0});
  std::error_code no_holes;
  std::filesystem::resize_file(file, kMaxPlateFileBytes + 1, no_holes);  // a hole: takes no space
  if (no_holes) GTEST_SKIP() << "this file system has no files of that size";
  EXPECT_THAT(refusal(file), HasSubstr("the file has 17179869185 bytes; up to 17179869184 (16 GiB)"));
}

TEST_F(BadPlate, OtherKindsAreNamed) {
  using namespace std::string_literals;
  EXPECT_EQ(refusal_of_bytes("%PDF-1.7\n"), place("x.png") +
                                                ": error: this looks like a PDF, not a PNG or TIFF\n"
                                                "  fix: export the plates as greys, PNG or TIFF");
  EXPECT_EQ(refusal_of_bytes("8BPS\0\1\0\0"s),
            place("x.png") +
                ": error: this looks like an image editor's own document, not a "
                "PNG or TIFF\n  fix: export the plates as greys, PNG or TIFF");
  EXPECT_THAT(refusal_of_bytes("\xFF\xD8\xFF\xE0junk"), HasSubstr("looks like a JPEG photograph"));
  EXPECT_THAT(refusal_of_bytes("PK\x03\x04more"), HasSubstr("looks like a ZIP archive"));
  EXPECT_THAT(refusal_of_bytes("RIFF\x10\0\0\0WEBPVP8 "s), HasSubstr("looks like a WebP picture"));
  EXPECT_THAT(refusal_of_bytes("\x89PNG\n\x1a\nxx"), HasSubstr("a PNG spoilt by a transfer as text"));
  EXPECT_THAT(refusal_of_bytes("dear printer"), HasSubstr("this looks like text"));
  EXPECT_THAT(refusal_of_bytes("\1\2\3\4"), HasSubstr("this is neither a PNG nor a TIFF"));
}

TEST_F(BadPlate, RealColour) {
  const std::string remedy = "\n  fix: export the plates as greys, PNG or TIFF";
  const auto tinted = [](int x, int y, int c) { return x == 3 && y == 2 && c == 2 ? 11u : 10u; };
  for (const bool interlaced : {false, true}) {
    make_png(folder / "c.png", {5, 4, 8, PNG_COLOR_TYPE_RGB, interlaced}, tinted);
    EXPECT_EQ(refusal(folder / "c.png", false), place("c.png") +
                                                    ": error: this is a colour picture, not a plate: column "
                                                    "4, row 3 holds red 10, green 10, blue 11; a "
                                                    "plate is grey" +
                                                    remedy);
  }
  PngSpec palette{5, 4, 8, PNG_COLOR_TYPE_PALETTE};
  palette.palette = {{0, 0, 0}, {9, 8, 7}};
  make_png(folder / "p.png", palette, [](int x, int, int) { return x == 4 ? 1u : 0u; });
  EXPECT_EQ(refusal(folder / "p.png", false), place("p.png") +
                                                  ": error: this is a colour picture, not a plate: column "
                                                  "5, row 1 holds red 9, green 8, blue 7; a plate is "
                                                  "grey" +
                                                  remedy);
  make_png(folder / "p.png", palette, [](int, int, int) { return 0u; });
  EXPECT_EQ(refusal(folder / "p.png", false), "(accepted)") << "a colour that no pixel uses does no harm";
  TiffSpec tiff;
  tiff.width = 5;
  tiff.height = 4;
  tiff.samples = 3;
  tiff.photometric = PHOTOMETRIC_RGB;
  for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE}) {
    for (const int tile : {0, 16}) {
      tiff.planar = planar;
      tiff.tile = tile;
      make_tiff(folder / "c.tif", tiff, tinted);
      EXPECT_THAT(refusal(folder / "c.tif", false),
                  AllOf(HasSubstr("column 4, row 3 holds red 10, green 10, blue 11"),
                        HasSubstr("export the plates as greys, PNG or TIFF")));
    }
  }
}

TEST_F(BadPlate, TiffKindsThatAreNotReadAreNamed) {
  const auto zero = [](int, int, int) { return 0u; };
  const auto refused = [&](const TiffSpec& spec) {
    make_tiff(folder / "k.tif", spec, zero);
    return refusal(folder / "k.tif");
  };
  TiffSpec base;
  base.width = base.height = 4;
  TiffSpec spec = base;
  spec.depth = 16;
  spec.sample_format = SAMPLEFORMAT_INT;
  EXPECT_EQ(
      refused(spec),
      place("k.tif") +
          ": error: this TIFF holds signed or complex numbers, which is not read; grey, RGB and Separated "
          "of 1, 2, 4, 8 or 16 bit or floating point are\n"
          "  fix: export the plates as greys, PNG or TIFF, 8 or 16 bit");
  spec = base;
  spec.samples = 3;
  spec.photometric = PHOTOMETRIC_CIELAB;
  EXPECT_THAT(refused(spec), HasSubstr("Lab colour"));
  spec = base;
  spec.orientation = ORIENTATION_BOTRIGHT;
  EXPECT_THAT(refused(spec),
              HasSubstr("its orientation tag (3) asks for the picture to be turned or mirrored"));
}

TEST_F(BadPlate, UnequalResolution) {
  PngSpec png{2, 2};
  png.per_unit_x = 11811;
  png.per_unit_y = 5906;
  make_png(folder / "u.png", png, noise_sample);
  EXPECT_EQ(refusal(folder / "u.png"), place("u.png") +
                                           ": error: the resolution is not the same both ways: 299.999 "
                                           "across and 150.012 down pixels per inch\n"
                                           "  fix: export with square pixels");
  png.unit = PNG_RESOLUTION_UNKNOWN;
  make_png(folder / "u.png", png, noise_sample);
  EXPECT_THAT(refusal(folder / "u.png"), HasSubstr("not the same both ways"));
  TiffSpec tiff;
  tiff.width = tiff.height = 2;
  tiff.x_res = 300;
  tiff.y_res = 299;
  make_tiff(folder / "u.tif", tiff, noise_sample);
  EXPECT_THAT(refusal(folder / "u.tif"), HasSubstr("300 across and 299 down"));
}

/// A PNG whose header says width x height and whose picture is 1 x 1.
std::vector<std::uint8_t> png_that_claims(const TempFolder& folder, std::uint32_t width,
                                          std::uint32_t height) {
  make_png(folder / "claim.png", {1, 1}, [](int, int, int) { return 0u; });
  auto bytes = bytes_of(folder / "claim.png");
  for (int i = 0; i < 4; ++i) {
    bytes[16 + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(width >> (24 - 8 * i));
    bytes[20 + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(height >> (24 - 8 * i));
  }
  const uLong crc = crc32(0, bytes.data() + 12, 17);
  for (int i = 0; i < 4; ++i)
    bytes[29 + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(crc >> (24 - 8 * i));
  return bytes;
}

TEST_F(BadPlate, AbsurdSizesAreRefusedWithoutMemory) {
  constexpr std::size_t kMiB = std::size_t{1} << 20;
  if (!forget_peak() || peak_bytes() == 0)
    GTEST_SKIP() << "this system does not tell a process's peak memory";
  std::size_t before = peak_bytes();
  {
    std::vector<std::uint8_t> big(64 * kMiB, 1);
    ASSERT_EQ(big[kMiB], 1);
  }
  ASSERT_GT(peak_bytes(), before + 60 * kMiB) << "the measurement itself does not work";
  forget_peak();
  before = peak_bytes();
  struct Size {
    std::uint32_t width, height;
    const char* text;
  };
  const Size sizes[] = {
      {65001, 1, "65001 x 1 pixels; a plate may have 65000 a side and 400 million in all"},
      {1, 65001, "1 x 65001 pixels; a plate may have 65000 a side and 400 million in all"},
      {65000, 65000, "65000 x 65000 pixels"},
      {20001, 20000, "20001 x 20000 pixels"},
      {0x7fffffff, 0x7fffffff, "2147483647 x 2147483647 pixels"},
      {0xffffffff, 0xffffffff, "4294967295 x 4294967295 pixels"},
      {0, 5, "the picture has no pixels (0 x 5 pixels)"},
      {5, 0, "the picture has no pixels (5 x 0 pixels)"},
  };
  for (const Size& s : sizes) {
    write_bytes(folder / "s.png", png_that_claims(folder, s.width, s.height));
    EXPECT_THAT(refusal(folder / "s.png"), HasSubstr(s.text));
    write_bytes(folder / "s.tif",
                hand_made_tiff(tiff_that_claims(s.width, s.height, 100), std::vector<std::uint8_t>(100)));
    EXPECT_THAT(refusal(folder / "s.tif"), AnyOf(HasSubstr(s.text), HasSubstr("its tags cannot be read")))
        << s.width;
  }
  // Within the limits, but more than the file can hold.
  write_bytes(folder / "s.png", png_that_claims(folder, 20000, 20000));
  EXPECT_THAT(refusal(folder / "s.png"),
              HasSubstr("its header promises 20000 rows, but it is too short to hold them"));
  write_bytes(folder / "s.tif",
              hand_made_tiff(tiff_that_claims(20000, 20000, 400'000'000), std::vector<std::uint8_t>(100)));
  EXPECT_THAT(refusal(folder / "s.tif"), HasSubstr("cannot be read"));
  EXPECT_LT(peak_bytes(), before + 16 * kMiB);
}

TEST_F(BadPlate, TheLimitsThemselvesAreAllowed) {
  make_png(folder / "wide.png", {kMaxPlateSide, 2, 1}, [](int, int, int) { return 1u; });
  EXPECT_EQ(test::list_plate(folder / "wide.png").width, kMaxPlateSide);
  TiffSpec spec;
  spec.width = 2;
  spec.height = kMaxPlateSide;
  make_tiff(folder / "tall.tif", spec, noise_sample);
  EXPECT_EQ(test::list_plate(folder / "tall.tif").height, kMaxPlateSide);
}

}  // namespace
}  // namespace kirtle
