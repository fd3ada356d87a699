#include "screen/threshold.h"

#include "screen/dot_shapes.h"
#include "screen/dot_spread.h"
#include "screen/low_frequency.h"
#include "screen/noise_dots.h"
#include "screen/threshold_row.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <gtest/gtest.h>
#include <numbers>
#include <opencv2/core.hpp>
#include <random>
#include <set>
#include <sstream>

namespace kirtle {
namespace {

using test::low_frequency_rms;

using test::kShapes;
constexpr double kTones[] = {0.05, 0.3, 0.5, 0.62, 0.8, 0.95};

HalftoneScreen screen(DotShape shape, double angle, double lpi = 55) {
  HalftoneScreen h;
  h.lpi = lpi;
  h.angle_deg = angle;
  h.shape = shape;
  return h;
}

double even(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
}

TEST(Threshold, OfManyPointsAtOnceAsOneByOne) {
  std::mt19937 random(7);
  std::vector<double> u, v;
  for (int i = 0; i < 50001; ++i) {
    u.push_back(even(random, -40, 40));
    v.push_back(even(random, -40, 40));
  }
  for (const double side : {-1.5, -0.5, 0.0, 0.25, 0.5, 1.0}) {
    for (const double other : {-0.5, 0.0, 0.5}) {
      u.push_back(side);
      v.push_back(other);
    }
  }
  std::vector<double> many(u.size());
  for (const DotShape shape : kShapes) {
    dot_thresholds(shape, u, v, many);
    const ThresholdRange rough = rough_thresholds(shape);
    std::size_t in_rough = 0;
    for (std::size_t i = 0; i < u.size(); ++i) {
      const double one = dot_threshold(shape, u[i], v[i]);
      if (rough.holds(one)) {
        ++in_rough;
        EXPECT_NEAR(many[i], one, kThresholdError) << u[i] << ' ' << v[i];
        EXPECT_TRUE(rough.holds(many[i]));
      } else {
        EXPECT_EQ(many[i], one) << u[i] << ' ' << v[i];
      }
    }
    EXPECT_LT(in_rough, u.size() / 2);
  }
}

/// Thresholds of a screen on a square of 100 periods, from a corner of its own.
std::vector<float> raster(const HalftoneScreen& h, double per_inch, double x0, double y0, int& side) {
  side = static_cast<int>(100 / h.lpi * per_inch);
  const ScreenAxes axes(h);
  std::vector<float> out;
  out.reserve(static_cast<std::size_t>(side) * side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const double mx = x0 + x * kMmPerInch / per_inch, my = y0 + y * kMmPerInch / per_inch;
      out.push_back(static_cast<float>(dot_threshold(h.shape, axes.u(mx, my), axes.v(mx, my))));
    }
  }
  return out;
}

double share_below(const std::vector<float>& t, double level) {
  return static_cast<double>(std::count_if(t.begin(), t.end(), [&](float v) { return v < level; })) /
         static_cast<double>(t.size());
}

// Truth: the tone asked for. Within 0.2 % of the area on a square of 100 periods, at any angle.
TEST(Threshold, CoversTheAskedShareAtAnyAngle) {
  std::mt19937 random(1);
  double worst = 0;
  for (int run = 0; run < 20; ++run) {
    const double angle = even(random, -90, 90);
    for (const DotShape shape : kShapes) {
      for (const double per_inch : {1200.0, 2400.0}) {
        if (per_inch > 2000 && static_cast<int>(shape) != run % 5) continue;  // each shape at four angles
        int side = 0;
        const std::vector<float> t =
            raster(screen(shape, angle), per_inch, even(random, 0, 300), even(random, 0, 300), side);
        for (const double tone : kTones) {
          const double error = share_below(t, tone) - tone;
          worst = std::max(worst, std::abs(error));
          EXPECT_NEAR(error, 0, 0.002) << static_cast<int>(shape) << ' ' << angle << ' ' << tone;
        }
      }
    }
  }
  RecordProperty("worst_percent", std::to_string(100 * worst));
}

TEST(Threshold, RepeatsAndMirrorsAndStaysBelowOne) {
  std::mt19937 random(3);
  for (int i = 0; i < 2000; ++i) {
    const DotShape shape = kShapes[i % 5];
    const double u = even(random, -0.5, 0.5), v = even(random, -0.5, 0.5);
    const double t = dot_threshold(shape, u, v);
    EXPECT_GE(t, 0);
    EXPECT_LT(t, 1);
    EXPECT_NEAR(dot_threshold(shape, u + 7, v - 12), t, 1e-12);
    EXPECT_NEAR(dot_threshold(shape, -u, v), t, 1e-12);
    EXPECT_NEAR(dot_threshold(shape, u, -v), t, 1e-12);
    if (shape == DotShape::inverting) {
      EXPECT_NEAR(dot_threshold(shape, u + 0.5, v + 0.5), 1 - t, 2e-7);
    }
  }
  EXPECT_LT(dot_threshold(DotShape::round, 0.5, 0.5), 1);
}

TEST(Threshold, RoundDotsAreCirclesAtEveryTone) {
  for (const double r : {0.1, 0.3, 0.45, 0.5, 0.6, 0.69}) {
    const double t =
        dot_threshold(DotShape::round, r <= 0.5 ? r : 0.5, r <= 0.5 ? 0 : std::sqrt(r * r - 0.25));
    for (int i = 0; i < 40; ++i) {
      const double u = r * std::cos(i * 0.04), v = r * std::sin(i * 0.04);
      if (std::max(u, v) <= 0.5) {
        EXPECT_NEAR(dot_threshold(DotShape::round, u, v), t, 1e-9) << r << ' ' << i;
      }
    }
  }
}

// The angle turns anticlockwise as seen, y downward: at 30 degrees u rises to the right and up.
TEST(ScreenAxes, TurnsAnticlockwiseAsSeen) {
  const ScreenAxes axes(screen(DotShape::line, 30, 25.4));
  EXPECT_NEAR(axes.u(1, 0), std::sqrt(0.75), 1e-12);
  EXPECT_NEAR(axes.v(1, 0), 0.5, 1e-12);
  EXPECT_NEAR(axes.u(0, -1), 0.5, 1e-12);
  EXPECT_NEAR(axes.v(0, 1), std::sqrt(0.75), 1e-12);
}

double inked_share(const ToneSettings& settings, double film, double per_inch = 2400) {
  const PrintedDots dots(settings, 5);
  const int side = static_cast<int>(100 / settings.halftone.lpi * per_inch);
  long ink = 0;
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < side; ++x)
      ink += dots.inked(0.37 + x * kMmPerInch / per_inch, 1.91 + y * kMmPerInch / per_inch, film);
  return static_cast<double>(ink) / side / side;
}

ToneSettings tone(double lpi, double spread_um, double smallest_um = 0, DotShape shape = DotShape::round) {
  ToneSettings s;
  s.halftone = screen(shape, 22.5, lpi);
  s.spread = {spread_um};
  s.smallest_dot = {smallest_um};
  return s;
}

// Truth: closed form by hand for dots apart, and a raster of 8000 x 8000 by a separate script for dots that
// join.
TEST(PrintedDots, MatchTheCheckValuesOfEdgeSpread) {
  EXPECT_NEAR(inked_share(tone(55, 25), 0.30), 0.4143141, 0.002);
  EXPECT_NEAR(inked_share(tone(110, 25), 0.30), 0.5470408, 0.002);
  EXPECT_NEAR(inked_share(tone(55, 30), 0.70), 0.86700, 0.002);
}

// Truth: the tone curve, which is the mean. 6 standard errors of dots that are there or not.
TEST(PrintedDots, AverageToTheToneCurveWhereDotsDropOutAndHolesFill) {
  for (const DotShape shape : {DotShape::round, DotShape::square}) {
    const ToneSettings s = tone(55, 35, 136, shape);
    const ToneCurve curve(s);
    for (const double film : {0.02, 0.05, 0.065, 0.08, 0.2, 0.9, 0.93, 0.96, 0.99}) {
      const DotTone t = dot_tone(s, film);
      const double spread =
          std::sqrt(std::max(t.dots_held * (1 - t.dots_held), t.holes_held * (1 - t.holes_held)));
      EXPECT_NEAR(inked_share(s, film, 1200), curve.printed(film), 0.002 + 6 * spread * 0.2 / 100) << film;
    }
  }
}

TEST(PrintedDots, EachDotIsThereWholeOrNotAtAll) {
  const ToneSettings s = tone(25.4, 0, 330);  // 1 mm periods; the smallest dot is 8.6 %
  ToneSettings flat = s;
  flat.halftone.angle_deg = 0;
  const PrintedDots dots(flat, 9), other(flat, 10);
  const double film = 0.085, r = std::sqrt(film / std::numbers::pi);
  int there = 0, unlike = 0;
  for (int v = 0; v < 40; ++v) {
    for (int u = 0; u < 40; ++u) {
      const bool centre = dots.inked(u, v, film);
      there += centre;
      unlike += centre != other.inked(u, v, film);
      for (int k = 0; k < 8; ++k) {
        const double a = k * std::numbers::pi / 4;
        EXPECT_EQ(dots.inked(u + 0.98 * r * std::cos(a), v + 0.98 * r * std::sin(a), film), centre);
        EXPECT_FALSE(dots.inked(u + 1.02 * r * std::cos(a), v + 1.02 * r * std::sin(a), film));
      }
    }
  }
  EXPECT_NEAR(there / 1600.0, held_share(film, flat.halftone, {330}), 6 * 0.5 / 40);
  EXPECT_GT(unlike, 400);  // another seed loses other dots
}

TEST(PrintedDots, SolidsAndNothingAreThemselves) {
  const PrintedDots dots(tone(55, 45, 136), 1);
  std::mt19937 random(4);
  for (int i = 0; i < 500; ++i) {
    const double x = even(random, 0, 300), y = even(random, 0, 300);
    EXPECT_TRUE(dots.inked(x, y, 1));
    EXPECT_FALSE(dots.inked(x, y, 0));
  }
}

// What the header says of shapes that do not keep theirs: area that lies elsewhere than the moved edge puts
// it.
TEST(PrintedDots, KeepTheirShapeCloseToTheMovedEdge) {
  const double spread = 45 * 55 / kUmPerInch;
  for (const DotShape shape : kShapes) {
    double worst = 0;
    for (const double film : {0.1, 0.3, 0.5, 0.7}) {
      const double level = spread_coverage(shape, film, spread);
      int elsewhere = 0;
      constexpr int n = 100;
      for (int y = 0; y < n; ++y) {
        for (int x = 0; x < n; ++x) {
          const double u = (x + 0.5) / (2 * n), v = (y + 0.5) / (2 * n);
          bool moved = dot_threshold(shape, u, v) < film;
          for (int d = 0; d < 72 && !moved; ++d) {
            const double a = 2 * std::numbers::pi * d / 72;
            for (const double reach : {0.5, 1.0})
              moved = moved || dot_threshold(shape, u + reach * spread * std::cos(a),
                                             v + reach * spread * std::sin(a)) < film;
          }
          elsewhere += moved != (dot_threshold(shape, u, v) < level);
        }
      }
      worst = std::max(worst, static_cast<double>(elsewhere) / (n * n));
    }
    RecordProperty("shape_" + std::to_string(static_cast<int>(shape)) + "_percent",
                   std::to_string(100 * worst));
    EXPECT_LT(worst, shape == DotShape::inverting ? 0.12 : 0.02) << static_cast<int>(shape);
  }
}

// The shapes are compiled here and in shaders from one text: nothing that GLSL 3.30 does not have may creep
// in.
TEST(Threshold, TheSharedTextHasNothingButWhatGlslHasToo) {
  std::ifstream file(std::string(KIRTLE_SOURCE_DIR) + "/sim/screen/threshold.inl");
  std::ostringstream text;
  text << file.rdbuf();
  std::string code;
  std::istringstream lines(text.str());
  for (std::string line; std::getline(lines, line);) code += line.substr(0, line.find("//")) + '\n';
  ASSERT_GT(code.size(), 1000u);
  for (const char* word : {"std", "::", "double", "float", "const", "static", "auto", "&)", "->", "[",
                           "template", "#", "'", "\""}) {
    EXPECT_EQ(code.find(word), std::string::npos) << word;
  }
  const std::set<std::string> known{"FUNC",
                                    "REAL",
                                    "UINT",
                                    "int",
                                    "bool",
                                    "if",
                                    "else",
                                    "return",
                                    "sqrt",
                                    "asin",
                                    "abs",
                                    "floor",
                                    "min",
                                    "max",
                                    "kirtle_ellipse_area",
                                    "kirtle_threshold",
                                    "kirtle_dot_chance"};
  for (std::size_t i = 0; i < code.size(); ++i) {
    if (code[i] != '(' || i == 0 || !(std::isalnum(static_cast<unsigned char>(code[i - 1])) != 0)) continue;
    std::size_t from = i;
    while (from > 0 &&
           (std::isalnum(static_cast<unsigned char>(code[from - 1])) != 0 || code[from - 1] == '_'))
      --from;
    EXPECT_TRUE(known.contains(code.substr(from, i - from))) << code.substr(from, i - from);
  }
}

TEST(NoiseTile, HasEveryThresholdOnceAndRepeats) {
  const NoiseTile& tile = NoiseTile::instance();
  constexpr int n = NoiseTile::kSide;
  std::set<double> values;
  for (int y = 0; y < n; ++y)
    for (int x = 0; x < n; ++x) values.insert(tile.at(x, y));
  EXPECT_EQ(values.size(), static_cast<std::size_t>(n) * n);
  EXPECT_GT(*values.begin(), 0);
  EXPECT_LT(*values.rbegin(), 1);
  EXPECT_EQ(tile.at(-1, -1), tile.at(n - 1, n - 1));
  EXPECT_EQ(tile.at(n + 3, 5), tile.at(3, 5));
}

// Against white noise of the same tone, whose energy is even over all frequencies.
TEST(NoiseDots, CoverTheToneWithLittleEnergyInTheLowFrequencies) {
  std::mt19937 random(6);
  for (const double film : {0.1, 0.3, 0.5, 0.8}) {
    constexpr int n = 512;  // one sample a dot of 100 um
    cv::Mat blue(n, n, CV_32F), white(n, n, CV_32F);
    for (int y = 0; y < n; ++y) {
      for (int x = 0; x < n; ++x) {
        blue.at<float>(y, x) = noise_inked(0.1 * x + 0.05, 0.1 * y + 0.05, film, {100});
        white.at<float>(y, x) = even(random, 0, 1) < film;
      }
    }
    EXPECT_NEAR(cv::mean(blue)[0], film, 1.0 / (NoiseTile::kSide * NoiseTile::kSide));
    // Below a tenth of the sampling rate.
    const double b = low_frequency_rms(blue, 0.1 * n), w = low_frequency_rms(white, 0.1 * n);
    RecordProperty("blue_over_white_" + std::to_string(static_cast<int>(100 * film)), std::to_string(b / w));
    EXPECT_LT(b, 0.3 * w) << film;
  }
}

}  // namespace
}  // namespace kirtle
