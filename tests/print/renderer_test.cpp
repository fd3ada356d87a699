// The tiled, cached renderer against the plain per-pixel one, and what edges must do.
#include "print/renderer.h"

#include "light/delta_e_2000.h"
#include "plate/blank_plate.h"

#include <cmath>
#include <cstring>
#include <gtest/gtest.h>
#include <memory>
#include <numbers>

namespace kirtle {
namespace {

constexpr int kWidth = 96, kHeight = 80;
constexpr double kPpi = 300;

Cloth plain_cloth() {
  Cloth cloth;
  cloth.id = cloth.name = "plain";
  ClothFibre fibre;
  fibre.fibre = {Spectrum::flat(0.002), Spectrum::flat(0.008)};
  fibre.dyes.push_back({"dye", Spectrum::flat(0.05), 0.95, 1, Spectrum::flat(1e-4)});
  cloth.fibres.push_back(fibre);
  return cloth;
}

Ink ink_of(double k_blue, double k_red, double s, double soak) {
  Ink ink;
  ink.optics.k = spectrum_of([&](std::size_t i) { return i < 18 ? k_blue : k_red; });
  ink.optics.s = Spectrum::flat(s);
  ink.soak = soak;
  ink.gloss = 0.5;
  return ink;
}

PlateImage blank(int bits = 8) { return test::blank_plate(kWidth, kHeight, kPpi, bits); }

/// Sets the plate to tone(x, y) times the anti-aliased half plane left of a line.
template <class Tone>
void draw(PlateImage& plate, double angle, double offset, const Tone& tone) {
  const double nx = std::cos(angle), ny = std::sin(angle);
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const double d = (x - kWidth / 2.0) * nx + (y - kHeight / 2.0) * ny - offset;
      const double v = std::clamp(0.5 - d, 0.0, 1.0) * tone(x, y);
      const std::size_t i = static_cast<std::size_t>(y) * kWidth + x;
      if (plate.bits == 8) {
        plate.ink8[i] = static_cast<std::uint8_t>(std::lround(255 * v));
      } else {
        plate.ink16[i] = static_cast<std::uint16_t>(std::lround(65535 * v));
      }
    }
  }
}

const auto kSolid = [](int, int) { return 1.0; };

CoverSettings dots(double spread_um) {
  CoverSettings settings;
  settings.tone.spread = {spread_um};
  return settings;
}

struct Print {
  Print(std::vector<PlateImage> plate_images, std::vector<CoverSettings> settings,
        std::vector<StackPass> passes, std::vector<double> angles)
      : images(std::move(plate_images)),
        table(Stack(plain_cloth(), std::move(passes), static_cast<int>(images.size()), DischargeProcess{},
                    StackSettings{}),
              plate_dots(settings, angles), {viewing_weights("D50", Observer::cie1931_2deg), {}}) {
    covers.reserve(images.size());
    for (std::size_t i = 0; i < images.size(); ++i) covers.emplace_back(images[i], kPpi, settings[i]);
    renderer = std::make_unique<PrintRenderer>(table, covers);
  }
  static std::vector<PlateDots> plate_dots(const std::vector<CoverSettings>& settings,
                                           const std::vector<double>& angles) {
    std::vector<PlateDots> out;
    for (std::size_t i = 0; i < settings.size(); ++i) {
      out.push_back({{55, angles[i], DotShape::round}, settings[i].field});
    }
    return out;
  }
  std::vector<XYZf> render(double scale = 1, unsigned threads = 2) const {
    std::vector<XYZf> out;
    renderer->render(scale, threads, {}, [&](int, int, std::span<const XYZf> rows) {
      out.insert(out.end(), rows.begin(), rows.end());
    });
    return out;
  }
  Lab lab(const XYZf& c) const {
    return lab_from_xyz({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)},
                        table.weights().white);
  }

  std::vector<PlateImage> images;
  OverprintTable table;
  std::vector<PlateCover> covers;
  std::unique_ptr<PrintRenderer> renderer;
};

/// Four plates with everything: solids, tints, gradients, edges that cross and butt, a soaked field, a
/// shifted plate.
Print busy_print() {
  std::vector<PlateImage> images{blank(), blank(), blank(16), blank()};
  draw(images[0], 0.4, 5, kSolid);
  draw(images[1], 0.4 + std::numbers::pi, -5, [](int x, int) { return x < 60 ? 1.0 : 0.4; });
  draw(images[2], 2.0, 10, [](int x, int y) { return 0.5 + 0.5 * std::sin(0.07 * x) * std::cos(0.05 * y); });
  draw(images[3], 1.2, -3, [](int, int y) { return y / (kHeight - 1.0); });
  std::vector<CoverSettings> settings(4, dots(45));
  settings[1].offset = {{0.11}, {-0.07}, 0.3, 0.001, -0.002};
  settings[3].field = true;
  settings[3].wick = {0.12};
  Ink soaked = ink_of(0.01, 0.2, 0.01, 1);
  soaked.agent_g_cm3 = 0.1;
  std::vector<StackPass> passes{{0, ink_of(0.001, 0.001, 0.1, 0.1), {40}, true},
                                {1, ink_of(0.2, 0.01, 0.02, 0.1), {17}, false},
                                {2, ink_of(0.01, 0.25, 0.01, 0), {14}, false},
                                {3, soaked, {30}, false}};
  return Print(std::move(images), std::move(settings), std::move(passes), {22.5, 52.5, 82.5, 7.5});
}

TEST(Renderer, CoverRowsEqualThePlainPerPixelReference) {
  const Print print = busy_print();
  for (std::size_t p = 0; p < print.covers.size(); ++p) {
    const CoverRows rows = print.covers[p].rows(0, kHeight);
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        EXPECT_NEAR(rows.cover[static_cast<std::size_t>(y) * kWidth + x] / 65535.0,
                    print.covers[p].cover_at(x, y), 2.5e-5)
            << "plate " << p << " at " << x << ',' << y;
      }
    }
  }
}

TEST(Renderer, EqualsThePlainPerPixelReference) {
  const Print print = busy_print();
  const std::vector<XYZf> fast = print.render();
  double worst = 0;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const XYZ slow = print.renderer->xyz_at(x, y);
      const double de = delta_e_2000(print.lab(fast[static_cast<std::size_t>(y) * kWidth + x]),
                                     lab_from_xyz(slow, print.table.weights().white));
      ASSERT_LT(de, 0.02) << x << ',' << y;
      worst = std::max(worst, de);
    }
  }
  RecordProperty("worst_dE00", std::to_string(worst));
}

TEST(Renderer, PlatesThatLandBesideThePrintLeaveNoInk) {
  for (const auto& [dx, dy] : {std::pair{0.0, 40.0}, {0.0, -40.0}, {40.0, 0.0}, {-40.0, 3.0}}) {
    for (const bool field : {false, true}) {
      const PlateImage solid = [] {
        PlateImage image = blank();
        draw(image, 0, 1e6, kSolid);
        return image;
      }();
      ASSERT_EQ(solid.film(5, 5), 1.0);
      CoverSettings settings = dots(45);
      settings.field = field;
      settings.offset = {{dx}, {dy}};
      const PlateCover cover(solid, kPpi, settings);
      CoverScratch scratch;
      std::vector<std::optional<std::uint16_t>> even((kWidth + kEvenCell - 1) / kEvenCell);
      cover.even_cells(0, kHeight, scratch, even);
      for (const auto& cell : even) EXPECT_EQ(cell, 0) << dx << ' ' << dy;
      const CoverRows rows = cover.rows(0, kHeight);
      EXPECT_TRUE(std::all_of(rows.cover.begin(), rows.cover.end(), [](auto c) { return c == 0; }));
      EXPECT_EQ(cover.cover_at(3, 4), 0.0);
    }
  }
}

TEST(Renderer, ValuesDoNotDependOnThreadsOrTiles) {
  const Print print = busy_print();
  const std::vector<XYZf> one = print.render(1, 1), three = print.render(1, 3);
  ASSERT_EQ(one.size(), three.size());
  EXPECT_EQ(std::memcmp(one.data(), three.data(), one.size() * sizeof(XYZf)), 0);
  RenderWorker worker(print.table);
  std::vector<XYZf> row(kWidth);
  for (int y = 0; y < kHeight; ++y) {
    print.renderer->xyz_rows(y, 1, worker, row);
    ASSERT_EQ(
        std::memcmp(row.data(), one.data() + static_cast<std::size_t>(y) * kWidth, kWidth * sizeof(XYZf)), 0)
        << y;
  }
}

TEST(Renderer, PlatesThatButtLeaveNoClothBetweenThem) {
  // Two opaque plates that meet along a slanted line, in register and without spread: every pixel is a mean
  // of the two.
  for (const double angle : {0.0, 0.3, 0.7854, 1.1}) {
    std::vector<PlateImage> images{blank(), blank()};
    draw(images[0], angle, 0.3, kSolid);
    draw(images[1], angle + std::numbers::pi, -0.3, kSolid);
    const Print print(
        std::move(images), {dots(0), dots(0)},
        {{0, ink_of(0.001, 0.001, 2, 0), {40}, true}, {1, ink_of(0.001, 0.001, 2, 0), {40}, true}},
        {22.5, 52.5});
    const double both[] = {1, 0};
    const double inked = print.table.mix(both).y;
    for (const XYZf& c : print.render()) EXPECT_NEAR(static_cast<double>(c.y), inked, 0.02 * inked);
  }
}

TEST(Renderer, InkSpreadClosesAGapOfTwiceItsWidth) {
  // A gap of 80 um between two solids of one plate: 45 um on each edge closes it, 30 um leaves a quarter of
  // it.
  const auto darkest_gap = [](double spread_um) {
    std::vector<PlateImage> images{blank()};
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        const double half = 0.5 * 80 / kUmPerInch * kPpi;
        const double v = std::clamp(std::abs(x - 48.2) - half + 0.5, 0.0, 1.0);
        images[0].ink8[static_cast<std::size_t>(y) * kWidth + x] =
            static_cast<std::uint8_t>(std::lround(255 * v));
      }
    }
    const Print print(std::move(images), {dots(spread_um)}, {{0, ink_of(0.0, 0.0, 5, 0), {40}, true}},
                      {22.5});
    double gap_um = 0;
    const std::vector<XYZf> xyz = print.render();
    const double none[] = {0}, solid[] = {1};
    const double dark = print.table.mix(none).y, light = print.table.mix(solid).y;
    for (int x = 0; x < kWidth; ++x) {
      gap_um +=
          (light - static_cast<double>(xyz[40 * kWidth + static_cast<std::size_t>(x)].y)) / (light - dark);
    }
    return gap_um * kUmPerInch / kPpi;
  };
  EXPECT_NEAR(darkest_gap(0), 80, 8);
  EXPECT_NEAR(darkest_gap(30), 20, 8);
  EXPECT_NEAR(darkest_gap(45), 0, 1);
}

TEST(Renderer, AShiftMovesAnEdgeByItsLength) {
  for (const double shift_mm : {-0.3, 0.05, 0.21}) {
    std::vector<PlateImage> images{blank()};
    draw(images[0], 0, 0, kSolid);
    CoverSettings moved = dots(0);
    moved.offset.dx = {shift_mm};
    const auto inked_mm = [&](const CoverSettings& settings) {
      const Print print(images, {settings}, {{0, ink_of(0.0, 0.0, 5, 0), {40}, true}}, {22.5});
      const double none[] = {0}, solid[] = {1};
      const double dark = print.table.mix(none).y, light = print.table.mix(solid).y;
      const std::vector<XYZf> xyz = print.render();
      double sum = 0;
      for (int x = 20; x < 76; ++x)
        sum +=
            (static_cast<double>(xyz[40 * kWidth + static_cast<std::size_t>(x)].y) - dark) / (light - dark);
      return sum / kPpi * kMmPerInch;
    };
    EXPECT_NEAR(inked_mm(moved) - inked_mm(dots(0)), shift_mm, 0.003);
  }
}

TEST(Renderer, AShiftKeepsATintBesideAContour) {
  // A keyline of one solid pixel round a tint: shifted by whole pixels every row is the same row moved; by
  // half a pixel nothing goes missing.
  PlateImage plate = blank();
  for (int y = 20; y < 60; ++y) {
    for (int x = 20; x < 70; ++x) {
      const bool line = y == 20 || y == 59 || x == 20 || x == 69;
      plate.ink8[static_cast<std::size_t>(y) * kWidth + x] = line ? 255 : 128;
    }
  }
  const CoverRows still = PlateCover(plate, kPpi, dots(45)).rows(0, kHeight);
  const auto sum = [](const CoverRows& rows) {
    double total = 0;
    for (const std::uint16_t c : rows.cover) total += c;
    return total;
  };
  for (const double pixels : {1.0, 3.0}) {
    CoverSettings moved = dots(45);
    moved.offset.dx = {pixels * kMmPerInch / kPpi};
    const CoverRows rows = PlateCover(plate, kPpi, moved).rows(0, kHeight);
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 5; x < kWidth; ++x) {
        const std::size_t at = static_cast<std::size_t>(y) * kWidth + x;
        ASSERT_NEAR(rows.cover[at], still.cover[at - static_cast<std::size_t>(pixels)], 2)
            << pixels << ' ' << x << ',' << y;
      }
    }
  }
  CoverSettings half = dots(45);
  half.offset.dx = {0.5 * kMmPerInch / kPpi};
  EXPECT_NEAR(sum(PlateCover(plate, kPpi, half).rows(0, kHeight)), sum(still), 0.01 * sum(still));
}

TEST(Renderer, SmallerPicturesKeepTheMean) {
  const Print print = busy_print();
  const auto mean = [](const std::vector<XYZf>& xyz) {
    double sum = 0;
    for (const XYZf& c : xyz) sum += static_cast<double>(c.y);
    return sum / static_cast<double>(xyz.size());
  };
  const double whole = mean(print.render());
  for (const double scale : {0.5, 0.25, 0.37}) {
    const std::vector<XYZf> small = print.render(scale);
    ASSERT_EQ(small.size(), static_cast<std::size_t>(PrintRenderer::scaled(kWidth, scale)) *
                                static_cast<std::size_t>(PrintRenderer::scaled(kHeight, scale)));
    EXPECT_NEAR(mean(small), whole, 2e-5 * whole) << scale;
  }
}

TEST(Renderer, DisjointPlatesCommute) {
  std::vector<PlateImage> images{blank(), blank()};
  draw(images[0], 0, -20, kSolid);
  draw(images[1], std::numbers::pi, -20, [](int, int) { return 0.6; });
  const Ink a = ink_of(0.2, 0.01, 0.05, 0.1), b = ink_of(0.01, 0.2, 0.02, 0.1);
  const Print first(images, {dots(45), dots(45)}, {{0, a, {20}, false}, {1, b, {20}, false}}, {22.5, 52.5});
  const Print second(images, {dots(45), dots(45)}, {{1, b, {20}, false}, {0, a, {20}, false}}, {22.5, 52.5});
  const std::vector<XYZf> x = first.render(), y = second.render();
  for (std::size_t i = 0; i < x.size(); ++i) ASSERT_FLOAT_EQ(x[i].y, y[i].y);
}

TEST(Renderer, WickingKeepsTheAmountAndSoftensTheEdge) {
  std::vector<PlateImage> images{blank()};
  draw(images[0], 0.5, 0, kSolid);
  CoverSettings field = dots(45);
  field.field = true;
  field.wick = {0.15};
  const PlateCover wet(images[0], kPpi, field);
  const CoverRows rows = wet.rows(0, kHeight);
  double film = 0, dose = 0;
  for (int y = 20; y < 60; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      film += images[0].film(x, y);
      dose += rows.cover[static_cast<std::size_t>(y) * kWidth + x] / 65535.0;
    }
  }
  // The left border is inked, and beyond the plate there is no ink: about sigma / sqrt(2 pi) a row is lost
  // there.
  EXPECT_NEAR(dose, film - 40 * 0.15 / kMmPerInch * kPpi / std::sqrt(2 * std::numbers::pi), 0.01 * film);
  EXPECT_TRUE(rows.distance.empty());
}

}  // namespace
}  // namespace kirtle
