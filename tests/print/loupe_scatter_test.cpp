// Scatter under the loupe by few planes against its slow twin, every band by itself with OpenCV's transforms;
// and the parts it is made of.
#include "print/few_directions.h"
#include "print/loupe_prints.h"
#include "print/plain_scatter.h"
#include "print/plane_fourier.h"
#include "print/plane_spread.h"
#include "print/scatter.h"
#include "print/spread_radii.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <opencv2/core.hpp>
#include <random>
#include <string>

namespace kirtle {
namespace {

using demo::GroundKind;
using namespace loupe_test;

class Uniform {
 public:
  explicit Uniform(unsigned seed) : random_(seed) {}
  double operator()() { return static_cast<double>(random_()) / 4294967296.0 - 0.5; }

 private:
  std::mt19937 random_;
};

// Truth: a matrix of rank 3 with a little of a fourth.
TEST(FewDirections, HoldEveryRowWithinTheTolerance) {
  Uniform uniform(1);
  Rows rows(40, 25), base(4, 25);
  for (double& v : base.values) v = uniform();
  for (std::size_t i = 0; i < rows.count; ++i) {
    for (std::size_t r = 0; r < base.count; ++r) {
      const double by = uniform() * (r == 3 ? 1e-4 : 1);
      for (std::size_t k = 0; k < rows.length; ++k) rows[i][k] += by * base[r][k];
    }
  }
  for (const auto& [tolerance, rank] : {std::pair{1e-2, std::size_t{3}}, {1e-7, std::size_t{4}}}) {
    const FewDirections few = few_directions(rows, tolerance);
    ASSERT_EQ(few.pivots.size(), rank);
    for (std::size_t i = 0; i < rows.count; ++i) {
      double left = 0;
      for (std::size_t k = 0; k < rows.length; ++k) {
        double sum = rows[i][k];
        for (std::size_t r = 0; r < rank; ++r) sum -= few.coordinates[i][r] * few.directions[r][k];
        left += sum * sum;
      }
      EXPECT_LE(std::sqrt(left), tolerance + 1e-12) << i;
    }
    const Rows from = directions_from_pivots(few);
    for (std::size_t r = 0; r < rank; ++r) {
      for (std::size_t k = 0; k < rows.length; ++k) {
        double sum = 0;
        for (std::size_t p = 0; p < rank; ++p) sum += from[r][p] * rows[few.pivots[p]][k];
        EXPECT_NEAR(sum, few.directions[r][k], 1e-9);
      }
    }
  }
}

TEST(FewDirections, OfNothingAreNone) {
  EXPECT_TRUE(few_directions(Rows(3, 4), 1e-6).pivots.empty());
  EXPECT_TRUE(few_directions(Rows(0, 4), 1e-6).pivots.empty());
}

TEST(PlaneFourier, SidesAreMultiplesOf16MadeOf2And3And5) {
  EXPECT_EQ(fourier_side(1), 16);
  EXPECT_EQ(fourier_side(16), 16);
  EXPECT_EQ(fourier_side(17), 32);
  EXPECT_EQ(fourier_side(100), 128);  // not 112, which has a 7
  EXPECT_EQ(fourier_side(468), 480);
}

// Truth: OpenCV's transform in double.
TEST(PlaneFourier, IsTheTransform) {
  Uniform uniform(2);
  for (const auto& [width, height] : {std::pair{16, 16}, {48, 80}, {480, 144}, {320, 432}, {96, 400}}) {
    SCOPED_TRACE(std::to_string(width) + " x " + std::to_string(height));
    Plane plane(static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    cv::Mat exact(height, width, CV_64F), spectrum;
    for (std::size_t i = 0; i < plane.size(); ++i) {
      plane[i] = static_cast<float>(uniform());
      exact.ptr<double>()[i] = static_cast<double>(plane[i]);
    }
    cv::dft(exact, spectrum, cv::DFT_COMPLEX_OUTPUT);
    PlaneFourier fourier(width, height);
    Spectrum8 ours;
    fourier.forward(plane, ours);
    const double near = 3e-7 * std::sqrt(static_cast<double>(plane.size()));  // parts of the spectrum's size
    for (int y = 0; y <= height / 2; ++y) {
      for (int x = 0; x < width; ++x) {
        const FourierPair& z = ours[static_cast<std::size_t>(y / 8 * width + x)];
        const auto& truth = spectrum.at<cv::Vec2d>(y, x);
        ASSERT_NEAR(static_cast<double>(z.re[y % 8]), truth[0], 4 * near) << x << ' ' << y;
        ASSERT_NEAR(static_cast<double>(z.im[y % 8]), truth[1], 4 * near) << x << ' ' << y;
      }
    }
    Plane back;
    fourier.inverse(ours, back);
    for (std::size_t i = 0; i < plane.size(); ++i) ASSERT_NEAR(back[i], plane[i], 1e-6);
  }
}

// Closed form: a wave comes back as P makes it.
TEST(PlaneSpread, LeavesOfAWaveWhatTheTransferSays) {
  constexpr int kWidth = 96, kHeight = 80;
  constexpr double kPitch = 21;
  const double radii[] = {12, 90};
  PlaneSpread spread(kWidth, kHeight, kPitch);
  spread.set_radii(radii);
  for (const auto& [kx, ky] : {std::pair{0, 0}, {3, 0}, {0, 7}, {5, 11}, {48, 2}, {20, 40}}) {
    Plane wave;
    for (int y = 0; y < kHeight; ++y)
      for (int x = 0; x < kWidth; ++x)
        wave.push_back(static_cast<float>(
            std::cos(2 * std::numbers::pi *
                     (kx * x / static_cast<double>(kWidth) + ky * y / static_cast<double>(kHeight)))));
    const double frequency = std::hypot(kx / (kWidth * kPitch), ky / (kHeight * kPitch));
    Rows weights(1, 2);
    weights[0][0] = 0.7;
    weights[0][1] = -0.4;
    std::vector<Plane> out(1);
    spread.changes(std::span(&wave, 1), weights, out);
    const double changed =
        0.7 * (scatter_transfer(frequency, 12) - 1) - 0.4 * (scatter_transfer(frequency, 90) - 1);
    Plane whole = wave;
    spread.spread(whole, 90);
    for (std::size_t i = 0; i < wave.size(); ++i) {
      ASSERT_NEAR(out[0][i], changed * static_cast<double>(wave[i]), 2e-6) << kx << ' ' << ky;
      ASSERT_NEAR(whole[i], scatter_transfer(frequency, 90) * static_cast<double>(wave[i]), 2e-6)
          << kx << ' ' << ky;
    }
  }
}

TEST(SpreadRadii, HoldAnyRadiusBetweenThem) {
  for (const double pitch : {5.3, 21.0, 84.0}) {
    std::vector<double> radii;
    for (double r = 8; r < 150; r *= 1.01) radii.push_back(r);
    const SpreadRadii few(radii, pitch);
    EXPECT_LE(few.nodes_um().size(), 10u);
    double worst = 0;
    for (const double r : radii) {
      const std::vector<double> w = few.weights(r);
      for (double f = 0; f < 0.5 * std::numbers::sqrt2 / pitch; f += 0.001 / pitch) {
        double sum = 1;
        for (std::size_t t = 0; t < w.size(); ++t) sum += w[t] * (scatter_transfer(f, few.nodes_um()[t]) - 1);
        worst = std::max(worst, std::abs(sum - scatter_transfer(f, r)));
      }
    }
    RecordProperty("worst_at_" + std::to_string(static_cast<int>(pitch)), std::to_string(worst));
    EXPECT_LT(worst, 3e-4) << pitch;
  }
}

/// Largest dE00 of pixels, and of means over 4 x 4 of them (1200 per inch shown at 300).
struct Apart {
  double pixel = 0, shown = 0;
};
Apart apart(const std::vector<XYZf>& a, const std::vector<XYZf>& b, int width) {
  Apart out;
  const int height = static_cast<int>(a.size()) / width;
  for (std::size_t i = 0; i < a.size(); ++i) out.pixel = std::max(out.pixel, de00(wide(a[i]), wide(b[i])));
  for (int y = 0; y + 4 <= height; y += 4) {
    for (int x = 0; x + 4 <= width; x += 4) {
      XYZ p, q;
      for (int k = 0; k < 16; ++k) {
        const std::size_t i = static_cast<std::size_t>((y + k / 4) * width + x + k % 4);
        p += wide(a[i]) * (1 / 16.0);
        q += wide(b[i]) * (1 / 16.0);
      }
      out.shown = std::max(out.shown, de00(p, q));
    }
  }
  return out;
}

// Everything at once: films, tints, a soaked plate; its tiles with few kinds of pile and with very many.
TEST(LoupeScatter, IsItsSlowTwinOnABusyPrint) {
  const BusyPrint print;
  for (const double at : {4.0, 12.0, 20.0}) {
    const int side = 400;
    const double mm = side * 25.4 / 1200;
    const LoupeWindow window{{at}, {at + 2}, {mm}, {mm}, 1200};
    const Apart e = apart(print.render(window), print.render(window, {.other_scatter = test::add_scatter_plainly}), side);
    RecordProperty("pixel_at_" + std::to_string(static_cast<int>(at)), std::to_string(e.pixel));
    RecordProperty("shown_at_" + std::to_string(static_cast<int>(at)), std::to_string(e.shown));
    EXPECT_LT(e.pixel, 0.15) << at;
    EXPECT_LT(e.shown, 0.05) << at;
  }
}

// Dots of five inks, from clear to opaque, on three grounds.
TEST(LoupeScatter, IsItsSlowTwinOnDotsOfAnyInk) {
  Apart worst;
  for (const GroundKind ground : {GroundKind::undyed, GroundKind::discharged, GroundKind::white_base}) {
    for (const demo::NamedInk& ink : demo::five_inks()) {
      const Stack stack = demo::halftone_stack(ground, ink.optics);
      const FlatPrint print(stack, {demo::round_dots(55), demo::round_dots(55)}, {1, 0.4}, 0, 1);
      const int side = 240;
      const double mm = side * 25.4 / 1200;
      const LoupeWindow window{{3}, {3}, {mm}, {mm}, 1200};
      const Apart e = apart(print.render(window, {}), print.render(window, {.other_scatter = test::add_scatter_plainly}), side);
      worst = {std::max(worst.pixel, e.pixel), std::max(worst.shown, e.shown)};
      EXPECT_LT(e.pixel, 0.15) << ink.name << ' ' << static_cast<int>(ground);
      EXPECT_LT(e.shown, 0.05) << ink.name << ' ' << static_cast<int>(ground);
    }
  }
  RecordProperty("pixel", std::to_string(worst.pixel));
  RecordProperty("shown", std::to_string(worst.shown));
}

// Films beside cloth and beside each other, tints on both: the light that films keep at their ends, several
// rounds of it between an opaque film and red cloth.
TEST(LoupeScatter, IsItsSlowTwinWhereFilmsEnd) {
  const Stack stack(demo::undyed_cloth(),
                    {demo::film_pass(0, demo::white(), 60), demo::film_pass(1, demo::red(), 20),
                     demo::film_pass(2, demo::white(), 15)},
                    3, demo::process(), {});
  FlatPrint print(stack, {demo::round_dots(55, 22.5), demo::round_dots(55, 52.5), demo::round_dots(55, 7.5)},
                  {0, 0, 0}, 0, 1);
  for (int p = 0; p < 3; ++p) {
    for (int y = 0; y < 100; ++y) {
      for (int x = 0; x < 100; ++x) {
        const bool in = p == 0 ? std::hypot(x - 40, y - 45) < 25 : p == 1 ? x > 35 : y > 40;
        const double film = in ? (p == 2 || (p == 1 && y > 50) ? 0.4 : 1.0) : 0;
        print.images[p].ink16[static_cast<std::size_t>(y) * 100 + x] =
            static_cast<std::uint16_t>(std::lround(65535 * film));
      }
    }
  }
  std::vector<PlateCover> covers;
  for (int p = 0; p < 3; ++p) covers.emplace_back(print.images[p], 100.0, print.covers[p].settings());
  const int side = 480;
  const double mm = side * 25.4 / 1200;
  const auto render = [&](bool plain) {
    std::vector<XYZf> out;
    LoupeSettings settings;
    if (plain) settings.other_scatter = test::add_scatter_plainly;
    Loupe(print.table, covers, settings)
        .render({{6}, {6}, {mm}, {mm}, 1200}, 1, 2, {}, [&](int, int, std::span<const XYZf> rows) {
          out.insert(out.end(), rows.begin(), rows.end());
        });
    return out;
  };
  const Apart e = apart(render(false), render(true), side);
  RecordProperty("pixel", std::to_string(e.pixel));
  RecordProperty("shown", std::to_string(e.shown));
  EXPECT_LT(e.pixel, 0.15);
  EXPECT_LT(e.shown, 0.05);
}

}  // namespace
}  // namespace kirtle
