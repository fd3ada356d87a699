// Edges of plates: discs and bars of known size, at the resolutions that plates come in, must keep their area
// and move by the ink spread. Truth: plane geometry.
#include "print/cover.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>
#include <numbers>
#include <random>

namespace kirtle {
namespace {

/// A square plate of `side_mm`, 8 bit, each pixel the area share of `inside` (mm from the top left corner),
/// 12 x 12 points.
PlateImage plate_of(double side_mm, double ppi, const std::function<bool(double, double)>& inside) {
  PlateImage plate;
  plate.ppi = ppi;
  plate.width = plate.height = static_cast<int>(std::lround(side_mm / kMmPerInch * ppi));
  const double px = kMmPerInch / ppi;
  constexpr int kPoints = 12;
  for (int y = 0; y < plate.height; ++y) {
    for (int x = 0; x < plate.width; ++x) {
      int hits = 0;
      // Corners first: a pixel of which all four agree is not cut by these large shapes.
      const bool a = inside(x * px, y * px), b = inside((x + 1) * px, y * px),
                 c = inside(x * px, (y + 1) * px), d = inside((x + 1) * px, (y + 1) * px);
      if (a == b && b == c && c == d) {
        plate.ink8.push_back(a ? 255 : 0);
        continue;
      }
      for (int j = 0; j < kPoints; ++j) {
        for (int i = 0; i < kPoints; ++i)
          hits += inside((x + (i + 0.5) / kPoints) * px, (y + (j + 0.5) / kPoints) * px);
      }
      plate.ink8.push_back(static_cast<std::uint8_t>(std::lround(255.0 * hits / (kPoints * kPoints))));
    }
  }
  return plate;
}

CoverRows printed(const PlateImage& plate, double spread_um) {
  CoverSettings settings;
  settings.tone.spread = {spread_um};
  return PlateCover(plate, plate.ppi, settings).rows(0, plate.height);
}

double area_mm2(const CoverRows& rows, double ppi) {
  double sum = 0;
  for (const std::uint16_t c : rows.cover) sum += c / 65535.0;
  return sum * std::pow(kMmPerInch / ppi, 2);
}

TEST(Edge, DiscsKeepTheirAreaAndMoveByTheSpread) {
  std::mt19937 random(1);  // the raw generator is the same everywhere
  const auto uniform = [&](double lo, double hi) {
    return lo + (hi - lo) * (static_cast<double>(random()) / 4294967296.0);
  };
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (int i = 0; i < 12; ++i) {
      const double r = uniform(1.0, 4.0), cx = 5 + uniform(-0.2, 0.2), cy = 5 + uniform(-0.2, 0.2);
      SCOPED_TRACE(std::to_string(ppi) + " per inch, radius " + std::to_string(r) + " mm");
      const PlateImage plate =
          plate_of(10, ppi, [&](double x, double y) { return std::hypot(x - cx, y - cy) < r; });
      const double exact = std::numbers::pi * r * r;
      EXPECT_NEAR(area_mm2(printed(plate, 0), ppi), exact, 0.002 * exact);
      for (const double spread_um : {45.0, -30.0}) {
        const double moved_um =
            1000 * (std::sqrt(area_mm2(printed(plate, spread_um), ppi) / std::numbers::pi) - r);
        EXPECT_NEAR(moved_um, spread_um, 3);
      }
    }
  }
}

TEST(Edge, BarsKeepTheirWidthAndMoveByTheSpread) {
  std::mt19937 random(2);
  const auto uniform = [&](double lo, double hi) {
    return lo + (hi - lo) * (static_cast<double>(random()) / 4294967296.0);
  };
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (int i = 0; i < 12; ++i) {
      const double angle = uniform(0, std::numbers::pi), nx = std::cos(angle), ny = std::sin(angle);
      const double width = uniform(0.6, 3), off = uniform(-0.2, 0.2);
      SCOPED_TRACE(std::to_string(ppi) + " per inch, width " + std::to_string(width) + " mm at " +
                   std::to_string(angle));
      const PlateImage plate = plate_of(10, ppi, [&](double x, double y) {
        return std::abs((x - 5) * nx + (y - 5) * ny - off) < width / 2;
      });
      // Rows (steep bars: columns) of the middle third, where the bar crosses from side to side.
      const auto width_mm = [&](const CoverRows& rows) {
        const int n = plate.width;
        const bool along_x = std::abs(nx) > std::abs(ny);
        double sum = 0;
        int lines = 0;
        for (int j = n / 3; j < 2 * n / 3; ++j, ++lines) {
          for (int k = 0; k < n; ++k) {
            sum += rows.cover[along_x ? static_cast<std::size_t>(j) * n + k
                                      : static_cast<std::size_t>(k) * n + j] /
                   65535.0;
          }
        }
        return sum / lines * kMmPerInch / ppi * std::max(std::abs(nx), std::abs(ny));
      };
      const double plain = width_mm(printed(plate, 0));
      EXPECT_NEAR(plain, width, 0.002 * width);
      EXPECT_NEAR(1000 * (width_mm(printed(plate, 45)) - width) / 2, 45, 3);
    }
  }
}

TEST(Edge, PositionIsWithinTenMicrometresAt300PerInch) {
  std::mt19937 random(3);
  const auto uniform = [&](double lo, double hi) {
    return lo + (hi - lo) * (static_cast<double>(random()) / 4294967296.0);
  };
  double worst = 0;
  for (int i = 0; i < 40; ++i) {
    const double angle = uniform(0, 2 * std::numbers::pi), nx = std::cos(angle), ny = std::sin(angle),
                 off = uniform(-0.1, 0.1);
    const PlateImage plate =
        plate_of(4, 300, [&](double x, double y) { return (x - 2) * nx + (y - 2) * ny < off; });
    const CoverRows rows = printed(plate, 0);
    const double px = kMmPerInch / 300;
    for (int y = 5; y < plate.height - 5; ++y) {
      for (int x = 5; x < plate.width - 5; ++x) {
        const double truth = ((x + 0.5) * px - 2) * nx + ((y + 0.5) * px - 2) * ny - off;
        if (std::abs(truth) > 0.5 * px) continue;
        worst = std::max(worst,
                         std::abs(rows.distance[static_cast<std::size_t>(y) * plate.width + x] * px - truth));
      }
    }
  }
  EXPECT_LT(worst, 0.01);
  RecordProperty("worst_um", std::to_string(1000 * worst));
}

TEST(Edge, ATintKeepsToTheToneCurve) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    PlateImage plate = plate_of(10, ppi, [](double, double) { return false; });
    for (int y = plate.height / 5; y < plate.height * 4 / 5; ++y) {
      for (int x = plate.width / 5; x < plate.width * 4 / 5; ++x) {
        plate.ink8[static_cast<std::size_t>(y) * plate.width + x] = 77;  // 30.2 % on film
      }
    }
    const CoverRows rows = printed(plate, 45);
    const double expected = spread_tone(77 / 255.0, HalftoneScreen{}, {45});
    const std::size_t middle = static_cast<std::size_t>(plate.height / 2) * plate.width + plate.width / 2;
    EXPECT_NEAR(rows.cover[middle] / 65535.0, expected, 1e-3);
    // Inside the patch, right up to its border, nothing but the tone curve has acted; outside, nothing
    // prints.
    for (int y = 0; y < plate.height; ++y) {
      for (int x = 0; x < plate.width; ++x) {
        const std::size_t i = static_cast<std::size_t>(y) * plate.width + x;
        ASSERT_EQ(rows.cover[i], plate.ink8[i] == 0 ? 0 : rows.cover[middle]);
      }
    }
  }
}

/// Two plates that butt along a line or a circle, anti-aliased, in register and without spread, against exact
/// areas.
TEST(Edge, ButtedPlatesShareEveryPixelBetweenThem) {
  for (const double ppi : {150.0, 300.0}) {
    for (int shape = 0; shape < 6; ++shape) {
      const auto inside = [&](double x, double y) {
        return shape == 5
                   ? std::hypot(x - 4.03, y - 3.96) < 2.7
                   : (x - 4) * std::cos(0.5 * shape + 0.1) + (y - 4) * std::sin(0.5 * shape + 0.1) < 0.013;
      };
      const PlateImage one = plate_of(8, ppi, inside);
      const PlateImage other = plate_of(8, ppi, [&](double x, double y) { return !inside(x, y); });
      const CoverRows a = printed(one, 0), b = printed(other, 0);
      const double px = kMmPerInch / ppi;
      double uncovered_mm2 = 0;
      for (std::size_t i = 0; i < a.cover.size(); ++i) {
        // Their distances mirror each other, so no point of the pixel is left between them.
        if (std::abs(a.distance[i]) < 1) {
          ASSERT_NEAR(a.distance[i], -b.distance[i], 0.02) << i;
        }
        uncovered_mm2 += std::max(0.0, 1 - (a.cover[i] + b.cover[i]) / 65535.0) * px * px;
      }
      const double length_mm = shape == 5 ? 2 * std::numbers::pi * 2.7 : 8;
      EXPECT_LT(1000 * uncovered_mm2 / length_mm, 0.5)
          << "um of cloth along the edge; naive mixing leaves pixel / 6 = " << 1000 * px / 6;
    }
  }
}

}  // namespace
}  // namespace kirtle
