// Files that must be refused, each with a message that says what was found and what to do. Nothing half-read
// comes back, nothing big is allocated, and no damaged byte makes trouble beyond an InputError.
#include "plate/io/read_plate.h"
#include "plate/plate_files.h"

#include <cstring>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <random>
#include <regex>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

namespace kirtle {
namespace {

using test::bytes_of;
using test::forget_peak;
using test::make_png;
using test::make_tiff;
using test::peak_bytes;
using test::PngSpec;
using test::TempFolder;
using test::TiffSpec;
using test::write_bytes;
using testing::AllOf;
using testing::AnyOf;
using testing::HasSubstr;

/// Greys that deflate and LZW cannot shorten, so that most bytes of a file are picture.
unsigned noise(int x, int y) {
  std::uint32_t h = static_cast<std::uint32_t>(x) * 0x9e3779b1u + static_cast<std::uint32_t>(y) * 0x85ebca77u;
  h = (h ^ h >> 15) * 0x2c1b3c6du;
  h = (h ^ h >> 12) * 0x297a2d39u;
  return (h ^ h >> 15) & 255u;
}
unsigned noise_sample(int x, int y, int) { return noise(x, y); }

class BadPlate : public testing::Test {
 protected:
  /// The text of the InputError; the header alone must not pass where `header_too` says so.
  std::string refusal(const std::filesystem::path& file, bool header_too = true) {
    Diagnostics notes;
    std::string header_text = "(accepted)";
    try {
      read_plate_header(file);
    } catch (const InputError& e) {
      header_text = e.what();
    }
    std::string text = "(accepted)";
    try {
      read_plate(file, Polarity::dark_is_ink, notes);
    } catch (const InputError& e) {
      text = e.what();
    }
    if (header_too) {
      EXPECT_EQ(header_text, text);
    }
    EXPECT_TRUE(text == "(accepted)" || notes.all().empty());
    return text;
  }
  std::string refusal_of_bytes(const std::string& bytes) {
    write_bytes(folder / "x.png", {bytes.begin(), bytes.end()});
    return refusal(folder / "x.png");
  }
  std::string place(const std::string& name) const { return (folder / name).string(); }
  TempFolder folder;
};

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

TEST_F(BadPlate, OtherKindsAreNamed) {
  using namespace std::string_literals;
  EXPECT_EQ(refusal_of_bytes("%PDF-1.7\n"), place("x.png") +
                                                ": error: this looks like a PDF, not a PNG or TIFF\n"
                                                "  fix: export the plates as greys or TIFF");
  EXPECT_EQ(refusal_of_bytes("8BPS\0\1\0\0"s),
            place("x.png") +
                ": error: this looks like an image editor's own document, not a "
                "PNG or TIFF\n  fix: export the plates as greys or TIFF");
  EXPECT_THAT(refusal_of_bytes("\xFF\xD8\xFF\xE0junk"), HasSubstr("looks like a JPEG photograph"));
  EXPECT_THAT(refusal_of_bytes("PK\x03\x04more"), HasSubstr("looks like a ZIP archive"));
  EXPECT_THAT(refusal_of_bytes("RIFF\x10\0\0\0WEBPVP8 "s), HasSubstr("looks like a WebP picture"));
  EXPECT_THAT(refusal_of_bytes("\x89PNG\n\x1a\nxx"), HasSubstr("a PNG spoilt by a transfer as text"));
  EXPECT_THAT(refusal_of_bytes("dear printer"), HasSubstr("this looks like text"));
  EXPECT_THAT(refusal_of_bytes("\1\2\3\4"), HasSubstr("this is neither a PNG nor a TIFF"));
}

TEST_F(BadPlate, RealColour) {
  const std::string remedy = "\n  fix: export the plates as greys or TIFF";
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
                        HasSubstr("export the plates as greys or TIFF")));
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
  EXPECT_EQ(refused(spec),
            place("k.tif") +
                ": error: this TIFF holds signed or complex numbers, which is not read; grey, RGB and Separated "
                "of 1, 2, 4, 8 or 16 bit or floating point are\n"
                "  fix: export the plates as greys or TIFF, 8 or 16 bit");
  spec = base;
  spec.samples = 3;
  spec.photometric = PHOTOMETRIC_CIELAB;
  EXPECT_THAT(refused(spec), HasSubstr("Lab colour"));
  spec = base;
  spec.orientation = ORIENTATION_BOTRIGHT;
  EXPECT_THAT(refused(spec),
              HasSubstr("its orientation tag (3) asks for the picture to be turned or mirrored"));
}

TEST_F(BadPlate, OnePlateIsAskedOfAFileOfSeveral) {
  TiffSpec spec;
  spec.width = spec.height = 4;
  spec.photometric = PHOTOMETRIC_SEPARATED;
  spec.samples = 4;
  make_tiff(folder / "k.tif", spec, noise_sample);
  EXPECT_EQ(refusal(folder / "k.tif"),
            place("k.tif") +
                ": error: it holds 4 plates (Cyan, Magenta, Yellow, Black); one is needed here\n"
                "  fix: export the plate as one grey");
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

/// An 8 bit grey TIFF of one strip that says what it likes.
std::vector<test::TiffEntry> tiff_that_claims(std::uint32_t width, std::uint32_t height,
                                              std::uint32_t stored) {
  std::vector<test::TiffEntry> entries{{256, 4, {width}}, {257, 4, {height}}, {258, 3, {8}},
                                       {259, 3, {1}},     {262, 3, {1}},      {273, 4, {0}},
                                       {277, 3, {1}},     {278, 4, {height}}, {279, 4, {stored}}};
  entries[5].values[0] = test::hand_made_data_offset(entries);
  return entries;
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
  EXPECT_EQ(read_plate_header(folder / "wide.png").width, kMaxPlateSide);
  TiffSpec spec;
  spec.width = 2;
  spec.height = kMaxPlateSide;
  make_tiff(folder / "tall.tif", spec, noise_sample);
  EXPECT_EQ(read_plate_header(folder / "tall.tif").height, kMaxPlateSide);
}

/// The row that a message names as the one that could not be read, or 0.
int row_named(const std::string& text) {
  static const std::regex pattern("row (\\d+) of \\d+ cannot be read");
  std::smatch match;
  return std::regex_search(text, match, pattern) ? std::stoi(match[1]) : 0;
}

TEST_F(BadPlate, PngCutAnywhere) {
  const int height = 37;
  for (const bool interlaced : {false, true}) {
    make_png(folder / "whole.png", {50, height, 8, PNG_COLOR_TYPE_GRAY, interlaced}, noise_sample);
    const auto whole = bytes_of(folder / "whole.png");
    int deepest = 0;
    for (std::size_t cut = 1; cut < whole.size(); ++cut) {
      write_bytes(folder / "cut.png", {whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(cut)});
      const std::string text = refusal(folder / "cut.png", false);
      if (cut < 8) {
        EXPECT_THAT(text, AnyOf(HasSubstr("neither a PNG nor a TIFF"), HasSubstr("spoilt by a transfer")))
            << cut;
        continue;
      }
      ASSERT_THAT(text, HasSubstr("the file is damaged or cut short: ")) << cut;
      ASSERT_THAT(text, AnyOf(HasSubstr("no row was reached"), HasSubstr("row "))) << cut;
      if (!interlaced) {
        const int row = row_named(text);
        if (row > 0) {
          ASSERT_GE(row, deepest) << cut;
          deepest = row;
        }
      }
    }
    if (!interlaced) {
      EXPECT_EQ(deepest, height);
    }
  }
}

TEST_F(BadPlate, PngWithAFlippedByteAnywhere) {
  // Every byte of a PNG is under a CRC or is a chunk's own frame, so each flip must be seen.
  make_png(folder / "whole.png", {50, 37}, noise_sample);
  const auto whole = bytes_of(folder / "whole.png");
  for (std::size_t at = 0; at < whole.size(); ++at) {
    auto damaged = whole;
    damaged[at] ^= 0x10;
    write_bytes(folder / "flip.png", damaged);
    ASSERT_NE(refusal(folder / "flip.png", false), "(accepted)") << at;
  }
}

TEST_F(BadPlate, TiffCutAnywhere) {
  // Directory in front, one row a strip, no compression: the row that is missing is known exactly.
  const std::uint32_t width = 20, height = 30;
  std::vector<test::TiffEntry> entries = tiff_that_claims(width, height, 0);
  entries[7].values = {1};
  entries[5].values.assign(height, 0);
  entries[8].values.assign(height, width);
  const std::uint32_t data_at = test::hand_made_data_offset(entries);
  for (std::uint32_t y = 0; y < height; ++y) entries[5].values[y] = data_at + y * width;
  const auto whole = hand_made_tiff(entries, std::vector<std::uint8_t>(width * height, 9));
  write_bytes(folder / "cut.tif", whole);
  ASSERT_EQ(refusal(folder / "cut.tif"), "(accepted)");
  for (std::size_t cut = 1; cut < whole.size(); ++cut) {
    write_bytes(folder / "cut.tif", {whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(cut)});
    const std::string text = refusal(folder / "cut.tif");
    if (cut >= data_at) {
      ASSERT_EQ(row_named(text), static_cast<int>((cut - data_at) / width) + 1) << cut << ": " << text;
    } else {
      ASSERT_NE(text, "(accepted)") << cut;
    }
  }
}

TEST_F(BadPlate, LibtiffFileCutAnywhere) {
  for (const int compression :
       {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS}) {
    TiffSpec spec;
    spec.width = 31;
    spec.height = 20;
    spec.compression = compression;
    make_tiff(folder / "whole.tif", spec, noise_sample);
    const auto whole = bytes_of(folder / "whole.tif");
    for (std::size_t cut = 4; cut < whole.size(); ++cut) {
      write_bytes(folder / "cut.tif", {whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(cut)});
      ASSERT_THAT(refusal(folder / "cut.tif"),
                  AnyOf(HasSubstr("damaged or cut short"), HasSubstr("no pixels")))
          << cut;
    }
  }
}

TEST_F(BadPlate, TiffStripsThatLie) {
  const auto refused = [&](const std::vector<test::TiffEntry>& entries) {
    write_bytes(folder / "lie.tif", hand_made_tiff(entries, std::vector<std::uint8_t>(600, 9)));
    return refusal(folder / "lie.tif");
  };
  EXPECT_EQ(refused(tiff_that_claims(20, 30, 600)), "(accepted)");
  auto entries = tiff_that_claims(20, 30, 600);
  entries[5].values[0] = 0xfffffff0;  // far beyond the end
  EXPECT_THAT(refused(entries),
              AnyOf(HasSubstr("strip 1 lies beyond the end of the file; row 1 of 30 cannot be read"),
                    HasSubstr("strip 1 is empty; row 1 of 30 cannot be read")));
  entries = tiff_that_claims(20, 30, 600);
  entries[7].values[0] = 10;  // three strips are needed, one is listed
  EXPECT_THAT(refused(entries), HasSubstr("row 11 of 30 cannot be read"));
  entries = tiff_that_claims(20, 30, 600);
  entries[7].values[0] = 10;
  entries[5].values = {200, 200, 200};
  // The third is too short for ten rows of twenty. (Where the first two differ, libtiff works the lengths out
  // anew.)
  entries[8].values = {200, 200, 7};
  const std::string text = refused(entries);
  EXPECT_THAT(text, HasSubstr("strip 3 holds 7 bytes, too few for its rows; row 21 of 30 cannot be read"));
  entries = tiff_that_claims(20, 30, 600);
  entries[7].values[0] = 1;
  entries[5].count = entries[8].count = 0x40000000;  // a list of a thousand million strips
  EXPECT_THAT(refused(entries), HasSubstr("damaged or cut short"));
  entries = tiff_that_claims(20, 30, 600);
  entries[6].values[0] = 0;  // no samples
  EXPECT_NE(refused(entries), "(accepted)");
  entries = tiff_that_claims(20, 30, 600);
  entries[3].values[0] = 31999;
  EXPECT_THAT(refused(entries), HasSubstr("it uses number 31999 compression, which is not read here"));
}

TEST_F(BadPlate, TiffWithSpoiltDeflateNamesTheRow) {
  TiffSpec spec;
  spec.width = 64;
  spec.height = 64;
  spec.rows_per_strip = 64;
  spec.compression = COMPRESSION_ADOBE_DEFLATE;
  make_tiff(folder / "z.tif", spec, noise_sample);
  auto bytes = bytes_of(folder / "z.tif");
  ASSERT_GT(bytes.size(), 4000u);
  std::fill(bytes.begin() + 2000, bytes.begin() + 2400, std::uint8_t{0xff});
  write_bytes(folder / "z.tif", bytes);
  const int row = row_named(refusal(folder / "z.tif", false));
  EXPECT_GT(row, 1);
  EXPECT_LE(row, 64);
}

TEST_F(BadPlate, RandomDamageNeverDoesMore) {
  // Any number of spoilt bytes: an InputError, or a whole plate of the size that the header says. Run under
  // the address and undefined-behaviour sanitizers this is a small fuzz test. Fixed seed.
  std::mt19937 random(20250101);
  std::vector<std::vector<std::uint8_t>> wholes;
  make_png(folder / "a.png", {33, 21, 16, PNG_COLOR_TYPE_RGB, true}, noise_sample);
  wholes.push_back(bytes_of(folder / "a.png"));
  for (const int tile : {0, 16}) {
    for (const int compression :
         {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS}) {
      TiffSpec spec;
      spec.width = 33;
      spec.height = 21;
      spec.tile = tile;
      spec.compression = compression;
      spec.samples = tile == 0 ? 1 : 3;
      spec.photometric = tile == 0 ? PHOTOMETRIC_MINISBLACK : PHOTOMETRIC_RGB;
      spec.planar = compression == COMPRESSION_LZW ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG;
      make_tiff(folder / "a.tif", spec, noise_sample);
      wholes.push_back(bytes_of(folder / "a.tif"));
    }
  }
  int refused = 0, read = 0;
  for (const auto& whole : wholes) {
    for (int round = 0; round < 300; ++round) {
      auto damaged = whole;
      // Half of the hits go to the last 250 bytes, where libtiff puts its directory.
      for (auto hits = 1 + random() % 3; hits > 0; --hits) {
        const std::size_t window =
            random() % 2 == 0 ? damaged.size() : std::min<std::size_t>(250, damaged.size());
        damaged[damaged.size() - 1 - random() % window] = static_cast<std::uint8_t>(random());
      }
      write_bytes(folder / "d.tif", damaged);
      Diagnostics notes;
      try {
        const PlateImage plate = read_plate(folder / "d.tif", Polarity::dark_is_ink, notes);
        ASSERT_EQ(plate.bits == 8 ? plate.ink8.size() : plate.ink16.size(), plate.pixels());
        ++read;
      } catch (const InputError&) {
        ++refused;
      }
    }
  }
  EXPECT_GT(refused, 0);
  EXPECT_GT(read, 0);
}

}  // namespace
}  // namespace kirtle
