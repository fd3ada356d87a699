// Plates of a scene as images: which of a file, cut to the art box; plates that are dots already.
#include "predict/plate_set.h"

#include "job/files.h"
#include "print/cover.h"
#include "screen/dot.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

PlateEntry entry(const std::string& name, int page, int sample, SampleKind kind = SampleKind::separated) {
  PlateEntry e;
  e.file = "set.tif";
  e.name = name;
  e.page = page;
  e.sample = sample;
  e.kind = kind;
  return e;
}
ScenePlate wanted(const std::string& sample, int number, int page = 1) {
  ScenePlate p;
  p.name = "x";
  p.file = "set.tif";
  p.sample = sample;
  p.sample_number = number;
  p.page = page;
  return p;
}

TEST(PlateSet, FindsByNameNumberAndPage) {
  std::vector<PlateEntry> entries{entry("White", 0, 0), entry("red", 0, 1), entry("red", 1, 0)};
  EXPECT_EQ(entry_of(wanted("white", 0), entries).sample, 0);
  EXPECT_EQ(entry_of(wanted("", 2), entries).name, "red");
  EXPECT_EQ(entry_of(wanted("", 0, 2), entries).page, 1);
  EXPECT_THROW(entry_of(wanted("", 0), entries), InputError);
  EXPECT_THROW(entry_of(wanted("blue", 0), entries), InputError);
  EXPECT_THROW(entry_of(wanted("", 3), entries), InputError);
  EXPECT_THROW(entry_of(wanted("", 0, 3), entries), InputError);
  entries[1].name = "WHITE";
  EXPECT_THROW(entry_of(wanted("white", 0), entries), InputError) << "two of that name";
  // The grey beside one spot sample is a preview; it is meant only where it is named.
  std::vector<PlateEntry> spots{entry("grey", 0, 0, SampleKind::grey), entry("spot", 0, 1, SampleKind::spot)};
  spots[0].composite = true;
  EXPECT_EQ(entry_of(wanted("", 0), spots).sample, 1);
  EXPECT_EQ(entry_of(wanted("", 1), spots).sample, 0);
}

TEST(PlateSet, ArtBoxLeavesWhatLiesInIt) {
  for (const int bits : {8, 16}) {
    PlateImage image;
    image.width = 40;
    image.height = 30;
    image.bits = bits;
    if (bits == 8) {
      image.ink8.assign(1200, 255);
    } else {
      image.ink16.assign(1200, 65535);
    }
    cut_to_art_box(image, {{0.5}, {1.0}, {2.0}, {1.5}}, 254);  // 10 pixels a mm
    for (int y = 0; y < 30; ++y)
      for (int x = 0; x < 40; ++x)
        ASSERT_EQ(image.film(x, y), x >= 5 && x < 25 && y >= 10 && y < 25 ? 1 : 0) << x << ',' << y;
    cut_to_art_box(image, {{-5}, {-5}, {100}, {100}}, 254);
    EXPECT_EQ(image.film(10, 12), 1) << "a box round everything cuts nothing";
    cut_to_art_box(image, {{50}, {0}, {1}, {1}}, 254);
    EXPECT_EQ(image.film(10, 12), 0) << "a box beside the plate leaves nothing";
  }
}

/// Dots of 50 % at 55 lines per inch and 22.5 degrees, as an imagesetter writes them, 1 bit at `ppi`.
PlateImage dots(double ppi, double share) {
  PlateImage plate;
  plate.width = plate.height = static_cast<int>(ppi / 2);
  plate.ppi = ppi;
  plate.dots = true;
  const double pitch = ppi / 55, a = 22.5 * std::numbers::pi / 180,
               r = pitch * std::sqrt(share / std::numbers::pi);
  for (int y = 0; y < plate.height; ++y) {
    for (int x = 0; x < plate.width; ++x) {
      double u = (x * std::cos(a) + y * std::sin(a)) / pitch, v = (y * std::cos(a) - x * std::sin(a)) / pitch;
      u -= std::round(u);
      v -= std::round(v);
      plate.ink8.push_back(std::hypot(u, v) * pitch <= r ? 255 : 0);
    }
  }
  return plate;
}

double mean_cover(const PlateImage& plate, const CoverSettings& settings) {
  const CoverRows rows = PlateCover(plate, plate.ppi, settings).rows(0, plate.height);
  // Away from the border, where dots are cut.
  const int margin = plate.width / 10;
  double sum = 0;
  int n = 0;
  for (int y = margin; y < plate.height - margin; ++y) {
    for (int x = margin; x < plate.width - margin; ++x, ++n)
      sum += rows.cover[static_cast<std::size_t>(y) * static_cast<std::size_t>(plate.width) +
                        static_cast<std::size_t>(x)];
  }
  return sum / n / 65535;
}

// A 1-bit plate's pixels are shapes: they spread, and no tone curve is put on them. Truth: a disc of radius r
// grows to r + spread (plane geometry). Without anti-aliasing the grid knows an edge to half a pixel; fitted
// over five lines it must come to 3 um at 600 pixels per inch, which is 0.07 pixel, and to less
// above; unmoved, a dot three pixels in radius is drawn up to a tenth of a pixel small.
TEST(OneBit, DotsSpreadAsShapesAndKnowNoToneCurve) {
  for (const double ppi : {600.0, 1200.0, 2400.0}) {
    const PlateImage plate = dots(ppi, 0.25);
    const double pitch_px = ppi / 55;
    for (const double spread_um : {0.0, 30.0, 45.0}) {
      CoverSettings settings;
      settings.tone.spread = Um{spread_um};
      const double cover = mean_cover(plate, settings);
      const double grown_px =
          pitch_px * (std::sqrt(cover / std::numbers::pi) - std::sqrt(0.25 / std::numbers::pi));
      EXPECT_NEAR(grown_px, spread_um / kUmPerInch * ppi, spread_um > 0 ? 0.075 : 0.11)
          << ppi << ", " << spread_um;
      settings.tone.steps = StepTable{{0, 0.5, 1}, {0, 0.9, 1}};
      EXPECT_EQ(mean_cover(plate, settings), cover) << "a step table is for tints";
    }
  }
}

}  // namespace
}  // namespace kirtle
