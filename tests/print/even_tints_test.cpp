// Tints under the loupe are even: the right coverage, and no beat of the dots against the device's raster.
#include "base/parallel.h"
#include "plate/plate_image.h"
#include "print/loupe_plate.h"
#include "screen/low_frequency.h"

#include <cmath>
#include <cstdlib>
#include <gtest/gtest.h>
#include <map>
#include <random>

namespace kirtle {
namespace {

constexpr DotShape kShapes[] = {DotShape::round, DotShape::elliptical, DotShape::inverting, DotShape::line,
                                DotShape::square};
constexpr const char* kShapeNames[] = {"round", "elliptical", "inverting", "line", "square"};
constexpr double kTones[] = {0.5, 0.1, 0.75, 0.25, 0.9};
constexpr double kLines[] = {55, 65, 45};

double even(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
}

struct Evenness {
  double error = 0;  ///< of the coverage
  double beat = 0;   ///< below half the screen's frequency
};

/// 100 x 100 periods of a tint, or a few device pixels more where that transforms faster.
Evenness evenness(const HalftoneScreen& halftone, double tone, double per_inch,
                  DotRaster dots = DotRaster::counted) {
  const int n = cv::getOptimalDFTSize(static_cast<int>(std::lround(100 * per_inch / halftone.lpi)));
  PlateImage plate;
  plate.width = plate.height = static_cast<int>(n / per_inch * 100) + 20;
  plate.bits = 16;
  plate.ink16.assign(static_cast<std::size_t>(plate.width) * static_cast<std::size_t>(plate.height),
                     static_cast<std::uint16_t>(std::lround(65535 * tone)));
  CoverSettings settings;
  settings.tone.halftone = halftone;
  settings.tone.spread = {0};
  const PlateCover cover(plate, 100, settings);
  const LoupePlate loupe(cover, 1, dots);
  const double pitch = kMmPerInch / per_inch;
  const DeviceRaster raster{2.1, 2.3, pitch};
  constexpr int kTile = 400;
  cv::Mat pattern(n, n, CV_32F);
  for (int y = 0; y < n; y += kTile) {
    const int rows = std::min(kTile, n - y);
    const PlateBand band = loupe.band(raster, {0, y, n, rows});
    for (int x = 0; x < n; x += kTile) {
      const DeviceRect rect{x, y, std::min(kTile, n - x), rows};
      std::vector<std::uint8_t> states(rect.pixels());
      loupe.states(band, raster, rect, states);
      for (int i = 0; i < static_cast<int>(states.size()); ++i) {
        const bool ink = (states[static_cast<std::size_t>(i)] & kDeviceInk) != 0;
        pattern.at<float>(y + i / rect.width, x + i % rect.width) = ink ? 1.0F : 0.0F;
      }
    }
  }
  const double asked = plate.ink16[0] / 65535.0;
  const int whole = static_cast<int>(std::lround(100 * per_inch / halftone.lpi));
  return {cv::mean(pattern(cv::Rect(0, 0, whole, whole)))[0] - asked,
          test::low_frequency_rms(pattern, 0.5 * n * halftone.lpi / per_inch)};
}

struct Sum {
  double squares = 0, worst = 0, worst_error = 0;
  int n = 0, over = 0;
  void add(const Evenness& e) {
    squares += e.beat * e.beat;
    worst = std::max(worst, e.beat);
    worst_error = std::max(worst_error, std::abs(e.error));
    over += e.beat >= 0.003;
    ++n;
  }
};

class EvenTints : public testing::TestWithParam<int> {
 protected:
  /// With KIRTLE_ALL_SCREENS set every shape at every angle, tone and line count; otherwise two or three
  /// shapes at each angle (at 2400 one) with the tones and line counts in turn.
  void run(double per_inch, const std::vector<double>& angles) {
    const bool all = std::getenv("KIRTLE_ALL_SCREENS") != nullptr, fine = per_inch > 2000;
    struct Screen {
      int shape;
      double tone;
      HalftoneScreen halftone;
    };
    std::vector<Screen> screens;
    int turn = 0;
    for (std::size_t a = 0; a < angles.size(); ++a) {
      for (std::size_t s = 0; s < std::size(kShapes); ++s) {
        if (!all && s % (fine ? 5 : 2) != a % (fine ? 5 : 2)) continue;
        for (std::size_t k = 0; k < std::size(kTones) * std::size(kLines); ++k) {
          if (!all && static_cast<int>(k) != turn % 15) continue;
          HalftoneScreen h;
          h.shape = kShapes[s];
          h.angle_deg = angles[a];
          h.lpi = kLines[k % std::size(kLines)];
          screens.push_back({static_cast<int>(s), kTones[k % std::size(kTones)], h});
        }
        turn += a % std::size(kShapes) == 4 ? 2 : 1;  // so that no shape keeps to few tones
      }
    }
    std::vector<Evenness> found(screens.size());
    parallel_for(screens.size(), 0, [&](std::size_t i, unsigned) {
      found[i] = evenness(screens[i].halftone, screens[i].tone, per_inch);
    });
    std::map<std::string, Sum> sums;
    for (std::size_t i = 0; i < screens.size(); ++i) {
      const auto& [shape, tone, h] = screens[i];
      sums[kShapeNames[shape]].add(found[i]);
      sums["all"].add(found[i]);
      EXPECT_NEAR(found[i].error, 0, 0.002)
          << kShapeNames[shape] << ' ' << h.angle_deg << ' ' << h.lpi << ' ' << tone;
      EXPECT_LT(found[i].beat, 0.003)
          << kShapeNames[shape] << ' ' << h.angle_deg << ' ' << h.lpi << ' ' << tone;
    }
    for (const auto& [name, sum] : sums) {
      std::printf(
          "%g per inch, %s: beat %.3f %% rms, %.3f %% at worst, %d of %d over; coverage off by %.3f %%\n",
          per_inch, name.c_str(), 100 * std::sqrt(sum.squares / sum.n), 100 * sum.worst, sum.over, sum.n,
          100 * sum.worst_error);
      RecordProperty(name + "_worst_percent", std::to_string(100 * sum.worst));
    }
  }
};

// Asked: coverage within 0.2 % of the tone, and under 0.3 % below half the screen's frequency, for every
// shape and angle, on 100 x 100 periods.
TEST_P(EvenTints, CoverWhatIsAskedAndShowNoBeat) {
  std::mt19937 random(7);
  std::vector<double> angles;
  const bool some = GetParam() > 2000 && std::getenv("KIRTLE_ALL_SCREENS") == nullptr;
  for (int i = 0; i < (some ? 7 : 20); ++i) angles.push_back(even(random, -90, 90));
  run(GetParam(), angles);
}

// Where whole edges fall into the same row, and where a screen runs along the raster's diagonals.
TEST_P(EvenTints, AlsoAlongTheRastersOwnDirections) {
  if (GetParam() > 2000 && std::getenv("KIRTLE_ALL_SCREENS") == nullptr) {
    run(GetParam(), {0, 45});
  } else {
    run(GetParam(), {0, 0.5, 1.5, 45});
  }
}

INSTANTIATE_TEST_SUITE_P(PerInch, EvenTints, testing::Values(1200, 2400),
                         [](const testing::TestParamInfo<int>& per_inch) {
                           return std::to_string(per_inch.param);
                         });

// The measure itself sees a beat, and counting is what removes it.
TEST(EvenTintsMeasure, SeesTheBeatOfDotsThatAreNotCounted) {
  HalftoneScreen h;
  h.shape = DotShape::square;
  h.angle_deg = 27;
  h.lpi = 55;
  const double plain = evenness(h, 0.8, 1200, DotRaster::plain).beat, counted = evenness(h, 0.8, 1200).beat;
  RecordProperty("plain_percent", std::to_string(100 * plain));
  RecordProperty("counted_percent", std::to_string(100 * counted));
  EXPECT_GT(plain, 0.003);
  EXPECT_LT(counted, plain / 2);
}

}  // namespace
}  // namespace kirtle
