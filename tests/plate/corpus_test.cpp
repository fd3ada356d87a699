// Good files: one set of plates in every wrapping, made with libtiff and libpng directly and by programs not
// ours. All must load to identical plates.
#include "plate/corpus.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::corpus_ink;
using test::corpus_spec;
using test::expect_corpus;
using test::kCorpusHeight;
using test::kCorpusWidth;
using test::make_png;
using test::make_tiff;
using test::PngSpec;
using test::TempFolder;
using test::TiffSpec;
using testing::ElementsAre;
using testing::HasSubstr;

struct Depth {
  int bits;
  bool is_float;
  int levels;     ///< of the corpus
  int tolerance;  ///< 16 bit codes: what the format cannot hold (a binary16 near 1 has steps of 2^-11)
  unsigned top() const { return static_cast<unsigned>(is_float ? levels - 1 : (1 << bits) - 1); }
  /// Stored number of an ink: levels spread over the whole scale.
  unsigned stored(unsigned ink) const { return ink * (top() / static_cast<unsigned>(levels - 1)); }
};
constexpr Depth kDepths[] = {{1, false, 2, 0},   {2, false, 4, 0},      {4, false, 16, 0},
                             {8, false, 256, 0}, {16, false, 65536, 0}, {16, true, 256, 16},
                             {32, true, 256, 0}, {64, true, 256, 0}};

class Corpus : public testing::Test {
 protected:
  TempFolder folder;
  int files = 0;
  std::filesystem::path next(const std::string& name) {
    return folder / (std::to_string(files++) + "-" + name);
  }
  void set_depth(TiffSpec& spec, const Depth& depth) const {
    spec.depth = depth.bits;
    spec.float_top = depth.is_float ? depth.top() : 0;
  }
};

std::vector<int> compressions_for(const Depth& depth) {
  std::vector<int> out{COMPRESSION_NONE,          COMPRESSION_PACKBITS, COMPRESSION_LZW, COMPRESSION_DEFLATE,
                       COMPRESSION_ADOBE_DEFLATE, COMPRESSION_ZSTD,     COMPRESSION_LZMA};
  if (depth.bits == 1) {
    for (const int c : {COMPRESSION_CCITTRLE, COMPRESSION_CCITTFAX3, COMPRESSION_CCITTFAX4}) out.push_back(c);
  }
  return out;
}

TEST_F(Corpus, GreyTiffOfEveryDepthCompressionAndOrder) {
  for (const Depth& depth : kDepths) {
    for (const int compression : compressions_for(depth)) {
      if (TIFFIsCODECConfigured(static_cast<std::uint16_t>(compression)) == 0) continue;
      for (const int tile : {0, 16}) {
        TiffSpec spec = corpus_spec();
        set_depth(spec, depth);
        spec.compression = compression;
        spec.tile = tile;
        static constexpr const char* kModes[] = {"wl", "wb", "wl8", "wb8"};
        spec.mode = kModes[files % 4];
        const bool white_is_zero = files % 3 == 1;
        spec.photometric = white_is_zero ? PHOTOMETRIC_MINISWHITE : PHOTOMETRIC_MINISBLACK;
        if (depth.bits == 1 && files % 2 == 1) spec.fill_order = FILLORDER_LSB2MSB;
        const auto file =
            next("grey" + std::to_string(depth.bits) + (depth.is_float ? "f" : "") + "-c" +
                 std::to_string(compression) + "-t" + std::to_string(tile) + "-" + spec.mode + ".tif");
        make_tiff(file, spec, [&](int x, int y, int) {
          const unsigned v = depth.stored(corpus_ink(0, x, y, depth.levels));
          return white_is_zero ? v : depth.top() - v;
        });
        expect_corpus(file, 1, depth.levels, depth.tolerance);
        if (HasFatalFailure()) return;
      }
    }
  }
  EXPECT_GE(files, 60);
}

TEST_F(Corpus, GreyPngOfEveryDepthAndColourType) {
  for (const bool interlaced : {false, true}) {
    for (const Depth& depth : kDepths) {
      if (depth.is_float) continue;
      for (const int colour : {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB,
                               PNG_COLOR_TYPE_RGB_ALPHA, PNG_COLOR_TYPE_PALETTE}) {
        const bool palette = colour == PNG_COLOR_TYPE_PALETTE;
        if (palette ? depth.bits > 8 : colour != PNG_COLOR_TYPE_GRAY && depth.bits < 8) continue;
        PngSpec spec{kCorpusWidth, kCorpusHeight, depth.bits, colour, interlaced};
        const unsigned top = depth.top();
        for (unsigned i = 0; palette && i <= top; ++i) {
          const auto grey = static_cast<png_byte>((top - i) * 255 / top);  // turned, so that an index shows
          spec.palette.push_back({grey, grey, grey});
        }
        const int alpha = colour == PNG_COLOR_TYPE_GRAY_ALPHA  ? 1
                          : colour == PNG_COLOR_TYPE_RGB_ALPHA ? 3
                                                               : -1;
        const auto file = next("png" + std::to_string(depth.bits) + "-" + std::to_string(colour) + ".png");
        make_png(file, spec, [&](int x, int y, int c) {
          const unsigned v = depth.stored(corpus_ink(0, x, y, depth.levels));
          return c == alpha ? top : palette ? v : top - v;
        });
        expect_corpus(file, 1, depth.levels);
      }
    }
  }
  EXPECT_GE(files, 26);
}

/// "ink 1", "ink 2", ..., each ending in NUL.
std::string ink_names(int inks) {
  std::string names;
  for (int i = 1; i <= inks; ++i) names += "ink " + std::to_string(i) + std::string(1, '\0');
  return names;
}

TEST_F(Corpus, SeparatedTiffOfAnyCountOfInks) {
  for (const Depth& depth : kDepths) {
    for (const int inks : {1, 2, 3, 5, 7, 12, 32}) {
      for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE}) {
        TiffSpec spec = corpus_spec();
        set_depth(spec, depth);
        spec.photometric = PHOTOMETRIC_SEPARATED;
        spec.samples = inks;
        spec.planar = planar;
        spec.ink_set = INKSET_MULTIINK;
        spec.number_of_inks = inks;
        spec.ink_names = ink_names(inks);
        spec.tile = files % 2 == 0 ? 0 : 32;
        static constexpr const char* kModes[] = {"wl", "wb", "wl8", "wb8", "wl"};
        static constexpr int kCompressions[] = {
            COMPRESSION_LZW,      COMPRESSION_NONE, COMPRESSION_ZSTD, COMPRESSION_ADOBE_DEFLATE,
            COMPRESSION_PACKBITS, COMPRESSION_LZMA, COMPRESSION_NONE};
        spec.mode = kModes[files % 5];
        spec.compression = kCompressions[files % 7];
        // A predictor of its own for each kind of number. libtiff 4.5 writes the floating-point one wrongly
        // into big-endian files (it reads right ones rightly).
        if (spec.compression == COMPRESSION_LZW && depth.bits >= 8 &&
            !(depth.is_float && spec.mode[1] == 'b'))
          spec.predictor = depth.is_float ? PREDICTOR_FLOATINGPOINT : PREDICTOR_HORIZONTAL;
        const auto file = next("sep" + std::to_string(depth.bits) + (depth.is_float ? "f" : "") + "-" +
                               std::to_string(inks) + "-p" + std::to_string(planar) + ".tif");
        make_tiff(file, spec,
                  [&](int x, int y, int c) { return depth.stored(corpus_ink(c, x, y, depth.levels)); });
        expect_corpus(file, inks, depth.levels, depth.tolerance);
        Diagnostics notes;
        const auto entries = list_plates(file, notes);
        ASSERT_EQ(static_cast<int>(entries.size()), inks);
        EXPECT_EQ(entries.back().name, "ink " + std::to_string(inks));
        EXPECT_TRUE(entries.back().name_in_file);
        EXPECT_EQ(entries.back().kind, SampleKind::separated);
        EXPECT_EQ(entries.back().bits, depth.bits);
        EXPECT_EQ(entries.back().is_float, depth.is_float);
        if (HasFailure()) return;
      }
    }
  }
}

TEST_F(Corpus, CmykIsFourPlatesAndMore) {
  for (const int inks : {4, 6}) {
    for (const int ink_set : {0, INKSET_CMYK}) {
      for (const int depth : {8, 16}) {
        TiffSpec spec = corpus_spec();
        spec.depth = depth;
        spec.photometric = PHOTOMETRIC_SEPARATED;
        spec.samples = inks;
        spec.ink_set = ink_set;
        const auto file = next("cmyk.tif");
        make_tiff(file, spec,
                  [&](int x, int y, int c) { return corpus_ink(c, x, y, depth == 8 ? 256 : 65536); });
        expect_corpus(file, inks, depth == 8 ? 256 : 65536);
        Diagnostics notes;
        std::vector<std::string> names;
        test::read_all(file, notes, &names);
        names.resize(4);
        EXPECT_THAT(names, ElementsAre("Cyan", "Magenta", "Yellow", "Black"));
        EXPECT_TRUE(notes.all().empty());
      }
    }
  }
}

TEST_F(Corpus, SpotSamplesBesideGreyOrRgb) {
  for (const Depth& depth : kDepths) {
    for (const int photometric : {PHOTOMETRIC_MINISBLACK, PHOTOMETRIC_MINISWHITE, PHOTOMETRIC_RGB}) {
      for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE}) {
        for (const bool alpha : {false, true}) {
          const bool rgb = photometric == PHOTOMETRIC_RGB;
          const int own = rgb ? 3 : 1;
          const int spots = 3;
          TiffSpec spec = corpus_spec();
          set_depth(spec, depth);
          spec.photometric = photometric;
          spec.planar = planar;
          spec.samples = own + (alpha ? 1 : 0) + spots;
          if (alpha) spec.extras.push_back(EXTRASAMPLE_UNASSALPHA);
          for (int i = 0; i < spots; ++i) spec.extras.push_back(EXTRASAMPLE_UNSPECIFIED);
          spec.tile = files % 2 == 0 ? 0 : 16;
          const auto file = next("spots.tif");
          make_tiff(file, spec, [&](int x, int y, int c) {
            if (c < own) return c == 0 ? depth.top() : 0u;  // RGB: red
            const int k = c - own - (alpha ? 1 : 0);
            return k < 0 ? depth.top() : depth.top() - depth.stored(corpus_ink(k, x, y, depth.levels));
          });
          SCOPED_TRACE(testing::Message() << depth.bits << " bit, photometric " << photometric << ", planar "
                                          << planar << ", alpha " << alpha);
          expect_corpus(file, spots, depth.levels, depth.tolerance);
          Diagnostics notes;
          const auto entries = list_plates(file, notes);
          ASSERT_EQ(static_cast<int>(entries.size()), rgb ? spots : 1 + spots);
          EXPECT_EQ(entries[0].composite, !rgb);
          EXPECT_EQ(entries.back().kind, SampleKind::spot);
          ASSERT_EQ(notes.all().size(), 2u);
          EXPECT_THAT(notes.all()[0].message, HasSubstr("it holds 3 spot samples beside the picture"));
          EXPECT_THAT(notes.all()[1].message, HasSubstr(rgb ? "the colour picture beside its spot samples"
                                                            : "the grey picture beside its spot samples"));
          if (HasFailure()) return;
        }
      }
    }
  }
}

TEST_F(Corpus, GreyBesideSpotsCanStillBeRead) {
  for (const bool rgb : {false, true}) {
    TiffSpec spec = corpus_spec();
    spec.photometric = rgb ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;
    spec.samples = rgb ? 4 : 2;
    spec.extra = EXTRASAMPLE_UNSPECIFIED;
    const auto file = next("both.tif");
    make_tiff(file, spec, [&](int x, int y, int c) {
      return 255 - corpus_ink(c == spec.samples - 1 ? 1 : 0, x, y, 256);
    });
    Diagnostics notes;
    const auto entries = list_plates(file, notes);
    ASSERT_EQ(entries.size(), 2u);
    const auto images = read_plates(entries, Polarity::dark_is_ink, notes);
    EXPECT_EQ(test::film_of(images[0]), test::corpus_film(0, 256));
    EXPECT_EQ(test::film_of(images[1]), test::corpus_film(1, 256));
    // The scene's polarity is the grey's alone.
    const auto other = read_plates(entries, Polarity::light_is_ink, notes);
    EXPECT_EQ(other[0].ink8[5000 % other[0].ink8.size()], 255 - images[0].ink8[5000 % other[0].ink8.size()]);
    EXPECT_EQ(other[1].ink8, images[1].ink8);
  }
}

TEST_F(Corpus, DotRangeIsHonoured) {
  // One pair for all, by libtiff.
  for (const int depth : {8, 16}) {
    TiffSpec spec = corpus_spec();
    spec.depth = depth;
    spec.photometric = PHOTOMETRIC_SEPARATED;
    spec.samples = 2;
    spec.ink_set = INKSET_MULTIINK;
    const unsigned scale = depth == 8 ? 1 : 256;
    spec.dot_none = static_cast<int>(30 * scale);
    spec.dot_solid = static_cast<int>(225 * scale);  // 196 levels
    make_tiff(folder / "range.tif", spec, [&](int x, int y, int c) {
      const unsigned v = corpus_ink(c, x, y, 256) * scale;
      return v;
    });
    Diagnostics notes;
    const auto images = test::read_all(folder / "range.tif", notes);
    for (int c = 0; c < 2; ++c) {
      for (int y = 0; y < kCorpusHeight; ++y) {
        for (int x = 0; x < kCorpusWidth; ++x) {
          const double v = corpus_ink(c, x, y, 256);
          const double wanted = std::min(std::max((v - 30) / 195, 0.0), 1.0);
          ASSERT_NEAR(images[static_cast<std::size_t>(c)].film(x, y), wanted,
                      depth == 8 ? 0.5 / 255 : 0.5 / 65535);
        }
      }
    }
  }
  // Ink by ink, the second the other way round, written by hand: libtiff drops such a tag.
  std::vector<test::TiffEntry> entries{{256, 4, {4}},
                                       {257, 4, {1}},
                                       {258, 3, {8, 8}},
                                       {259, 3, {1}},
                                       {262, 3, {5}},
                                       {273, 4, {0}},
                                       {277, 3, {2}},
                                       {278, 4, {1}},
                                       {279, 4, {8}},
                                       {332, 3, {2}},
                                       {336, 3, {0, 200, 255, 0}}};
  entries[5].values[0] = test::hand_made_data_offset(entries);
  test::write_bytes(folder / "each.tif", test::hand_made_tiff(entries, {0, 255, 100, 0, 200, 155, 255, 51}));
  Diagnostics notes;
  const auto images = test::read_all(folder / "each.tif", notes);
  ASSERT_EQ(images.size(), 2u);
  EXPECT_THAT(images[0].ink8, ElementsAre(0, 128, 255, 255));  // 100 / 200 of 255 is 127.5
  EXPECT_THAT(images[1].ink8, ElementsAre(0, 255, 100, 204));
}

TEST_F(Corpus, HalfNumbersAreExact) {
  // IEEE 754 binary16: 0, -0, the smallest, the largest below 2^-14, 2^-14, 1/3 (rounded), 1/2, the last
  // below 1, and 1.
  const std::vector<std::uint16_t> halves{0, 0x8000, 1, 0x3ff, 0x400, 0x3555, 0x3800, 0x3bff, 0x3c00};
  const double values[] = {0, 0, 0x1p-24, 0x1.ff8p-15, 0x1p-14, 0x1.554p-2, 0.5, 0x1.ffcp-1, 1};
  std::vector<std::uint8_t> data;
  for (const std::uint16_t half : halves) {
    data.push_back(static_cast<std::uint8_t>(half));
    data.push_back(static_cast<std::uint8_t>(half >> 8));
  }
  std::vector<test::TiffEntry> entries{{256, 4, {9}},  {257, 4, {1}}, {258, 3, {16}}, {259, 3, {1}},
                                       {262, 3, {5}},  {273, 4, {0}}, {277, 3, {1}},  {278, 4, {1}},
                                       {279, 4, {18}}, {332, 3, {2}}, {339, 3, {3}}};
  entries[5].values[0] = test::hand_made_data_offset(entries);
  test::write_bytes(folder / "half.tif", test::hand_made_tiff(entries, data));
  Diagnostics notes;
  const auto images = test::read_all(folder / "half.tif", notes);
  ASSERT_EQ(images.size(), 1u);
  for (std::size_t i = 0; i < halves.size(); ++i)
    EXPECT_EQ(images[0].ink16[i], std::lround(values[i] * 65535)) << i;
}

TEST_F(Corpus, PalettesThatAreGrey) {
  for (const int bits : {1, 2, 4, 8}) {
    const std::uint32_t size = 1u << bits;
    std::vector<std::uint32_t> map;
    for (int channel = 0; channel < 3; ++channel) {
      for (std::uint32_t i = 0; i < size; ++i) map.push_back((size - 1 - i) * 65535u / (size - 1));
    }
    const std::uint32_t row = static_cast<std::uint32_t>((kCorpusWidth * bits + 7) / 8);
    std::vector<test::TiffEntry> entries{{256, 4, {kCorpusWidth}},
                                         {257, 4, {kCorpusHeight}},
                                         {258, 3, {static_cast<std::uint32_t>(bits)}},
                                         {259, 3, {1}},
                                         {262, 3, {3}},
                                         {273, 4, {0}},
                                         {277, 3, {1}},
                                         {278, 4, {kCorpusHeight}},
                                         {279, 4, {row * kCorpusHeight}},
                                         {320, 3, map}};
    entries[5].values[0] = test::hand_made_data_offset(entries);
    std::vector<std::uint8_t> data(static_cast<std::size_t>(row) * kCorpusHeight);
    for (int y = 0; y < kCorpusHeight; ++y) {
      for (int x = 0; x < kCorpusWidth; ++x) {
        data[static_cast<std::size_t>(y) * row + static_cast<std::size_t>(x * bits / 8)] |=
            static_cast<std::uint8_t>(corpus_ink(0, x, y, 1 << bits) << (8 - bits - x * bits % 8));
      }
    }
    test::write_bytes(folder / "palette.tif", test::hand_made_tiff(entries, data));
    expect_corpus(folder / "palette.tif", 1, 1 << bits);
  }
}

}  // namespace
}  // namespace kirtle
