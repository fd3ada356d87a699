// Contours moved: places by area against shapes in closed form, at every resolution, in both polarities.
#include "plate/reshape/contours.h"

#include "base/check.h"
#include "reshape/shapes.h"

#include <gtest/gtest.h>
#include <limits>
#include <numbers>
#include <random>
#include <stdexcept>

namespace kirtle {
namespace {

using namespace test;

struct Outline {
  const char* name;
  Shape shape;
  double length;  // mm, of its moved outline
};

/// A shape moved outward by t, and the place and turn drawn from a seed.
std::vector<Outline> outlines(unsigned seed, double t) {
  std::mt19937 random(seed);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0; };
  const double cx = 4 + 0.2 * unit(), cy = 4 + 0.2 * unit(), turn = 3.2 * unit();
  const double out = std::max(t, 0.0), in = std::min(t, 0.0);
  std::vector<Outline> all;
  for (const double r : {0.6, 1.1, 2.7}) {
    all.push_back({"disc", disc(cx, cy, r + t), 2 * std::numbers::pi * (r + t)});
  }
  // Outward the corners come out round, inward sharp.
  for (const auto& [hx, hy] : {std::pair{2.5, 0.5}, std::pair{2.0, 0.75}, std::pair{1.8, 1.6}}) {
    all.push_back({"bar", box(cx, cy, hx + in, hy + in, turn, out),
                   4 * (hx + hy + 2 * in) + 2 * std::numbers::pi * out});
  }
  return all;
}

TEST(MoveContours, PlacesWithinTenMicrometresAtEveryResolution) {
  double worst = 0;
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const int bits : {8, 16}) {
      for (const double t : {-0.3, -0.15, -0.045, 0.045, 0.15, 0.3}) {
        for (unsigned seed = 1; seed <= 3; ++seed) {
          const std::vector<Outline> from = outlines(seed, 0), to = outlines(seed, t);
          for (std::size_t k = 0; k < from.size(); ++k) {
            for (const bool hole : {false, true}) {
              SCOPED_TRACE(std::string(from[k].name) + " " + std::to_string(k) + " ppi " +
                           std::to_string(ppi) + " t " + std::to_string(t) + " bits " + std::to_string(bits) +
                           (hole ? " hole" : ""));
              const auto plate = drawn(kSide, ppi, bits, hole ? outside(from[k].shape) : from[k].shape);
              const auto got = move_contours(plate, {hole ? -t : t}, ppi);
              const auto wanted = drawn(kSide, ppi, bits, hole ? outside(to[k].shape) : to[k].shape);
              const double mean = (area_mm2(got.plate) - area_mm2(wanted)) / to[k].length;
              EXPECT_LT(std::abs(mean), kWithin);
              worst = std::max(worst, std::abs(mean));
              // Smooth outlines quarter by quarter too, so that errors at one side do not make up for others.
              for (int quarter = 0; quarter < 4 && k < 3; ++quarter) {
                const auto part = [&](double x, double y) {
                  return (x < 4.1) == (quarter % 2 == 0) && (y < 4.1) == (quarter < 2);
                };
                const double off = (area_mm2(got.plate, part) - area_mm2(wanted, part)) / (to[k].length / 4);
                EXPECT_LT(std::abs(off), kWithin);
                worst = std::max(worst, std::abs(off));
              }
            }
          }
        }
      }
    }
  }
  RecordProperty("worst_um", std::to_string(1000 * worst));
  std::printf("worst place of a contour: %.2f um off\n", 1000 * worst);
}

TEST(MoveContours, SpreadThenChokeReturns) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const Outline& o : outlines(5, 0)) {
      const auto plate = drawn(kSide, ppi, 8, o.shape);
      const auto back = move_contours(move_contours(plate, {0.2}, ppi).plate, {-0.2}, ppi);
      EXPECT_LT(std::abs(area_mm2(back.plate) - area_mm2(plate)) / o.length, kWithin) << o.name << ' ' << ppi;
      EXPECT_LT(back.change.share(), 1.0);
    }
  }
}

TEST(MoveContours, TintsAndNothingStay) {
  auto plate = field(kSide, 300, 8, [](double x, double) { return std::clamp(x / 8, 0.05, 0.95); });
  EXPECT_EQ(move_contours(plate, {0.3}, 300).plate.ink8, plate.ink8);
  EXPECT_EQ(move_contours(plate, {-0.3}, 300).plate.ink8, plate.ink8);
  EXPECT_TRUE(move_contours(plate, {-0.3}, 300).change.none());
}

TEST(MoveContours, WiderSpreadNeverHasLessInk) {
  const auto plate = drawn(kSide, 300, 16, either(disc(3, 3, 1.2), box(5, 5, 1.5, 0.2, 0.7)));
  PlateImage last;
  for (const double t : {-0.4, -0.2, -0.1, 0.0, 0.1, 0.2, 0.4}) {
    const PlateImage now = move_contours(plate, {t}, 300).plate;
    for (std::size_t i = 0; !last.ink16.empty() && i < now.pixels(); ++i) {
      ASSERT_GE(now.ink16[i] + 655, last.ink16[i])
          << "pixel " << i << " t " << t;  // a hundredth: rounding of places
    }
    last = now;
  }
}

TEST(MoveContours, BytesDoNotDependOnThreads) {
  const auto plate = drawn(kSide, 600, 8, either(disc(3, 3, 1.2), box(5, 5, 1.5, 0.2, 0.7)));
  EXPECT_EQ(move_contours(plate, {0.2}, 600, 1).plate.ink8, move_contours(plate, {0.2}, 600, 3).plate.ink8);
  EXPECT_EQ(choke_keeping_type(plate, {0.15}, 600, {0.7}, 1).plate.ink8,
            choke_keeping_type(plate, {0.15}, 600, {0.7}, 3).plate.ink8);
}

TEST(MoveContours, LimitsAreSaid) {
  const auto plate = drawn(1, 600, 8, disc(0.5, 0.5, 0.3));
  EXPECT_NO_THROW(move_contours(plate, {2.53}, 600));
  try {
    move_contours(plate, {2.55}, 600);
    FAIL();
  } catch (const std::domain_error& e) {
    EXPECT_STREQ(e.what(),
                 "movement of contours is 2.55 mm; at 600 pixels per inch it must be -2.54 to 2.54 mm");
  }
  EXPECT_THROW(move_contours(plate, {std::numeric_limits<double>::quiet_NaN()}, 600), std::domain_error);
  EXPECT_THROW(move_contours(plate, {0.1}, 0), InternalError);
  EXPECT_THROW(choke_keeping_type(plate, {-0.1}, 600), std::domain_error);
}

TEST(MoveContours, DotsStayDots) {
  auto plate = drawn(2, 600, 8, disc(1.013, 0.991, 0.5));
  for (auto& v : plate.ink8) v = v < 128 ? 0 : 255;
  plate.dots = true;
  const auto got = move_contours(plate, {0.1}, 600).plate;
  for (const auto v : got.ink8) EXPECT_TRUE(v == 0 || v == 255);
  // A contour of dots is known to half a pixel.
  EXPECT_NEAR(area_mm2(got), std::numbers::pi * 0.36, 2 * std::numbers::pi * 0.6 * 0.5 * kMmPerInch / 600);
}

/// Width of a bar across its middle, by area.
double width_at(const PlateImage& p, double cx, double cy, double turn, double half_length) {
  const Shape window = box(cx, cy, half_length, 2, turn);
  // Weighted by the window's own soft edge, so that its place among the pixels does not matter.
  const double mm = kMmPerInch / p.ppi;
  double sum = 0, length = 0;
  for (int y = 0; y < p.height; ++y) {
    for (int x = 0; x < p.width; ++x) {
      const double px = (x + 0.5) * mm, py = (y + 0.5) * mm;
      const double along = std::abs(std::cos(turn) * (px - cx) + std::sin(turn) * (py - cy));
      const double w = std::clamp((half_length - along) / (0.5 * half_length), 0.0, 1.0);
      sum += w * p.film(x, y);
      length = 1.5 * half_length;
    }
  }
  return sum * mm * mm / length;
}

TEST(ChokeKeepingType, WidthsNeverFallBelowWhatIsKept) {
  const double choke = 0.15, keep = 0.7;
  double worst = 0;
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const double turn : {0.0, 0.31, 0.785, 1.2, 1.5708}) {
      for (const double width : {0.25, 0.4, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.6}) {
        SCOPED_TRACE("ppi " + std::to_string(ppi) + " turn " + std::to_string(turn) + " width " +
                     std::to_string(width));
        const auto plate = drawn(kSide, ppi, 8, box(4.03, 4.07, 2.5, width / 2, turn));
        const auto got = choke_keeping_type(plate, {choke}, ppi, {keep});
        const double wanted = std::max(width - 2 * choke, std::min(width, keep));
        const double off = width_at(got.plate, 4.03, 4.07, turn, 1.2) - wanted;
        EXPECT_LT(std::abs(off), 2 * kWithin);
        worst = std::max(worst, std::abs(off));
      }
    }
  }
  std::printf("worst width after a choke that keeps type: %.2f um off\n", 1000 * worst);
}

TEST(ChokeKeepingType, StrokesStayJoinedToWhatIsThickAndCornersAreChoked) {
  const double ppi = 300;
  const Shape body = box(3, 4, 1.5, 1.5, 0), stroke = box(5.5, 4, 1.5, 0.1, 0);
  const auto got = choke_keeping_type(drawn(kSide, ppi, 8, either(body, stroke)), {0.2}, ppi).plate;
  for (double x = 4.0; x < 6.8; x += 0.05) {
    const auto at = [&](double mm) { return static_cast<int>(mm / kMmPerInch * ppi); };
    EXPECT_GT(got.film(at(x), at(4.0)), 0.95) << "gap at " << x;
  }
  // The body's own corners are gone by the choke.
  const auto square = choke_keeping_type(drawn(kSide, ppi, 8, body), {0.2}, ppi).plate;
  EXPECT_NEAR(area_mm2(square), 2.6 * 2.6, 4 * 2.6 * kWithin);
  const auto corner = [](double x, double y) { return x < 1.6 && y < 2.7; };
  EXPECT_EQ(area_mm2(square, corner), 0);
}

TEST(ChokeKeepingType, SmallDotsStay) {
  const auto plate = drawn(2, 300, 8, disc(1.01, 0.98, 0.3));
  EXPECT_NEAR(area_mm2(choke_keeping_type(plate, {0.2}, 300).plate), area_mm2(plate), 0.001);
}

TEST(WhereFilmReaches, StepsStayAndRampsAreCutAtTheLevel) {
  for (const double ppi : {150.0, 300.0, 600.0}) {
    for (const int bits : {8, 16}) {
      for (const double turn : {0.0, 0.4, 0.785, 2.0}) {
        SCOPED_TRACE("ppi " + std::to_string(ppi) + " turn " + std::to_string(turn));
        const double c = std::cos(turn), s = std::sin(turn);
        const auto along = [=](double x, double y) { return c * (x - 4.02) + s * (y - 4.05); };
        const auto inside = [](double x, double y) { return std::hypot(x - 4.02, y - 4.05) < 3; };
        // A step from 30 % to solid, from nothing to 95 %, and from nothing to solid.
        const auto edge = drawn(kSide, ppi, bits, [=](double x, double y) { return along(x, y); });
        const double half = area_mm2(edge, inside);
        auto step = edge, high = edge;
        for (int y = 0; y < edge.height; ++y) {
          for (int x = 0; x < edge.width; ++x) {
            put(step, x, y, 0.3 + 0.7 * edge.film(x, y));
            put(high, x, y, 0.95 * edge.film(x, y));
          }
        }
        for (const PlateImage& p : {edge, step, high})
          EXPECT_LT(std::abs(area_mm2(where_film_reaches(p, 0.88), inside) - half) / 6, kWithin);
        // Ramps too long for a soft edge (contour.h): the level lies where it is.
        for (const double ramp : {2.5, 1.6}) {
          const auto soft =
              field(kSide, ppi, bits, [&](double x, double y) { return 0.5 - along(x, y) / ramp; });
          const auto wanted =
              drawn(kSide, ppi, 16, [&](double x, double y) { return along(x, y) + 0.38 * ramp; });
          EXPECT_LT(std::abs(area_mm2(where_film_reaches(soft, 0.88), inside) - area_mm2(wanted, inside)) / 6,
                    kWithin)
              << "ramp " << ramp;
        }
      }
    }
  }
}

TEST(WhereFilmReaches, IsItsOwnMask) {
  const auto plate = drawn(kSide, 300, 16, either(disc(3, 3, 1.2), box(5, 5, 1.5, 0.4, 0.7)));
  const auto once = where_film_reaches(plate, 0.5);
  EXPECT_EQ(where_film_reaches(once, 0.5).ink16, once.ink16);
  EXPECT_LT(worst_difference(once, plate), 0.005);
}

}  // namespace
}  // namespace kirtle
