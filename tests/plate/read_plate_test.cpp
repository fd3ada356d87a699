// One plate, saved in every way that is read, must come back as the same plate.
#include "plate/one_plate.h"
#include "plate/plate_files.h"

#include <algorithm>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <thread>

namespace kirtle {
namespace {

using test::list_plate;
using test::make_png;
using test::make_tiff;
using test::PngSpec;
using test::read_plate;
using test::TempFolder;
using test::TiffSpec;
using testing::ElementsAre;
using testing::HasSubstr;

constexpr int kWidth = 61, kHeight = 45;  // no multiple of 8, of a tile or of a strip

/// The plate's grey, 0 = black = solid: 256 levels, no symmetry.
unsigned grey8(int x, int y) { return static_cast<unsigned>((x * 7 + y * 13 + x * y) % 256); }
unsigned grey16(int x, int y) { return static_cast<unsigned>((x * 1777 + y * 2999 + x * y * 31) % 65536); }

std::vector<std::uint8_t> expected8() {
  std::vector<std::uint8_t> ink;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) ink.push_back(static_cast<std::uint8_t>(255 - grey8(x, y)));
  }
  return ink;
}
std::vector<std::uint16_t> expected16() {
  std::vector<std::uint16_t> ink;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) ink.push_back(static_cast<std::uint16_t>(65535 - grey16(x, y)));
  }
  return ink;
}

std::vector<std::string> messages(const Diagnostics& notes) {
  std::vector<std::string> out;
  for (const Diagnostic& d : notes.all()) {
    if (d.message.find("is the polarity right?") == std::string::npos) out.push_back(d.message);
  }
  return out;
}

class ReadPlate : public testing::Test {
 protected:
  void expect_same_plate(const std::filesystem::path& file, int bits) {
    SCOPED_TRACE(file.filename().string());
    notes = {};
    PlateImage plate;
    try {
      plate = read_plate(file, Polarity::dark_is_ink, notes);
    } catch (const InputError& e) {
      FAIL() << e.what();
    }
    EXPECT_EQ(plate.width, kWidth);
    EXPECT_EQ(plate.height, kHeight);
    EXPECT_EQ(plate.bits, bits);
    EXPECT_EQ(plate.name, file.stem().string());
    const PlateEntry header = list_plate(file);
    EXPECT_EQ(header.width, kWidth);
    EXPECT_EQ(header.height, kHeight);
    EXPECT_EQ(header.bits, bits);
    EXPECT_EQ(header.ppi, plate.ppi);
    if (bits == 8) {
      EXPECT_EQ(plate.ink8, expected8());
      EXPECT_TRUE(plate.ink16.empty());
    } else {
      EXPECT_EQ(plate.ink16, expected16());
      EXPECT_TRUE(plate.ink8.empty());
    }
  }
  TempFolder folder;
  Diagnostics notes;
};

TEST_F(ReadPlate, PngInEveryColourTypeThatIsGrey) {
  for (const bool interlaced : {false, true}) {
    for (const int depth : {8, 16}) {
      for (const int colour :
           {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA}) {
        PngSpec spec{kWidth, kHeight, depth, colour, interlaced};
        const auto file = folder / ("p" + std::to_string(depth) + "-" + std::to_string(colour) + "-" +
                                    std::to_string(interlaced) + ".png");
        const bool alpha = (colour & PNG_COLOR_MASK_ALPHA) != 0;
        const int last = colour == PNG_COLOR_TYPE_GRAY_ALPHA ? 1 : 3;
        make_png(file, spec, [&](int x, int y, int c) {
          if (alpha && c == last) return depth == 8 ? 255u : 65535u;
          return depth == 8 ? grey8(x, y) : grey16(x, y);
        });
        expect_same_plate(file, depth);
        std::vector<std::string> wanted;
        if ((colour & PNG_COLOR_MASK_COLOR) != 0) {
          wanted.emplace_back("saved as RGB with R = G = B everywhere; read as one grey");
        }
        if (alpha) wanted.emplace_back("the transparency (alpha channel) is ignored; all of it is opaque");
        EXPECT_EQ(messages(notes), wanted);
      }
    }
  }
}

TEST_F(ReadPlate, PngPaletteThatIsGrey) {
  PngSpec spec{kWidth, kHeight, 8, PNG_COLOR_TYPE_PALETTE};
  // Entry i is grey 255 - i, so an index taken for a grey would show.
  for (int i = 0; i < 256; ++i) {
    const auto grey = static_cast<png_byte>(255 - i);
    spec.palette.push_back({grey, grey, grey});
  }
  make_png(folder / "palette.png", spec, [](int x, int y, int) { return 255 - grey8(x, y); });
  expect_same_plate(folder / "palette.png", 8);
  spec.interlaced = true;
  make_png(folder / "palette-interlaced.png", spec, [](int x, int y, int) { return 255 - grey8(x, y); });
  expect_same_plate(folder / "palette-interlaced.png", 8);
}

TEST_F(ReadPlate, PngOfFewBitsSpansTheWholeScale) {
  for (const bool interlaced : {false, true}) {
    for (const int depth : {1, 2, 4}) {
      for (const int colour : {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_PALETTE}) {
        SCOPED_TRACE(testing::Message()
                     << depth << " bit, colour type " << colour << (interlaced ? ", interlaced" : ""));
        const int top = (1 << depth) - 1;
        PngSpec spec{kWidth, kHeight, depth, colour, interlaced};
        for (int i = 0; colour == PNG_COLOR_TYPE_PALETTE && i <= top; ++i) {
          const auto grey = static_cast<png_byte>(i * 255 / top);
          spec.palette.push_back({grey, grey, grey});
        }
        make_png(folder / "few.png", spec, [&](int x, int y, int) { return grey8(x, y) >> (8 - depth); });
        const PlateImage plate = read_plate(folder / "few.png", Polarity::dark_is_ink, notes);
        ASSERT_EQ(plate.bits, 8);
        for (int y = 0; y < kHeight; ++y) {
          for (int x = 0; x < kWidth; ++x) {
            const int level = static_cast<int>(grey8(x, y) >> (8 - depth));
            ASSERT_EQ(plate.ink8[static_cast<std::size_t>(y * kWidth + x)], 255 - level * 255 / top)
                << x << ',' << y;
          }
        }
      }
    }
  }
}

TEST_F(ReadPlate, InterlacedPngOfEverySmallSize) {
  // Adam7 leaves whole passes empty below 5 pixels a side.
  for (int width = 1; width <= 9; ++width) {
    for (int height = 1; height <= 9; ++height) {
      const PngSpec spec{width, height, 8, PNG_COLOR_TYPE_GRAY, true};
      make_png(folder / "small.png", spec, [](int x, int y, int) { return grey8(x, y); });
      const PlateImage plate = read_plate(folder / "small.png", Polarity::light_is_ink, notes);
      for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
          ASSERT_EQ(plate.ink8[static_cast<std::size_t>(y * width + x)], grey8(x, y))
              << width << 'x' << height;
        }
      }
    }
  }
}

TEST_F(ReadPlate, TiffInEveryLayout) {
  int files = 0;
  for (const int depth : {8, 16}) {
    for (const char* mode : {"wl", "wb", "wl8"}) {
      for (const int compression :
           {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS}) {
        for (const int predictor : {1, 2}) {
          const bool predicts = compression == COMPRESSION_LZW || compression == COMPRESSION_ADOBE_DEFLATE;
          if (predictor == 2 && !predicts) continue;
          for (const int tile : {0, 16, 64}) {
            for (const int photometric : {PHOTOMETRIC_MINISBLACK, PHOTOMETRIC_MINISWHITE, PHOTOMETRIC_RGB}) {
              for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE}) {
                for (const bool alpha : {false, true}) {
                  TiffSpec spec;
                  spec.width = kWidth;
                  spec.height = kHeight;
                  spec.depth = depth;
                  spec.mode = mode;
                  spec.compression = compression;
                  spec.predictor = predictor;
                  spec.tile = tile;
                  spec.photometric = photometric;
                  spec.planar = planar;
                  const int own = photometric == PHOTOMETRIC_RGB ? 3 : 1;
                  spec.samples = own + (alpha ? 1 : 0);
                  if (alpha) spec.extra = EXTRASAMPLE_UNASSALPHA;
                  const unsigned top = depth == 8 ? 255 : 65535;
                  const auto file = folder / ("t" + std::to_string(files++) + ".tif");
                  make_tiff(file, spec, [&](int x, int y, int c) {
                    if (c == own) return top;
                    const unsigned grey = depth == 8 ? grey8(x, y) : grey16(x, y);
                    return photometric == PHOTOMETRIC_MINISWHITE ? top - grey : grey;
                  });
                  SCOPED_TRACE(testing::Message()
                               << depth << " bit " << mode << " compression " << compression << " predictor "
                               << predictor << " tile " << tile << " photometric " << photometric
                               << " planar " << planar << " alpha " << alpha);
                  expect_same_plate(file, depth);
                  EXPECT_EQ(messages(notes).size(), (own == 3 ? 1u : 0u) + (alpha ? 1u : 0u));
                  if (HasFailure()) return;
                }
              }
            }
          }
        }
      }
    }
  }
  EXPECT_EQ(files, 2 * 3 * 6 * 3 * 3 * 2 * 2);
}

TEST_F(ReadPlate, TiffStripsOfAnyHeight) {
  for (const int rows : {1, 2, 44, 45, 46, 1000}) {
    TiffSpec spec;
    spec.width = kWidth;
    spec.height = kHeight;
    spec.rows_per_strip = rows;
    spec.compression = COMPRESSION_LZW;
    make_tiff(folder / "strips.tif", spec, [](int x, int y, int) { return grey8(x, y); });
    expect_same_plate(folder / "strips.tif", 8);
  }
}

TEST_F(ReadPlate, PolarityTurnsTheNumbers) {
  make_png(folder / "p.png", {2, 1}, [](int x, int, int) { return x == 0 ? 0u : 200u; });
  EXPECT_THAT(read_plate(folder / "p.png", Polarity::dark_is_ink, notes).ink8, ElementsAre(255, 55));
  EXPECT_THAT(read_plate(folder / "p.png", Polarity::light_is_ink, notes).ink8, ElementsAre(0, 200));
  TiffSpec spec;
  spec.width = 2;
  spec.height = 1;
  spec.photometric = PHOTOMETRIC_MINISWHITE;  // 0 looks white, so it is no ink where dark is ink
  make_tiff(folder / "p.tif", spec, [](int x, int, int) { return x == 0 ? 0u : 200u; });
  EXPECT_THAT(read_plate(folder / "p.tif", Polarity::dark_is_ink, notes).ink8, ElementsAre(0, 200));
  EXPECT_THAT(read_plate(folder / "p.tif", Polarity::light_is_ink, notes).ink8, ElementsAre(255, 55));
  EXPECT_TRUE(messages(notes).empty());
}

TEST_F(ReadPlate, FilmIsTheShareOfTheScale) {
  make_png(folder / "p.png", {1, 1, 16}, [](int, int, int) { return 32768u; });
  const PlateImage plate = read_plate(folder / "p.png", Polarity::light_is_ink, notes);
  EXPECT_DOUBLE_EQ(plate.film(0, 0), 32768.0 / 65535.0);
}

TEST_F(ReadPlate, ResolutionOfPng) {
  const auto ppi_of = [&](std::uint32_t x, std::uint32_t y, int unit) {
    PngSpec spec{1, 1};
    spec.per_unit_x = x;
    spec.per_unit_y = y;
    spec.unit = unit;
    make_png(folder / "r.png", spec, [](int, int, int) { return 0u; });
    return list_plate(folder / "r.png").ppi;
  };
  EXPECT_EQ(ppi_of(0, 0, 1), 0);
  EXPECT_EQ(ppi_of(11811, 11811, PNG_RESOLUTION_METER), 300);  // 300 ppi is 11811.02 a metre
  for (const std::uint32_t per_metre : {5905U, 5906U})  // 150 ppi are 5905.51 a metre: cut off or rounded
    EXPECT_EQ(ppi_of(per_metre, per_metre, PNG_RESOLUTION_METER), 150);
  EXPECT_NEAR(ppi_of(5904, 5904, PNG_RESOLUTION_METER), 149.9616, 1e-6);
  EXPECT_NEAR(ppi_of(5907, 5907, PNG_RESOLUTION_METER), 150.0378, 1e-6);
  EXPECT_EQ(ppi_of(28346, 28346, PNG_RESOLUTION_METER), 720);
  EXPECT_EQ(ppi_of(2835, 2835, PNG_RESOLUTION_METER), 72);
  EXPECT_DOUBLE_EQ(ppi_of(10000, 10000, PNG_RESOLUTION_METER), 254.0);
  EXPECT_NEAR(ppi_of(11831, 11831, PNG_RESOLUTION_METER), 300.5074, 1e-6);
  EXPECT_EQ(ppi_of(1, 1, PNG_RESOLUTION_UNKNOWN), 0);
}

TEST_F(ReadPlate, ResolutionOfTiff) {
  const auto ppi_of = [&](double x, double y, int unit) {
    TiffSpec spec;
    spec.width = spec.height = 1;
    spec.x_res = x;
    spec.y_res = y;
    spec.unit = unit;
    make_tiff(folder / "r.tif", spec, [](int, int, int) { return 0u; });
    return list_plate(folder / "r.tif").ppi;
  };
  EXPECT_EQ(ppi_of(0, 0, RESUNIT_INCH), 0);
  EXPECT_EQ(ppi_of(300, 300, RESUNIT_INCH), 300);
  EXPECT_NEAR(ppi_of(300.5, 300.5, RESUNIT_INCH), 300.5, 1e-4);
  EXPECT_EQ(ppi_of(118.11, 118.11, RESUNIT_CENTIMETER), 300);
  EXPECT_EQ(ppi_of(300, 300, RESUNIT_NONE), 0);
  EXPECT_EQ(ppi_of(300, 0, RESUNIT_INCH), 300);
}

TEST_F(ReadPlate, TagsThatAPlateDoesNotNeedAreNoted) {
  PngSpec spec{kWidth, kHeight};
  spec.gamma = true;
  const auto sample = [](int x, int y, int) { return grey8(x, y); };
  make_png(folder / "g.png", spec, sample);
  expect_same_plate(folder / "g.png", 8);
  EXPECT_THAT(messages(notes),
              ElementsAre("plate values are read as per cent on film; the gamma tag is ignored"));
  spec.srgb = true;
  spec.transparent_colour = true;
  spec.profile.assign(3000, 7);
  make_png(folder / "all.png", spec, sample);
  expect_same_plate(folder / "all.png", 8);
  EXPECT_THAT(messages(notes),
              ElementsAre("plate values are read as per cent on film; the gamma tag, the sRGB tag and "
                          "the colour profile are ignored",
                          "the transparent colour (tRNS) is ignored"));
  TiffSpec tiff;
  tiff.width = kWidth;
  tiff.height = kHeight;
  tiff.profile.assign(300, 7);
  make_tiff(folder / "g.tif", tiff, sample);
  expect_same_plate(folder / "g.tif", 8);
  EXPECT_THAT(messages(notes),
              ElementsAre("plate values are read as per cent on film; the colour profile is ignored"));
  for (const Diagnostic& d : notes.all()) EXPECT_EQ(d.place.file, (folder / "g.tif").string());
}

TEST_F(ReadPlate, SeeThroughAlphaIsAWarning) {
  make_png(folder / "a.png", {2, 2, 8, PNG_COLOR_TYPE_GRAY_ALPHA},
           [](int x, int y, int c) { return c == 0 ? 9u : (x + y == 2 ? 254u : 255u); });
  EXPECT_THAT(read_plate(folder / "a.png", Polarity::light_is_ink, notes).ink8, ElementsAre(9, 9, 9, 9));
  ASSERT_EQ(notes.all().size(), 1u);
  EXPECT_EQ(notes.all()[0].severity, Severity::warning);
  EXPECT_THAT(notes.all()[0].message, HasSubstr("some of the picture is see-through"));
}

TEST_F(ReadPlate, SymbolicLinksAreFollowed) {
  make_png(folder / "real.png", {kWidth, kHeight}, [](int x, int y, int) { return grey8(x, y); });
  std::filesystem::create_symlink("real.png", folder / "link.png");
  expect_same_plate(folder / "link.png", 8);
}

TEST_F(ReadPlate, TheKindIsToldByContentNotByName) {
  make_png(folder / "plate.tif", {kWidth, kHeight}, [](int x, int y, int) { return grey8(x, y); });
  expect_same_plate(folder / "plate.tif", 8);
}

TEST_F(ReadPlate, ManyThreadsReadAtOnce) {
  make_png(folder / "good.png", {kWidth, kHeight}, [](int x, int y, int) { return grey8(x, y); });
  TiffSpec spec;
  spec.width = kWidth;
  spec.height = kHeight;
  spec.photometric = PHOTOMETRIC_CIELAB;
  spec.samples = 3;
  make_tiff(folder / "bad.tif", spec, [](int, int, int) { return 0u; });
  std::vector<std::thread> threads;
  std::vector<int> faults(4);
  for (std::size_t t = 0; t < faults.size(); ++t) {
    threads.emplace_back([&, t] {
      for (int i = 0; i < 20; ++i) {
        Diagnostics own;
        if (read_plate(folder / "good.png", Polarity::dark_is_ink, own).ink8 != expected8()) ++faults[t];
        try {
          read_plate(folder / "bad.tif", Polarity::dark_is_ink, own);
          ++faults[t];
        } catch (const InputError& e) {
          if (std::string(e.what()).find("Lab colour") == std::string::npos) ++faults[t];
        }
      }
    });
  }
  for (std::thread& t : threads) t.join();
  EXPECT_THAT(faults, testing::Each(0));
}

}  // namespace
}  // namespace kirtle
