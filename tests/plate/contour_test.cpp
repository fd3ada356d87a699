// Contours against shapes whose distance is known in closed form.
#include "plate/contour.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

/// A plate whose pixels are the area share of `inside` on 16 x 16 points.
PlateImage plate_of(int side, int bits, const std::function<bool(double, double)>& inside) {
  PlateImage plate;
  plate.width = plate.height = side;
  plate.bits = bits;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      int hits = 0;
      for (int j = 0; j < 16; ++j) {
        for (int i = 0; i < 16; ++i) hits += inside(x + (i + 0.5) / 16 - 0.5, y + (j + 0.5) / 16 - 0.5);
      }
      const long value = std::lround(hits / 256.0 * plate.max());
      if (bits == 8) {
        plate.ink8.push_back(static_cast<std::uint8_t>(value));
      } else {
        plate.ink16.push_back(static_cast<std::uint16_t>(value));
      }
    }
  }
  return plate;
}

/// Largest difference from `truth` where the truth lies within `band` pixels of the contour.
double worst_error(const DistanceRows& d, double band, const std::function<double(double, double)>& truth,
                   int margin) {
  double worst = 0;
  for (int y = margin; y < d.rows - margin; ++y) {
    for (int x = margin; x < d.width - margin; ++x) {
      const double t = truth(x, d.y0 + y);
      if (std::abs(t) > band) continue;
      worst = std::max(worst, std::abs(d.distance[static_cast<std::size_t>(y) * d.width + x] - t));
    }
  }
  return worst;
}

TEST(Contour, StraightEdgesAtAnyAngle) {
  for (int k = 0; k < 24; ++k) {
    const double angle = 2 * std::numbers::pi * k / 24 + 0.03, nx = std::cos(angle), ny = std::sin(angle);
    for (const double shift : {0.0, 0.21, 0.5, 0.83}) {
      SCOPED_TRACE("edge " + std::to_string(k) + " shift " + std::to_string(shift));
      const auto truth = [&](double x, double y) { return (x - 24) * nx + (y - 24) * ny - shift; };
      const PlateImage plate = plate_of(48, 8, [&](double x, double y) { return truth(x, y) < 0; });
      // Box coverage turns a straight edge's profile into a trapezoid; half a code value and the 16 x 16
      // points add to it.
      EXPECT_LT(worst_error(contour_distance(plate, 0, 48, 0, 3), 2, truth, 5), 0.09);
    }
  }
}

TEST(Contour, Discs) {
  for (const double r : {6.0, 9.7, 20.3}) {
    const auto truth = [&](double x, double y) { return std::hypot(x - 32.3, y - 31.6) - r; };
    for (const int bits : {8, 16}) {
      const PlateImage plate = plate_of(64, bits, [&](double x, double y) { return truth(x, y) < 0; });
      EXPECT_LT(worst_error(contour_distance(plate, 0, 64, 0, 3), 2, truth, 2), 0.1 + 0.5 / r);
      const PlateImage hole = plate_of(64, bits, [&](double x, double y) { return truth(x, y) > 0; });
      EXPECT_LT(
          worst_error(
              contour_distance(hole, 0, 64, 0, 3), 2, [&](double x, double y) { return -truth(x, y); }, 2),
          0.1 + 0.5 / r);
    }
  }
}

TEST(Contour, MeanPositionOfAnEdgeIsExact) {
  // What the run of pixels keeps is area, so over many places along an edge nothing is gained or lost.
  double sum = 0;
  int n = 0;
  for (int k = 0; k < 40; ++k) {
    const double nx = std::cos(0.1 + 0.15 * k), ny = std::sin(0.1 + 0.15 * k),
                 shift = 0.37 * k - std::floor(0.37 * k);
    const auto truth = [&](double x, double y) { return (x - 24) * nx + (y - 24) * ny - shift; };
    const DistanceRows d =
        contour_distance(plate_of(48, 16, [&](double x, double y) { return truth(x, y) < 0; }), 0, 48, 0, 3);
    for (int y = 6; y < 42; ++y) {
      for (int x = 6; x < 42; ++x) {
        if (std::abs(truth(x, y)) > 0.4) continue;
        sum += d.distance[static_cast<std::size_t>(y) * 48 + x] - truth(x, y);
        ++n;
      }
    }
  }
  EXPECT_LT(std::abs(sum / n), 0.005);
}

TEST(Contour, SharpEdgesLieHalfWayBetweenPixels) {
  const PlateImage plate = plate_of(32, 8, [](double x, double) { return x < 15.5; });
  const DistanceRows d = contour_distance(plate, 0, 32, 0, 3);
  const auto at = [&](int x) { return d.distance[16 * 32 + static_cast<std::size_t>(x)]; };
  EXPECT_FLOAT_EQ(at(15), -0.5F);
  EXPECT_FLOAT_EQ(at(16), 0.5F);
  EXPECT_FLOAT_EQ(at(17), 1.5F);
  EXPECT_FLOAT_EQ(at(13), -2.5F);
  EXPECT_FLOAT_EQ(at(20), 3.0F) << "beyond reach";
  EXPECT_FLOAT_EQ(at(4), -3.0F);
}

TEST(Contour, SoftEdgesUpToThreePixelsAreEdgesAndLongerRampsAreTints) {
  const auto ramp = [](int pixels) {
    PlateImage plate;
    plate.width = 32;
    plate.height = 8;
    for (int y = 0; y < 8; ++y) {
      for (int x = 0; x < 32; ++x) {
        const double v = std::clamp((x - 10 + 0.5) / pixels, 0.0, 1.0);
        plate.ink8.push_back(static_cast<std::uint8_t>(std::lround(255 * v)));
      }
    }
    return contour_distance(plate, 0, 8, 0, 3);
  };
  const DistanceRows soft = ramp(3);
  // A linear ramp from none at 9.5 to solid at 12.5 has its edge, by area, at 11.
  EXPECT_NEAR(soft.distance[4 * 32 + 11], 0, 0.01);
  EXPECT_NEAR(soft.distance[4 * 32 + 10], 1, 0.01);
  EXPECT_EQ(soft.tint[4 * 32 + 11], 0);
  const DistanceRows tint = ramp(12);
  for (int x = 11; x < 21; ++x) {
    EXPECT_EQ(tint.tint[4 * 32 + static_cast<std::size_t>(x)], 1) << x;
    EXPECT_FLOAT_EQ(tint.distance[4 * 32 + static_cast<std::size_t>(x)], 3.0F) << x;
  }
}

TEST(Contour, TintBesideNothingIsNoEdge) {
  PlateImage plate;
  plate.width = plate.height = 16;
  plate.ink8.assign(256, 0);
  for (int y = 4; y < 12; ++y) {
    for (int x = 4; x < 12; ++x) plate.ink8[static_cast<std::size_t>(y) * 16 + x] = 128;
  }
  const DistanceRows d = contour_distance(plate, 0, 16, 0, 3);
  for (const float v : d.distance) EXPECT_FLOAT_EQ(v, 3.0F);
}

TEST(Contour, ThinLinesAndGapsKeepTheirAreaAndMoveByTheSpread) {
  for (const double angle : {0.0, 0.2, 0.6, 0.7854, 1.2}) {
    const double nx = std::cos(angle), ny = std::sin(angle);
    for (const double width : {0.8, 1.3, 1.9, 2.6}) {
      for (const double spread : {0.0, 0.5}) {
        for (const bool gap : {false, true}) {
          SCOPED_TRACE("angle " + std::to_string(angle) + " width " + std::to_string(width) + " spread " +
                       std::to_string(spread) + (gap ? " gap" : " line"));
          const PlateImage plate = plate_of(64, 16, [&](double x, double y) {
            return (std::abs((x - 31.7) * nx + (y - 31.2) * ny) < width / 2) != gap;
          });
          const DistanceRows d = contour_distance(plate, 0, 64, spread, 4);
          // Along the rows (steep lines: the columns) in the middle, where the line is width / |n| wide.
          const bool rows = std::abs(nx) > std::abs(ny);
          double area = 0;
          for (int j = 16; j < 48; ++j) {
            for (int i = 0; i < 64; ++i) {
              const std::size_t at =
                  rows ? static_cast<std::size_t>(j) * 64 + i : static_cast<std::size_t>(i) * 64 + j;
              const double c = std::clamp(0.5 - static_cast<double>(d.distance[at]), 0.0, 1.0);
              area += gap ? 1 - c : c;
            }
          }
          const double found = area / 32 * std::max(std::abs(nx), std::abs(ny));
          EXPECT_NEAR(found, std::max(0.0, width + (gap ? -2 : 2) * spread), 0.2);  // 17 um at 300 per inch
        }
      }
    }
  }
}

TEST(Contour, FaintLinesGoAndNothingJumps) {
  // Lines of 1 to 4 pixels at rising tone, moved by half a pixel: what prints rises with the tone, is
  // symmetrical, and starts from nothing.
  for (const int pixels : {1, 2}) {
    double last = 0;
    for (int value = 1; value <= 255; ++value) {
      PlateImage plate;
      plate.width = 24;
      plate.height = 16;
      plate.ink8.assign(plate.pixels(), 0);
      for (int y = 0; y < 16; ++y) {
        for (int i = 0; i < pixels; ++i)
          plate.ink8[static_cast<std::size_t>(y) * 24 + 10 + i] = static_cast<std::uint8_t>(value);
      }
      const DistanceRows d = contour_distance(plate, 0, 16, 0.5, 3);
      const auto cover = [&](int x) {
        const std::size_t at = 8 * 24 + static_cast<std::size_t>(x);
        return d.tint[at] ? 0 : std::clamp(0.5 - static_cast<double>(d.distance[at]), 0.0, 1.0);
      };
      double printed = 0;
      for (int x = 5; x < 20; ++x) printed += cover(x);
      for (int i = 0; i < 4; ++i)
        ASSERT_NEAR(cover(10 - i), cover(9 + pixels + i), 1e-6) << pixels << " at " << value;
      ASSERT_GE(printed, last - 1e-6) << pixels << " pixels at " << value;
      ASSERT_LE(printed - last, 0.06) << pixels << " pixels at " << value;
      if (value < 0.12 * 255) {
        ASSERT_EQ(printed, 0) << pixels << " at " << value;
      }
      last = printed;
    }
    EXPECT_NEAR(last, pixels + 1, 0.02);
  }
}

TEST(Contour, NearHoldsAllThatCutPixelsAndTheirNeighboursAreAsked) {
  // A disc with a hole, thin lines and thin gaps, in a box whose blocks are cut off on both sides.
  const PlateImage plate = plate_of(96, 8, [](double x, double y) {
    return (std::hypot(x - 40, y - 40) < 30 && std::hypot(x - 50, y - 34) > 9 &&
            std::fmod(x + 0.3 * y, 11) > 0.5) ||
           (x > 70 && std::fmod(y + 0.2 * x, 9) < 0.6);
  });
  const PixelBox box{13, 5, 75, 80};
  for (const double spread : {-0.6, 0.0, 0.53}) {
    const DistanceRows all = contour_distance(plate, box, spread, 3);
    ContourScratch scratch;
    DistanceRows near;
    near.distance.assign(96 * 96, -77.0F);  // of another box
    near.tint.assign(96 * 96, 9);
    contour_distance(plate, box, spread, 3, ContourPieces::overlapping, scratch, near, DistanceFill::near);
    ASSERT_EQ(near.near, all.near);
    const std::size_t blocks = near_blocks(box.x0, box.width);
    const auto is_near = [&](int x, int y) {
      return near.near[static_cast<std::size_t>(y) * blocks + near_block_of(box.x0, x)] != 0;
    };
    int cut = 0, far = 0;
    for (int y = 0; y < box.rows; ++y) {
      for (int x = 0; x < box.width; ++x) {
        const std::size_t i = static_cast<std::size_t>(y * box.width + x);
        far += !is_near(x, y);
        if (is_near(x, y)) {
          ASSERT_EQ(near.distance[i], all.distance[i]) << x << ',' << y;
          ASSERT_EQ(near.tint[i], all.tint[i]) << x << ',' << y;
        }
        if (std::abs(all.distance[i]) >= 0.5F) continue;
        ++cut;
        for (int v = std::max(0, y - 1); v <= std::min(box.rows - 1, y + 1); ++v) {
          for (int u = std::max(0, x - 1); u <= std::min(box.width - 1, x + 1); ++u)
            ASSERT_TRUE(is_near(u, v)) << u << ',' << v << " beside " << x << ',' << y;
        }
      }
    }
    EXPECT_GT(cut, 200);
    EXPECT_GT(far, 200);
  }
}

TEST(Contour, RowsAreTheSameInAnyPiece) {
  const PlateImage plate = plate_of(64, 8, [](double x, double y) {
    return std::hypot(x - 30, y - 33) < 20 && std::hypot(x - 36, y - 30) > 7 &&
           std::fmod(x + 0.3 * y, 9) > 0.8;
  });
  const DistanceRows whole = contour_distance(plate, 0, 64, 0.53, 4);
  for (const int rows : {1, 7, 16}) {
    for (int y0 = -rows; y0 < 64; y0 += rows) {
      const DistanceRows piece = contour_distance(plate, y0, rows, 0.53, 4);
      for (int y = std::max(0, y0); y < std::min(64, y0 + rows); ++y) {
        for (int x = 0; x < 64; ++x) {
          const auto i = static_cast<std::size_t>(y - y0) * 64 + x, j = static_cast<std::size_t>(y) * 64 + x;
          ASSERT_EQ(piece.distance[i], whole.distance[j])
              << rows << " rows from " << y0 << " at " << x << ',' << y;
          ASSERT_EQ(piece.tint[i], whole.tint[j]);
        }
      }
    }
  }
}

}  // namespace
}  // namespace kirtle
