// Plates written by programs not ours: ImageMagick's convert, and tiffcp, tiffset, raw2tiff of libtiff's
// tools.
#include "plate/corpus.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::bytes_of;
using test::corpus_ink;
using test::expect_corpus;
using test::has_program;
using test::kCorpusHeight;
using test::kCorpusWidth;
using test::run_program;
using test::TempFolder;
using test::write_bytes;
using test::write_grey_map;
using testing::ElementsAre;
using testing::HasSubstr;

class Programs : public testing::Test {
 protected:
  TempFolder folder;
  std::string at(const std::string& name) const { return "'" + (folder / name).string() + "'"; }
  /// Runs a program in the folder.
  void run(const std::string& command) {
    ASSERT_TRUE(run_program("cd '" + folder.path().string() + "' && " + command)) << command;
  }
};

/// Raw bytes, pixel by pixel: `own` samples of a picture, then the inks.
void write_raw(const std::filesystem::path& file, int own, int inks, bool full_is_none) {
  std::vector<std::uint8_t> bytes;
  for (int y = 0; y < kCorpusHeight; ++y) {
    for (int x = 0; x < kCorpusWidth; ++x) {
      for (int c = 0; c < own; ++c) bytes.push_back(static_cast<std::uint8_t>(200 + 10 * c));
      for (int c = 0; c < inks; ++c) {
        const unsigned ink = corpus_ink(c, x, y, 256);
        bytes.push_back(static_cast<std::uint8_t>(full_is_none ? 255 - ink : ink));
      }
    }
  }
  write_bytes(file, bytes);
}
const std::string kRawSize =
    " -w " + std::to_string(kCorpusWidth) + " -l " + std::to_string(kCorpusHeight) + " -d byte -i pixel ";

TEST_F(Programs, ConvertSavesOneGreyInManyWays) {
  if (!has_program("convert")) GTEST_SKIP() << "ImageMagick is not installed";
  for (const int levels : {2, 256}) write_grey_map(folder / (std::to_string(levels) + ".pgm"), 0, levels);
  struct Way {
    const char* options;
    const char* file;
    int levels;
  };
  const Way ways[] = {
      {"-compress None", "none.tif", 256},
      {"-compress LZW", "lzw.tif", 256},
      {"-compress Zip", "zip.tif", 256},
      {"-compress RLE", "rle.tif", 256},
      {"-compress LZMA", "lzma.tif", 256},
      {"-compress ZSTD", "zstd.tif", 256},
      {"-depth 16 -compress Zip", "zip16.tif", 256},
      {"-depth 16 -endian MSB -compress None", "msb16.tif", 256},
      {"-depth 16 -define tiff:tile-geometry=16x16 -compress Zip", "tiles.tif", 256},
      {"-define quantum:format=floating-point -depth 32 -compress Zip", "float.tif", 256},
      {"-type TrueColor -compress LZW", "rgb.tif", 256},
      {"-type TrueColor -alpha set -compress LZW", "rgba.tif", 256},
      {"-alpha set -compress LZW", "grey-alpha.tif", 256},
      {"-density 300 -units PixelsPerInch -compress Zip", "300.tif", 256},
      {"-monochrome -compress Group4", "g4.tif", 2},
      {"-monochrome -compress Fax", "g3.tif", 2},
      {"-monochrome -compress None", "bits.tif", 2},
      {"-depth 8", "grey.png", 256},
      {"-depth 16", "grey16.png", 256},
      {"-interlace PNG", "interlaced.png", 256},
      {"-type TrueColor -define png:color-type=2", "rgb.png", 256},
      {"-define png:color-type=3", "palette.png", 256},
      {"-define png:color-type=4", "grey-alpha.png", 256},
      {"-define png:bit-depth=1 -define png:color-type=0", "bits.png", 2},
  };
  for (const Way& way : ways) {
    run("convert " + std::to_string(way.levels) + ".pgm " + way.options + " " + way.file);
    expect_corpus(folder / way.file, 1, way.levels);
    if (HasFailure()) return;
  }
  run("convert 256.pgm -compress LZW tiff64:big.tif");
  expect_corpus(folder / "big.tif", 1, 256);
  Diagnostics notes;
  EXPECT_EQ(list_plates(folder / "300.tif", notes)[0].ppi, 300);
}

TEST_F(Programs, ConvertSavesPagesAndCmyk) {
  if (!has_program("convert")) GTEST_SKIP() << "ImageMagick is not installed";
  for (int i = 0; i < 4; ++i) write_grey_map(folder / (std::to_string(i) + ".pgm"), i, 256);
  run("convert 0.pgm 1.pgm 2.pgm -compress LZW pages.tif");
  expect_corpus(folder / "pages.tif", 3, 256);
  // White of a channel is full ink there.
  run("convert 0.pgm 1.pgm 2.pgm 3.pgm -negate -set colorspace CMYK -combine -compress Zip cmyk.tif");
  expect_corpus(folder / "cmyk.tif", 4, 256);
  run("convert 0.pgm 1.pgm 2.pgm -combine -set colorspace sRGB colour.tif");
  run("convert 0.pgm 1.pgm 2.pgm -combine -set colorspace sRGB colour.png");
  for (const char* name : {"colour.tif", "colour.png"}) {
    Diagnostics notes;
    try {
      list_plates(folder / name, notes);
      ADD_FAILURE() << name;
    } catch (const InputError& e) {
      EXPECT_THAT(e.what(), HasSubstr("this is a colour picture, not a plate: column 2, row 2 holds red"));
      EXPECT_THAT(e.what(), HasSubstr("fix: export the plates as greys, PNG or TIFF"));
    }
  }
}

TEST_F(Programs, TiffToolsRewrapSeparatedInks) {
  for (const char* program : {"raw2tiff", "tiffset", "tiffcp"}) {
    if (!has_program(program)) GTEST_SKIP() << "libtiff's tools are not installed";
  }
  for (const int inks : {2, 5, 12}) {
    write_raw(folder / "inks.raw", 0, inks, false);
    run("raw2tiff" + kRawSize + "-b " + std::to_string(inks) + " -p cmyk inks.raw inks.tif");
    run("tiffset -s InkSet 2 inks.tif && tiffset -s NumberOfInks " + std::to_string(inks) + " inks.tif");
    expect_corpus(folder / "inks.tif", inks, 256);
    for (const char* options : {"-p separate", "-p separate -t -w 16 -l 16 -c zip", "-t -w 32 -l 48 -c lzw:2",
                                "-s -r 3 -c packbits", "-c zstd", "-c lzma", "-B -c lzw",
                                "-B -8 -p separate -c zip:2", "-f lsb2msb -c lzw", "-L -8 -c none"}) {
      run("tiffcp " + std::string(options) + " inks.tif copy.tif");
      SCOPED_TRACE(options);
      expect_corpus(folder / "copy.tif", inks, 256);
      if (HasFailure()) return;
      run("rm copy.tif");
    }
  }
  // A file whose counts lie, made by a program that warns and writes it all the same.
  run("tiffset -s InkNames white inks.tif || true");
  Diagnostics notes;
  try {
    list_plates(folder / "inks.tif", notes);
    ADD_FAILURE();
  } catch (const InputError& e) {
    EXPECT_THAT(e.what(), HasSubstr("its counts of inks contradict each other"));
    EXPECT_THAT(e.what(), HasSubstr("12 samples a pixel"));
  }
}

TEST_F(Programs, TiffToolsWriteSpotsBesideGreyAndRgb) {
  if (!has_program("raw2tiff") || !has_program("tiffcp")) GTEST_SKIP() << "libtiff's tools are not installed";
  for (const bool rgb : {false, true}) {
    write_raw(folder / "spots.raw", rgb ? 3 : 1, 4, true);
    run("raw2tiff" + kRawSize + "-b " + (rgb ? "7 -p rgb" : "5 -p minisblack") + " spots.raw spots.tif");
    expect_corpus(folder / "spots.tif", 4, 256);
    run("tiffcp -p separate -c zip spots.tif planes.tif");
    expect_corpus(folder / "planes.tif", 4, 256);
  }
}

TEST_F(Programs, Raw2tiffWritesBothKindsOfGrey) {
  if (!has_program("raw2tiff")) GTEST_SKIP() << "libtiff's tools are not installed";
  for (const bool white_is_zero : {false, true}) {
    write_raw(folder / "grey.raw", 0, 1, !white_is_zero);
    run("raw2tiff" + kRawSize + "-b 1 -c zip -p " + (white_is_zero ? "miniswhite" : "minisblack") +
        " grey.raw grey.tif");
    expect_corpus(folder / "grey.tif", 1, 256);
  }
}

TEST_F(Programs, TiffcpTurnsBits) {
  if (!has_program("tiffcp") || !has_program("convert"))
    GTEST_SKIP() << "libtiff's tools or ImageMagick missing";
  write_grey_map(folder / "2.pbm", 0, 2);
  run("convert 2.pbm -monochrome -compress None bits.tif");
  for (const char* options :
       {"-c g4", "-c g3:1d", "-c g3:2d:fill", "-c packbits -f lsb2msb", "-c g4 -f lsb2msb -B"}) {
    run("tiffcp " + std::string(options) + " bits.tif copy.tif");
    SCOPED_TRACE(options);
    expect_corpus(folder / "copy.tif", 1, 2);
    run("rm copy.tif");
  }
}

/// A photograph in a frame with marks outside the art, a patch, and a channel that stands for the shirt.
class OneSetFourWays : public Programs {
 protected:
  static constexpr int kWidth = 110, kHeight = 90;
  static constexpr int kPlates = 3;
  std::vector<std::vector<std::uint8_t>> greys;  // as films: ink is dark

  void make_greys() {
    run("convert rose: -colorspace Gray -depth 8 rose.pgm");  // a photograph that comes with ImageMagick
    std::ifstream in(folder / "rose.pgm", std::ios::binary);
    std::string magic;
    int width = 0, height = 0, top = 0;
    in >> magic >> width >> height >> top;
    in.get();
    ASSERT_EQ(magic, "P5");
    ASSERT_LE(width, 80);
    ASSERT_LE(height, 60);
    std::vector<std::uint8_t> photo(static_cast<std::size_t>(width * height));
    in.read(reinterpret_cast<char*>(photo.data()), width * height);
    ASSERT_TRUE(in.good());
    greys.assign(kPlates, std::vector<std::uint8_t>(kWidth * kHeight, 255));
    const auto box = [&](int plate, int x0, int y0, int x1, int y1, std::uint8_t grey) {
      for (int y = y0; y < y1; ++y) {
        for (int x = x0; x < x1; ++x)
          greys[static_cast<std::size_t>(plate)][static_cast<std::size_t>(y * kWidth + x)] = grey;
      }
    };
    for (int y = 0; y < height; ++y) {
      for (int x = 0; x < width; ++x)
        greys[0][static_cast<std::size_t>((y + 8) * kWidth + x + 8)] =
            photo[static_cast<std::size_t>(y * width + x)];
    }
    box(1, 20, 60, 50, 80, 127);      // the patch: 128 / 255 of ink
    box(2, 5, 5, kWidth - 5, 85, 0);  // the shirt
    for (int plate = 0; plate < 2; ++plate) {
      box(plate, 50, 1, 51, 5, 0);  // marks outside the art
      box(plate, 48, 3, 53, 4, 0);
    }
    for (int i = 0; i < kPlates; ++i) {
      const std::string head = "P5 " + std::to_string(kWidth) + " " + std::to_string(kHeight) + " 255\n";
      std::vector<std::uint8_t> bytes(head.begin(), head.end());
      const auto& grey = greys[static_cast<std::size_t>(i)];
      bytes.insert(bytes.end(), grey.begin(), grey.end());
      write_bytes(folder / (std::to_string(i) + ".pgm"), bytes);
    }
  }
  void write_interleaved(const std::string& name, bool preview, bool full_is_none) {
    std::vector<std::uint8_t> bytes;
    for (std::size_t i = 0; i < greys[0].size(); ++i) {
      if (preview) bytes.push_back(greys[0][i]);
      for (const auto& grey : greys)
        bytes.push_back(full_is_none ? grey[i] : static_cast<std::uint8_t>(255 - grey[i]));
    }
    write_bytes(folder / name, bytes);
  }
};

// What a printer tries on the first day (common practice, no source): however a set was saved, its plates are
// the same, and half a dot is half a dot.
TEST_F(OneSetFourWays, LoadsTheSame) {
  for (const char* program : {"convert", "raw2tiff", "tiffset", "tiffcp"}) {
    if (!has_program(program)) GTEST_SKIP() << program << " is not installed";
  }
  make_greys();
  ASSERT_FALSE(HasFatalFailure());
  const std::string size =
      " -w " + std::to_string(kWidth) + " -l " + std::to_string(kHeight) + " -d byte -i pixel ";
  std::vector<std::vector<PlateImage>> sets(4);
  Diagnostics notes;
  for (int i = 0; i < kPlates; ++i) {
    const std::string number = std::to_string(i);
    run("convert " + number + ".pgm -density 300 -units PixelsPerInch " + number + ".png");
    run("convert " + number + ".pgm -type TrueColor -density 300 -units PixelsPerInch -compress Zip " +
        number + ".tif");
    sets[0].push_back(test::read_all(folder / (number + ".png"), notes)[0]);
    sets[1].push_back(test::read_all(folder / (number + ".tif"), notes)[0]);
  }
  write_interleaved("spots.raw", true, true);
  run("raw2tiff" + size + "-b 4 -p minisblack spots.raw spots.tif");
  sets[2] = test::read_all(folder / "spots.tif", notes);
  write_interleaved("inks.raw", false, false);
  run("raw2tiff" + size +
      "-b 3 -p cmyk inks.raw one.tif && tiffset -s InkSet 2 one.tif && "
      "tiffset -s NumberOfInks 3 one.tif && tiffcp -p separate -t -w 32 -l 32 -c lzw one.tif inks.tif");
  sets[3] = test::read_all(folder / "inks.tif", notes);
  for (const auto& set : sets) {
    ASSERT_EQ(set.size(), static_cast<std::size_t>(kPlates));
    for (std::size_t i = 0; i < set.size(); ++i) {
      EXPECT_EQ(set[i].ink8, sets[0][i].ink8);
      for (std::size_t p = 0; p < greys[i].size(); ++p) ASSERT_EQ(set[i].ink8[p], 255 - greys[i][p]);
    }
    for (int y = 60; y < 80; ++y) {
      for (int x = 20; x < 50; ++x) ASSERT_NEAR(100 * set[1].film(x, y), 50.0, 0.2);
    }
  }
  // The shirt channel covers the most part of its plate, and nothing else does.
  int warnings = 0;
  for (const Diagnostic& d : notes.all()) {
    if (d.severity != Severity::warning) continue;
    ++warnings;
    EXPECT_THAT(d.message, HasSubstr("of it is ink"));
  }
  EXPECT_EQ(warnings, 4);
}

}  // namespace
}  // namespace kirtle
