// Plates written and read back.
#include "plate/reshape/write_plates.h"

#include "base/diagnostics.h"
#include "plate/io/plate_file.h"
#include "plate/io/write_picture.h"
#include "reshape/shapes.h"

#include <filesystem>
#include <gtest/gtest.h>
#include <unistd.h>

namespace kirtle {
namespace {

using namespace test;
namespace fs = std::filesystem;

class WritePlates : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("kirtle-reshape-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  static std::vector<PlateImage> read(const fs::path& file) {
    Diagnostics notes;
    return read_plates(list_plates(file, notes), Polarity::dark_is_ink, notes);
  }
  static PlateImage shading(int bits, const std::string& name) {
    PlateImage p =
        field(6, 254, bits, [](double x, double y) { return 0.5 + 0.5 * std::sin(x) * std::cos(2 * y); });
    p.name = name;
    return p;
  }

  fs::path folder_;
};

TEST_F(WritePlates, GreysReadBackAsTheSamePlates) {
  for (const int bits : {8, 16}) {
    const PlateImage plate = shading(bits, "cream");
    for (const char* ending : {"png", "tif"}) {
      const fs::path file = folder_ / (std::string("cream.") + ending);
      write_grey_plate(file, plate, 254, "no curve in these plates");
      const auto back = read(file);
      ASSERT_EQ(back.size(), 1u);
      EXPECT_EQ(back[0].bits, bits);
      EXPECT_EQ(back[0].ink8, plate.ink8);
      EXPECT_EQ(back[0].ink16, plate.ink16);
      EXPECT_NEAR(back[0].ppi, 254, 0.01);
    }
  }
}

TEST_F(WritePlates, OneSeparatedTiffOfFiveInks) {
  std::vector<PlateImage> plates;
  for (const char* name : {"base", "cream", "brown", "red", "highlight white"})
    plates.push_back(shading(8, name));
  plates[1] = drawn(6, 254, 8, disc(3, 3, 2));
  plates[1].name = "cream";
  for (const bool deep : {false, true}) {
    if (deep) plates[2] = shading(16, "brown");
    write_separated_tiff(folder_ / "all.tif", plates, 254, "curve: in plates");
    const auto back = read(folder_ / "all.tif");
    ASSERT_EQ(back.size(), plates.size());
    for (std::size_t i = 0; i < plates.size(); ++i) {
      EXPECT_EQ(back[i].name, plates[i].name);
      EXPECT_EQ(back[i].bits, deep ? 16 : 8);
      EXPECT_EQ(worst_difference(back[i], plates[i]), 0) << plates[i].name;
      EXPECT_NEAR(back[i].ppi, 254, 0.01);
    }
  }
}

TEST_F(WritePlates, NamesMustTellThemApart) {
  std::vector<PlateImage> plates = {shading(8, "cream"), shading(8, "cream")};
  EXPECT_THROW(write_separated_tiff(folder_ / "x.tif", plates, 254), InputError);
  plates[1].name.clear();
  EXPECT_THROW(write_separated_tiff(folder_ / "x.tif", plates, 254), InputError);
  plates[1].name = "red";
  EXPECT_THROW(write_separated_tiff(folder_ / "x.png", plates, 254), InputError);
  EXPECT_FALSE(fs::exists(folder_ / "x.tif"));
}

TEST_F(WritePlates, OneBitPicturesReadBack) {
  for (const char* ending : {"png", "tif"}) {
    const fs::path file = folder_ / (std::string("film.") + ending);
    PictureFormat format;
    format.width = 13;
    format.height = 70;
    format.channels = 1;
    format.bits = 1;
    format.ppi = 600;
    const auto writer = PictureWriter::open(file, format);
    std::vector<std::uint8_t> rows;
    for (int y = 0; y < 70; ++y) {
      rows.push_back(static_cast<std::uint8_t>(0x55 + y));
      rows.push_back(0xF8);
    }
    writer->write_rows8(rows);
    writer->commit();
    const auto back = read(file);
    ASSERT_EQ(back.size(), 1u);
    EXPECT_TRUE(back[0].dots);
    for (int y = 0; y < 70; ++y) {
      for (int x = 0; x < 13; ++x) {
        const bool white = (rows[static_cast<std::size_t>(2 * y + x / 8)] >> (7 - x % 8) & 1) != 0;
        ASSERT_EQ(back[0].film(x, y), white ? 0 : 1) << x << ' ' << y;
      }
    }
  }
}

}  // namespace
}  // namespace kirtle
