// Films at device resolution, written and read back.
#include "print/film.h"

#include "base/diagnostics.h"
#include "plate/io/plate_file.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <numbers>
#include <stdexcept>
#include <unistd.h>

namespace kirtle {
namespace {

namespace fs = std::filesystem;

/// A disc of 4 mm radius on 12 x 12 mm, and a 30 % tint of 3 x 3 mm in the corner.
PlateImage art() {
  PlateImage p;
  p.name = "brown";
  p.width = p.height = 142;
  p.ppi = 300;
  const double mm = kMmPerInch / 300;
  for (int y = 0; y < p.height; ++y) {
    for (int x = 0; x < p.width; ++x) {
      const double d = (std::hypot((x + 0.5) * mm - 7, (y + 0.5) * mm - 7) - 4) / mm;
      double film = std::clamp(0.5 - d, 0.0, 1.0);
      if (x < 36 && y < 36) film = 0.3;
      p.ink8.push_back(static_cast<std::uint8_t>(std::lround(255 * film)));
    }
  }
  return p;
}

class FilmTest : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("kirtle-film-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  PlateImage read(const fs::path& file) const {
    Diagnostics notes;
    return read_plates(list_plates(file, notes), Polarity::dark_is_ink, notes).at(0);
  }
  fs::path folder_;
};

double ink_mm2(const PlateImage& film, double x0, double y0, double width, double height) {
  const double mm = kMmPerInch / film.ppi;
  double sum = 0;
  for (int y = 0; y < film.height; ++y) {
    for (int x = 0; x < film.width; ++x) {
      const double px = (x + 0.5) * mm - x0, py = (y + 0.5) * mm - y0;
      if (px > 0 && py > 0 && px < width && py < height) sum += film.film(x, y);
    }
  }
  return sum * mm * mm;
}

TEST_F(FilmTest, ArtIsWhereItIsSaidToBeAndMarksAreOutside) {
  for (const char* ending : {"png", "tif"}) {
    FilmSettings settings;
    settings.device_ppi = 1200;
    const FilmArt box = write_film(folder_ / (std::string("brown.") + ending), art(), 300, settings);
    const PlateImage film = read(folder_ / (std::string("brown.") + ending));
    EXPECT_TRUE(film.dots);
    EXPECT_NEAR(film.ppi, 1200, 0.05);
    EXPECT_EQ(film.width, box.film_width);
    EXPECT_EQ(film.height, box.film_height);
    EXPECT_NEAR(box.width_mm, 142 * kMmPerInch / 300, 1e-9);
    // The disc by area within half a device pixel of its edge; the tint's dots at 55 per inch over 3 mm.
    EXPECT_NEAR(ink_mm2(film, box.x_mm + 3.06, box.y_mm + 3.06, 9, 9), 16 * std::numbers::pi,
                8 * std::numbers::pi * 0.5 * kMmPerInch / 1200);
    const double tint = ink_mm2(film, box.x_mm, box.y_mm, 36 * kMmPerInch / 300, 36 * kMmPerInch / 300);
    EXPECT_NEAR(tint / std::pow(36 * kMmPerInch / 300, 2), 0.3, 0.02);
    // Four marks of a circle and a cross: outside the art, all of one size.
    const double all = ink_mm2(film, 0, 0, 1e3, 1e3),
                 inside = ink_mm2(film, box.x_mm, box.y_mm, box.width_mm, box.height_mm);
    const double mark = 0.15 * (2 * std::numbers::pi * 2 + 16) - 0.15 * 0.15 * 5;
    // Half a device pixel on all their outlines.
    EXPECT_NEAR(all - inside, 4 * mark, 4 * (8 * std::numbers::pi + 32) * 0.5 * kMmPerInch / 1200);
    EXPECT_GT(film.film(film.width / 2, static_cast<int>(7 / kMmPerInch * 1200)), 0.5)
        << "centre of the upper mark";
  }
}

TEST_F(FilmTest, LabelStandsBelowAndIsReadBack) {
  FilmSettings settings;
  settings.device_ppi = 600;
  settings.label = {40, 10, std::vector<std::uint8_t>(400, 1)};
  const FilmArt box = write_film(folder_ / "x.png", art(), 300, settings);
  const PlateImage film = read(folder_ / "x.png");
  const double mm = kMmPerInch / 600, below = box.y_mm + box.height_mm + 14;
  EXPECT_NEAR(ink_mm2(film, 0, below, 1e3, 1e3), 400 * mm * mm, 1e-6);
  settings.label = {4000, 1, std::vector<std::uint8_t>(4000, 1)};
  EXPECT_THROW(write_film(folder_ / "x.png", art(), 300, settings), std::domain_error);
}

TEST_F(FilmTest, BytesDoNotDependOnThreads) {
  const auto bytes = [&](unsigned threads) {
    write_film(folder_ / "t.png", art(), 300, {}, threads);
    std::ifstream in(folder_ / "t.png", std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  EXPECT_EQ(bytes(1), bytes(3));
}

TEST_F(FilmTest, LimitsAreSaid) {
  FilmSettings settings;
  settings.device_ppi = 299;
  EXPECT_THROW(film_art(art(), 300, settings), std::domain_error);
  settings.device_ppi = 300;
  EXPECT_NO_THROW(film_art(art(), 300, settings));
  settings.margin = {9.9};
  EXPECT_THROW(film_art(art(), 300, settings), std::domain_error);
  settings.margin = {std::nan("")};
  EXPECT_THROW(film_art(art(), 300, settings), std::domain_error);
}

TEST(FilmLabelLines, SayWhatTheCrewNeeds) {
  FilmWords words;
  words.plate = "shading";
  words.ink = "brown";
  words.mesh = "43-80";
  words.halftone = {55, 22.5, DotShape::round};
  words.curve = CurveAt::plates;
  EXPECT_EQ(film_label_lines(words, {14.0, 14.0, 305.04, 355, 0, 0}),
            (std::vector<std::string>{
                "shading", "ink: brown, mesh: 43-80", "55 lines per inch, 22.5 degrees, round dots",
                "curve: in this film already; add none at output",
                "art starts 14.0 mm from the left, 14.0 mm from the top, 305.0 x 355.0 mm"}));
  words.tints = false;
  words.curve = CurveAt::output;
  EXPECT_EQ(film_label_lines(words, {})[2], "no tints");
  EXPECT_EQ(film_label_lines(words, {})[3], "curve: none in this film; the output step adds it");
}

}  // namespace
}  // namespace kirtle
