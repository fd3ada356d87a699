// Pictures written here are read back with libpng and libtiff alone, and as plates.
#include "plate/io/write_picture.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "plate/one_plate.h"
#include "plate/peak_memory.h"
#include "plate/plate_files.h"

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <limits>
#include <stdexcept>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace kirtle {
namespace {

using test::bytes_of;
using test::decode_png;
using test::decode_tiff;
using test::DecodedPng;
using test::DecodedTiff;
using test::TempFolder;
using testing::HasSubstr;

/// Part smooth, part flat, part noise, different in each channel; spread over the whole scale.
std::vector<std::uint16_t> picture(const PictureFormat& f) {
  std::vector<std::uint16_t> out;
  std::uint32_t noise = 1;
  const unsigned top = f.bits == 8 ? 255 : 65535;
  for (int y = 0; y < f.height; ++y) {
    for (int x = 0; x < f.width; ++x) {
      for (int c = 0; c < f.channels; ++c) {
        noise = noise * 1664525u + 1013904223u;
        unsigned v = noise >> 16;
        if (y % 3 == 1) v = static_cast<unsigned>(c) * 5000u + 7u;
        if (y % 3 == 2) v = static_cast<unsigned>(x * 300 + y * 11 + c);
        out.push_back(static_cast<std::uint16_t>(v & top));
      }
    }
  }
  return out;
}

/// Writes `samples` in chunks of `chunk_rows` rows.
void write(const std::filesystem::path& file, const PictureFormat& f,
           const std::vector<std::uint16_t>& samples, int chunk_rows) {
  const auto writer = PictureWriter::open(file, f);
  const std::vector<std::uint8_t> bytes(samples.begin(), samples.end());
  const std::size_t row = static_cast<std::size_t>(f.width * f.channels);
  for (std::size_t at = 0; at < samples.size(); at += row * static_cast<std::size_t>(chunk_rows)) {
    const std::size_t count = std::min(row * static_cast<std::size_t>(chunk_rows), samples.size() - at);
    if (f.bits == 8) {
      writer->write_rows8(std::span(bytes).subspan(at, count));
    } else {
      writer->write_rows16(std::span(samples).subspan(at, count));
    }
  }
  writer->commit();
}

PictureFormat format_of(int width, int height, int channels, int bits) {
  PictureFormat f;
  f.width = width;
  f.height = height;
  f.channels = channels;
  f.bits = bits;
  return f;
}

/// A small, valid grey or RGB display profile header and tag table would be long; the writers must not look
/// inside, and libpng checks little: length, signature and colour space.
std::vector<std::uint8_t> profile_for(int channels) {
  std::vector<std::uint8_t> p(132 + 1000);
  for (std::size_t i = 132; i < p.size(); ++i) p[i] = static_cast<std::uint8_t>(i * i >> 3);
  const auto put = [&](std::size_t at, const char* text) { std::memcpy(p.data() + at, text, 4); };
  p[2] = static_cast<std::uint8_t>(p.size() >> 8);
  p[3] = static_cast<std::uint8_t>(p.size());
  p[8] = 4;  // version 4
  put(12, "mntr");
  put(16, channels == 1 ? "GRAY" : "RGB ");
  put(20, "XYZ ");
  put(36, "acsp");
  const std::uint8_t d50[12] = {0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d};
  std::memcpy(p.data() + 68, d50, sizeof d50);
  return p;  // tag count 0
}

class WritePicture : public testing::Test {
 protected:
  TempFolder folder;
};

TEST_F(WritePicture, PngOfEverySizeAroundABand) {
  for (const int channels : {1, 3}) {
    for (const int bits : {8, 16}) {
      for (const int width : {1, 2, 37}) {
        for (const int height : {1, 2, 63, 64, 65, 127, 128, 129, 700}) {
          SCOPED_TRACE(testing::Message()
                       << width << 'x' << height << 'x' << channels << ' ' << bits << " bit");
          const PictureFormat f = format_of(width, height, channels, bits);
          const auto samples = picture(f);
          write(folder / "a.png", f, samples, 10);
          const DecodedPng got = decode_png(folder / "a.png");
          EXPECT_EQ(got.trouble, "");
          ASSERT_EQ(got.width, width);
          ASSERT_EQ(got.height, height);
          ASSERT_EQ(got.depth, bits);
          ASSERT_EQ(got.channels, channels);
          EXPECT_EQ(got.srgb, channels == 3);
          ASSERT_EQ(got.samples, samples);
        }
      }
    }
  }
}

TEST_F(WritePicture, TiffOfEverySizeAroundABand) {
  for (const int channels : {1, 3, 4}) {
    for (const int bits : {8, 16}) {
      for (const int width : {1, 2, 37}) {
        for (const int height : {1, 2, 63, 64, 65, 127, 128, 129, 700}) {
          SCOPED_TRACE(testing::Message()
                       << width << 'x' << height << 'x' << channels << ' ' << bits << " bit");
          const PictureFormat f = format_of(width, height, channels, bits);
          const auto samples = picture(f);
          write(folder / "a.tif", f, samples, 10);
          const DecodedTiff got = decode_tiff(folder / "a.tif");
          EXPECT_EQ(got.trouble, "");
          ASSERT_EQ(got.width, width);
          ASSERT_EQ(got.height, height);
          ASSERT_EQ(got.depth, bits);
          ASSERT_EQ(got.channels, channels);
          EXPECT_EQ(got.photometric, channels == 1   ? PHOTOMETRIC_MINISBLACK
                                     : channels == 3 ? PHOTOMETRIC_RGB
                                                     : PHOTOMETRIC_SEPARATED);
          ASSERT_EQ(got.samples, samples);
        }
      }
    }
  }
}

TEST_F(WritePicture, RowsWiderThanABandGoOneByOne) {
  const PictureFormat f = format_of(400'000, 3, 3, 8);  // 1.2 MB a row, above a band's 1 MiB
  const auto samples = picture(f);
  write(folder / "wide.png", f, samples, 1);
  EXPECT_TRUE(decode_png(folder / "wide.png").samples == samples);
  write(folder / "wide.tif", f, samples, 1);
  EXPECT_TRUE(decode_tiff(folder / "wide.tif").samples == samples);
}

TEST_F(WritePicture, BytesDoNotDependOnThreadsOrChunks) {
  for (const char* name : {"t.png", "t.tif"}) {
    for (const int bits : {8, 16}) {
      PictureFormat f = format_of(301, 1000, 3, bits);
      const auto samples = picture(f);
      std::vector<std::uint8_t> first;
      for (const unsigned threads : {1u, 2u, 5u}) {
        for (const int chunk : {1, 7, 64, 65, 640, 1000}) {
          f.threads = threads;
          write(folder / name, f, samples, chunk);
          const auto bytes = bytes_of(folder / name);
          if (first.empty()) first = bytes;
          ASSERT_EQ(bytes == first, true)
              << name << ' ' << threads << " threads, " << chunk << " rows a time";
        }
      }
    }
  }
}

TEST_F(WritePicture, PngCarriesResolutionProfileAndText) {
  for (const int channels : {1, 3}) {
    PictureFormat f = format_of(5, 5, channels, 8);
    f.ppi = 300;
    f.icc_profile = profile_for(channels);
    f.text = {{"Title", "plain"}, {"Comment", "50 \xC2\xB5m, gr\xC3\xBCn"}};
    write(folder / "m.png", f, picture(f), 5);
    const DecodedPng got = decode_png(folder / "m.png");
    EXPECT_EQ(got.x_per_metre, 11811u);
    EXPECT_EQ(got.y_per_metre, 11811u);
    EXPECT_EQ(got.profile, f.icc_profile) << got.trouble;
    EXPECT_FALSE(got.srgb);
    EXPECT_EQ(got.text, f.text);
  }
}

TEST_F(WritePicture, TiffCarriesResolutionProfileAndText) {
  PictureFormat f = format_of(5, 5, 4, 16);
  f.ppi = 360.5;
  f.icc_profile = profile_for(3);
  f.text = {{"Title", "proof"}, {"Shirt", "black"}};
  write(folder / "m.tiff", f, picture(f), 5);
  const DecodedTiff got = decode_tiff(folder / "m.tiff");
  EXPECT_NEAR(got.x_res, 360.5, 1e-4);
  EXPECT_NEAR(got.y_res, 360.5, 1e-4);
  EXPECT_EQ(got.profile, f.icc_profile);
  EXPECT_EQ(got.description, "Title: proof\nShirt: black");
  EXPECT_EQ(got.trouble, "");
  EXPECT_EQ(got.compression, COMPRESSION_ADOBE_DEFLATE);
}

TEST_F(WritePicture, WhatIsWrittenReadsAsAPlate) {
  std::vector<std::uint8_t> grey8;
  std::vector<std::uint16_t> grey16;
  for (int i = 0; i < 70 * 130; ++i) {
    grey8.push_back(static_cast<std::uint8_t>(i * 7 / 3));
    grey16.push_back(static_cast<std::uint16_t>(i * 37));
  }
  Diagnostics notes;
  write_grey_png(folder / "g8.png", 70, 130, 360, grey8);
  const PlateImage p8 = test::read_plate(folder / "g8.png", Polarity::light_is_ink, notes);
  EXPECT_EQ(p8.ink8, grey8);
  EXPECT_EQ(p8.ppi, 360);
  write_grey_png(folder / "g16.png", 70, 130, 0, grey16);
  const PlateImage p16 = test::read_plate(folder / "g16.png", Polarity::light_is_ink, notes);
  EXPECT_EQ(p16.ink16, grey16);
  EXPECT_EQ(p16.ppi, 0);
  for (const int bits : {8, 16}) {
    PictureFormat f = format_of(70, 130, 1, bits);
    f.ppi = 600;
    const auto samples = bits == 8 ? std::vector<std::uint16_t>(grey8.begin(), grey8.end()) : grey16;
    write(folder / "g.tif", f, samples, 9);
    const PlateImage plate = test::read_plate(folder / "g.tif", Polarity::light_is_ink, notes);
    EXPECT_EQ(plate.ppi, 600);
    if (bits == 8) {
      EXPECT_EQ(plate.ink8, grey8);
    } else {
      EXPECT_EQ(plate.ink16, grey16);
    }
  }
  EXPECT_TRUE(notes.all().empty());
}

TEST_F(WritePicture, RefusedTargets) {
  const PictureFormat f = format_of(2, 2, 4, 8);
  const auto refusal = [&](const std::string& name) -> std::string {
    try {
      PictureWriter::open(folder / name, f);
    } catch (const InputError& e) {
      return e.what();
    }
    return "(accepted)";
  };
  EXPECT_EQ(refusal("a.jpg"),
            (folder / "a.jpg").string() +
                ": error: cannot tell which kind of picture to write: the name ends in \".jpg\"; "
                ".png, .tif and .tiff are known\n"
                "  fix: give the file one of these endings; nothing was written");
  EXPECT_THAT(refusal("plain"), HasSubstr("the name ends in \"\""));
  EXPECT_EQ(refusal("a.png"), (folder / "a.png").string() +
                                  ": error: a PNG cannot hold four process inks (CMYK)\n"
                                  "  fix: name a file that ends in .tif; nothing was written");
  EXPECT_THAT(refusal("none/a.tif"), HasSubstr("cannot write this file"));
  EXPECT_EQ(refusal("A.TIF"), "(accepted)");
  EXPECT_EQ(refusal("A.Tiff"), "(accepted)");
  EXPECT_EQ(folder.entries(), 0u);
}

TEST_F(WritePicture, AnUnfinishedPictureLeavesTheOldFile) {
  for (const char* name : {"old.png", "old.tif"}) {
    test::write_bytes(folder / name, {1, 2, 3});
    const std::size_t entries = folder.entries();
    {
      PictureFormat f = format_of(500, 500, 3, 8);
      const auto writer = PictureWriter::open(folder / name, f);
      writer->write_rows8(std::vector<std::uint8_t>(500 * 3 * 400));
      EXPECT_THROW(writer->commit(), InternalError) << "a hundred rows are missing";
      EXPECT_THROW(writer->write_rows8(std::vector<std::uint8_t>(500 * 3 * 101)), InternalError);
      EXPECT_THROW(writer->write_rows8(std::vector<std::uint8_t>(7)), InternalError);
      EXPECT_THROW(writer->write_rows16(std::vector<std::uint16_t>(500 * 3)), InternalError);
    }
    EXPECT_EQ(bytes_of(folder / name), (std::vector<std::uint8_t>{1, 2, 3}));
    EXPECT_EQ(folder.entries(), entries);
  }
}

TEST_F(WritePicture, SizesOutsideTheLimitsAreOurOwnBug) {
  EXPECT_THROW(PictureWriter::open(folder / "a.png", format_of(0, 1, 1, 8)), InternalError);
  EXPECT_THROW(PictureWriter::open(folder / "a.png", format_of(1, 0, 1, 8)), InternalError);
  EXPECT_THROW(PictureWriter::open(folder / "a.png", format_of(kMaxPictureSide + 1, 1, 1, 8)), InternalError);
  EXPECT_THROW(PictureWriter::open(folder / "a.png", format_of(1, 1, 2, 8)), InternalError);
  EXPECT_THROW(PictureWriter::open(folder / "a.png", format_of(1, 1, 1, 12)), InternalError);
  PictureFormat f = format_of(1, 1, 1, 8);
  f.ppi = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(PictureWriter::open(folder / "a.png", f), InternalError);
  EXPECT_EQ(folder.entries(), 0u);
}

/// Runs in a child process that may write no file longer than 100 kB, as if the disk were full there.
/// Returns 0 if the failure was as it must be.
int write_with_full_disk(const std::filesystem::path& file) {
  std::signal(SIGXFSZ, SIG_IGN);
  const rlimit limit{100'000, 100'000};
  if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 2;
  PictureFormat f = format_of(500, 500, 3, 8);
  f.threads = 2;
  try {
    const auto samples = picture(f);
    write(file, f, samples, 50);
  } catch (const std::runtime_error& e) {
    const std::string text = e.what();
    if (text != file.string() + ": cannot write: File too large") {
      std::fprintf(stderr, "%s\n", text.c_str());
      return 3;
    }
    return 0;
  }
  return 4;
}

TEST_F(WritePicture, AFullDiskLeavesTheOldFileAndNothingElse) {
  for (const char* name : {"full.png", "full.tif"}) {
    SCOPED_TRACE(name);
    test::write_bytes(folder / name, {1, 2, 3});
    const std::size_t entries = folder.entries();
    const pid_t child = ::fork();
    ASSERT_GE(child, 0);
    if (child == 0) ::_exit(write_with_full_disk(folder / name));
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFEXITED(status));
    EXPECT_EQ(WEXITSTATUS(status), 0);
    EXPECT_EQ(bytes_of(folder / name), (std::vector<std::uint8_t>{1, 2, 3}));
    EXPECT_EQ(folder.entries(), entries);
  }
}

TEST_F(WritePicture, MemoryStaysAtAFewBands) {
  // 12000 x 9000 RGB is 324 MB of samples; written in chunks of 8 rows it must not gather.
  PictureFormat f = format_of(12'000, 9'000, 3, 8);
  f.threads = 2;
  if (!test::forget_peak() || test::peak_bytes() == 0) {
    GTEST_SKIP() << "this system does not tell a process's peak memory";
  }
  const std::size_t before = test::peak_bytes();
  const auto writer = PictureWriter::open(folder / "big.png", f);
  const std::vector<std::uint8_t> rows(12'000u * 3u * 8u, 77);
  for (int y = 0; y < f.height; y += 8) writer->write_rows8(rows);
  writer->commit();
  EXPECT_LT(test::peak_bytes(), before + (std::size_t{40} << 20));
  EXPECT_EQ(test::list_plate(folder / "big.png").height, 9'000);
}

}  // namespace
}  // namespace kirtle
