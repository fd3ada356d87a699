// The scene made into a print: which plates print, how much they lay down, readings against the picture.
#include "plate/io/write_picture.h"
#include "predict/picture.h"
#include "predict/predict_test.h"

#include <array>
#include <gmock/gmock.h>

namespace kirtle::test {
namespace {

using ::testing::HasSubstr;

class PredictionTest : public PredictTest {
 protected:
  /// a.png as a real plate of 60 x 40 at 100 per inch, tone rising to the right.
  void make_plate() const {
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < 40; ++y)
      for (int x = 0; x < 60; ++x) grey.push_back(static_cast<std::uint8_t>(255 - 255 * x / 59));
    write_grey_png(folder_.path() / "a.png", 60, 40, 100, grey);
  }
};

TEST_F(PredictionTest, OnePlatePrintedTwiceIsOnePlate) {
  const Scene s = scene("black-cotton", {"w base-white; flash = true; ink_spread_um = 20", "r red",
                                         "w base-white; flash = true; ink_spread_um = 50"});
  const std::vector<PrintingPlate> plates = printing_plates(s);
  ASSERT_EQ(plates.size(), 2u);
  EXPECT_EQ(plates[0].name, "w");
  EXPECT_EQ(plates[1].name, "r");
  EXPECT_EQ(plates[0].cover.tone.spread.v, 50);  // the largest of its passes
  EXPECT_EQ(stack_of(s, plates).passes().size(), 3u);
}

TEST_F(PredictionTest, ASoakedPlatePrintedTwiceKeepsItsDose) {
  const std::vector<PrintingPlate> once = printing_plates(scene("black-cotton", {"c discharge-cream"}));
  const std::vector<PrintingPlate> twice =
      printing_plates(scene("black-cotton", {"c discharge-cream", "c discharge-cream"}));
  ASSERT_EQ(twice.size(), 1u);
  EXPECT_EQ(twice[0].tone.printed(0.5), once[0].tone.printed(0.5));
}

TEST_F(PredictionTest, SoakedInksAreAFieldAndFilmsAreDots) {
  const std::vector<PrintingPlate> plates =
      printing_plates(scene("black-cotton", {"d discharge-clear", "w wb-red", "p red", "f silver-metallic"}));
  EXPECT_TRUE(plates[0].cover.field);
  EXPECT_TRUE(plates[1].cover.field);
  EXPECT_FALSE(plates[2].cover.field);
  EXPECT_FALSE(plates[3].cover.field);
  EXPECT_EQ(plates[0].cover.tone.spread.v, 0);
  EXPECT_GT(plates[0].cover.wick.v, 0);
}

// By hand: each further wet stroke adds .4 of the first.
TEST_F(PredictionTest, WetDeposit) {
  const auto wet = [&](const std::string& keys) {
    return wet_deposit_of(scene("black-cotton", {"w base-white; " + keys}).passes[0]).v;
  };
  EXPECT_DOUBLE_EQ(wet("wet_deposit_um = 40"), 40);
  EXPECT_DOUBLE_EQ(wet("wet_deposit_um = 40; strokes = 2"), 56);
  EXPECT_DOUBLE_EQ(wet("strokes = 3") / wet("strokes = 1"), 1.8);
  EXPECT_DOUBLE_EQ(wet("transfer = 0.35") * 2, wet("transfer = 0.7"));
  // mm = 10000/61 - 64 um open: (99.93 / 163.93)^2 of 105 um, .7 of it transferred.
  EXPECT_NEAR(wet("mesh = { count = \"61/cm\", thread_um = 64, fabric_um = 105 }"), 27.31, 0.01);
}

TEST_F(PredictionTest, APointReadsWhatThePictureHas) {
  make_plate();
  const Scene s = scene("forest-green-cotton", {"c discharge-cream", "b wb-dark-brown"});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  EXPECT_NEAR(prediction.width_mm(), 15.24, 1e-9);
  EXPECT_NEAR(prediction.height_mm(), 10.16, 1e-9);
  std::vector<XYZf> rows;
  prediction.renderer().render(1, 2, {}, [&](int, int, std::span<const XYZf> xyz) {
    rows.insert(rows.end(), xyz.begin(), xyz.end());
  });
  ASSERT_EQ(rows.size(), 60u * 40u);
  for (const int x : {0, 13, 31, 59}) {
    const PointReading r = read_place(s, prediction, {(x + 0.5) * 0.254}, {20.5 * 0.254});
    const XYZf& pixel = rows[static_cast<std::size_t>(20 * 60 + x)];
    const XYZ white = prediction.model().table.weights().white;
    const Lab seen = lab_from_xyz(
        {static_cast<double>(pixel.x), static_cast<double>(pixel.y), static_cast<double>(pixel.z)}, white);
    EXPECT_LT(delta_e_2000(r.lab, seen), 0.02) << x;
    EXPECT_NEAR(r.plates[0].film, x * 255 / 59 / 255.0, 1e-9) << x;
    // The spectrum belongs to the colour.
    EXPECT_LT(delta_e_2000(r.lab, lab_from_reflectance(r.reflectance, prediction.model().table.weights())),
              0.3)
        << x;
  }
}

// A solid left half, moved to the right by 20 pixels of 0.254 mm: what prints there lay 20 pixels further
// left.
TEST_F(PredictionTest, FilmAndPrintOfAMovedPlateBelongTogether) {
  std::vector<std::uint8_t> grey;
  for (int y = 0; y < 40; ++y)
    for (int x = 0; x < 60; ++x) grey.push_back(x < 30 ? 0 : 255);
  write_grey_png(folder_.path() / "a.png", 60, 40, 100, grey);
  const Scene s =
      scene("black-cotton", {"still base-white;flash = true", "moved red; offset = [\"5.08 mm\", \"0 mm\"]"});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  const auto at = [&](int px) { return read_place(s, prediction, {(px + 0.5) * 0.254}, {20.5 * 0.254}); };
  for (const int px : {5, 15, 25, 35, 45, 55}) {
    const PointReading r = at(px);
    EXPECT_EQ(r.plates[0].film, px < 30 ? 1 : 0) << px;
    EXPECT_EQ(r.plates[1].film, px >= 20 && px < 50 ? 1 : 0) << px;
    for (const PlateReading& plate : r.plates) EXPECT_NEAR(plate.printed, plate.film, 1e-6) << px;
  }
}

// Slow twin: the whole plates. Edges, tints and ink to the last row, so that a row too few changes something.
TEST_F(PredictionTest, APlaceHangsOnNoRowThatIsNotReadForIt) {
  constexpr int kWidth = 90, kHeight = 700;
  std::vector<std::uint8_t> grey;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const double d = std::hypot(x - 45.3, (y % 50) - 25.7) - 8 - y / 50;
      grey.push_back(
          static_cast<std::uint8_t>(y % 100 > 80 ? 130 + y % 7 : 255 * std::clamp(d + 0.5, 0.0, 1.0)));
    }
  }
  write_grey_png(folder_.path() / "a.png", kWidth, kHeight, 100, grey);
  const std::string moved =
      "; offset = [\"0.3 mm\", \"-2.2 mm\"]; turn_deg = 0.8; stretch_percent = [0.4, -1.3]";
  bool fewer = false;
  for (const Scene& s : {scene("forest-green-cotton", {"c discharge-cream", "b wb-dark-brown" + moved}),
                         scene("black-cotton", {"w base-white; flash = true; ink_spread_um = 150",
                                                "r red; ink_spread_um = -40" + moved}),
                         scene("black-cotton", {"w base-white; offset = [\"0 mm\", \"5 mm\"]",
                                                "r red; offset = [\"0 mm\", \"4 mm\"]"})}) {
    Diagnostics notes;
    const Prediction whole(s, notes);
    for (const double y_px : {0.5, 3.5, 30.5, 177.5, 340.5, 365.5, 523.5, 698.5}) {
      for (const double x_px : {0.5, 36.5, 37.5, 55.5, 89.5}) {
        const Mm x{x_px * 0.254}, y{y_px * 0.254};
        Diagnostics again;
        const RowsWanted rows = rows_for_place(s, x, y);
        fewer = fewer || rows(kWidth, kHeight, 100) < kHeight / 2;
        const PointReading part = read_place(s, Prediction(s, again, rows), x, y);
        const PointReading all = read_place(s, whole, x, y);
        EXPECT_EQ(part.reflectance.v, all.reflectance.v) << x_px << ',' << y_px;
        for (std::size_t p = 0; p < 2; ++p) {
          EXPECT_EQ(part.plates[p].film, all.plates[p].film);
          EXPECT_EQ(part.plates[p].printed, all.plates[p].printed);
        }
        EXPECT_EQ(again.all().size(), notes.all().size());
      }
    }
  }
  EXPECT_TRUE(fewer);
}

TEST_F(PredictionTest, PlacesOutsideAreRefused) {
  make_plate();
  const Scene s = scene("black-cotton", {"w base-white"});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  EXPECT_NO_THROW(read_place(s, prediction, {0}, {0}));
  EXPECT_NO_THROW(read_place(s, prediction, {15.239}, {10.159}));
  const std::vector<std::array<double, 2>> outside{{15.24, 1}, {1, 10.16},        {-1e-9, 1},
                                                   {1, -1e-9}, {1, std::nan("")}, {std::nan(""), 1}};
  for (const auto& [x, y] : outside) {
    try {
      read_place(s, prediction, {x}, {y});
      ADD_FAILURE() << x << ',' << y;
    } catch (const InputError& e) {
      EXPECT_THAT(e.what(), HasSubstr("lies outside the print"));
    }
  }
}

TEST_F(PredictionTest, CancellingLeavesTheTargetAsItWas) {
  make_plate();
  const Scene s = scene("black-cotton", {"w base-white"});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  const std::filesystem::path target = folder_.write("print.png", "old");
  const auto files = [&] {
    return std::distance(std::filesystem::directory_iterator(folder_.path()),
                         std::filesystem::directory_iterator());
  };
  const auto before = files();
  PictureSettings settings;
  settings.progress = [](double) { return false; };
  EXPECT_THROW(write_print(s, prediction, target, settings), Cancelled);
  EXPECT_EQ(std::filesystem::file_size(target), 3u);
  EXPECT_EQ(files(), before);
}

TEST_F(PredictionTest, ProgressRisesToOne) {
  make_plate();
  const Scene s = scene("black-cotton", {"w base-white"});
  Diagnostics notes;
  const Prediction prediction(s, notes);
  std::vector<double> shares;
  PictureSettings settings;
  settings.threads = 2;
  settings.progress = [&](double share) {
    shares.push_back(share);
    return true;
  };
  write_print(s, prediction, folder_.path() / "print.png", settings);
  ASSERT_FALSE(shares.empty());
  EXPECT_TRUE(std::is_sorted(shares.begin(), shares.end()));
  EXPECT_DOUBLE_EQ(shares.back(), 1);
}

}  // namespace
}  // namespace kirtle::test
