// Plates cut at every byte, with every byte flipped, with spoilt bytes anywhere: an InputError that names the
// row, or a whole plate; never anything else.
#include "plate/bad_plate.h"

#include <cstdlib>
#include <gmock/gmock.h>
#include <random>

namespace kirtle {
namespace {

using test::bytes_of;
using test::make_png;
using test::make_tiff;
using test::noise_sample;
using test::read_plate;
using test::tiff_that_claims;
using test::TiffSpec;
using test::write_bytes;
using testing::AnyOf;
using testing::HasSubstr;

class CutPlate : public test::BadPlate {};

/// The row that a message names as the one that could not be read, or 0.
int row_named(const std::string& text) {
  const std::size_t end = text.find(" cannot be read");
  const std::size_t start = end == std::string::npos ? end : text.rfind("row ", end);
  return start == std::string::npos ? 0 : std::atoi(text.c_str() + start + 4);
}

TEST_F(CutPlate, PngCutAnywhere) {
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

TEST_F(CutPlate, PngWithAFlippedByteAnywhere) {
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

TEST_F(CutPlate, TiffCutAnywhere) {
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

TEST_F(CutPlate, LibtiffFileCutAnywhere) {
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

TEST_F(CutPlate, TiffStripsThatLie) {
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

TEST_F(CutPlate, TiffWithSpoiltDeflateNamesTheRow) {
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

TEST_F(CutPlate, RandomDamageNeverDoesMore) {
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
