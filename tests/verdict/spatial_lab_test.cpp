// Spatial CIELAB against the properties that Zhang, Wandell 1997 (doi:10.1889/1.1985127) build it to have,
// and against its slow twin. No published numbers exist to compare with.
#include "verdict/spatial_lab.h"

#include "light/delta_e_2000.h"
#include "verdict/blur.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>
#include <random>

namespace kirtle {
namespace {

constexpr XYZ kWhite{96.42, 100, 82.49};  // D50
constexpr XYZf kRed{25.0F, 14.0F, 3.0F}, kGreen{12.0F, 20.0F, 8.0F}, kGrey{19.3F, 20.0F, 16.5F},
    kWhitish{75.0F, 78.0F, 62.0F}, kBlack{2.0F, 2.1F, 1.8F};

struct Picture {
  int width, height;
  std::vector<XYZf> xyz;
  Picture(int w, int h, const std::function<XYZf(int, int)>& at) : width(w), height(h) {
    for (int y = 0; y < h; ++y) {
      for (int x = 0; x < w; ++x) xyz.push_back(at(x, y));
    }
  }
  PictureView view() const { return {xyz, width, height}; }
};

Lab lab_of(const XYZf& c) {
  return lab_from_xyz({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)}, kWhite);
}

/// The largest of 16 pixels in the middle: away from the border, where the last line of a pattern goes on.
double at_centre(const SeenDifference& d) {
  double largest = 0;
  for (int i = 0; i < 16; ++i) {
    const int x = d.width / 2 + i % 4, y = d.height / 2 + i / 4;
    largest = std::max(largest, static_cast<double>(d.de00[static_cast<std::size_t>(y * d.width + x)]));
  }
  return largest;
}

XYZf mean_of(const XYZf& a, const XYZf& b) { return {(a.x + b.x) / 2, (a.y + b.y) / 2, (a.z + b.z) / 2}; }

Picture noise(int width, int height, unsigned seed) {
  std::mt19937 random(seed);
  return Picture(width, height, [&](int, int) {
    const auto r = static_cast<float>(random()) / 4294967296.0F;
    return XYZf{5 + 70 * r, 5 + 75 * r, 4 + 30 * r + 20 * static_cast<float>(random()) / 4294967296.0F};
  });
}

TEST(SpatialLab, WeightsOfEveryChannelSumToOne) {
  for (const std::vector<EyeBlur>& channel : eye_kernels()) {
    double sum = 0;
    for (const EyeBlur& blur : channel) sum += blur.weight;
    EXPECT_NEAR(sum, 1, 1e-15);
  }
  // The published unnormalised weights: 0.921 of 0.918, 0.531 of 0.861, 0.488 of 0.859.
  EXPECT_NEAR(eye_kernels()[0][0].weight, 1.00327, 5e-6);
  EXPECT_NEAR(eye_kernels()[1][0].weight, 0.616725, 5e-7);
}

TEST(SpatialLab, KernelsSumToOneAtEveryWidth) {
  const std::vector<float> ones(90 * 70, 1.0F);
  for (const double sigma : {0.0, 0.2, 1.0, 5.0, 7.99, 8.0, 30.0, 200.0, 3000.0}) {
    std::vector<float> out(ones.size(), 0.0F);
    add_blurred(ones, 90, 70, sigma, 1, out, 1);
    for (const float v : out) ASSERT_NEAR(v, 1, 1e-5) << sigma;
  }
}

TEST(SpatialLab, BlurOfAPointHasTheGaussiansVariance) {
  for (const double sigma : {0.7, 2.0, 7.9, 8.1, 15.0, 27.0}) {
    constexpr int kSide = 401;
    std::vector<float> in(kSide * kSide, 0.0F), out(in.size(), 0.0F);
    in[200 * kSide + 200] = 1;
    add_blurred(in, kSide, kSide, sigma, 1, out, 1);
    double mass = 0, moment = 0;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) {
        const double v = static_cast<double>(out[static_cast<std::size_t>(y * kSide + x)]);
        mass += v;
        moment += v * (x - 200) * (x - 200);
      }
    }
    EXPECT_NEAR(mass, 1, 1e-3) << sigma;
    // Cutting at 4 s.d. costs 1e-3 of the variance; the coarse raster's phase some more.
    EXPECT_NEAR(moment / mass, sigma * sigma + 1.0 / 12, 5e-3 * (sigma * sigma + 1)) << sigma;
  }
}

TEST(SpatialLab, FastBlurEqualsTheFullSum) {
  std::mt19937 random(3);
  std::vector<float> in;
  for (int i = 0; i < 97 * 83; ++i)
    in.push_back(static_cast<float>(random()) / 4294967296.0F + (i % 97 > 40));
  for (const double sigma : {0.3, 1.4, 6.0, 8.0, 11.9, 24.0, 60.0, 300.0}) {
    std::vector<float> out(in.size(), 0.0F);
    add_blurred(in, 97, 83, sigma, 1, out, 2);
    for (int i = 0; i < 60; ++i) {
      const int x = static_cast<int>(random() % 97), y = static_cast<int>(random() % 83);
      ASSERT_NEAR(out[static_cast<std::size_t>(y * 97 + x)], blurred_at(in, 97, 83, sigma, x, y), 4e-3)
          << sigma << " at " << x << ' ' << y;
    }
  }
}

TEST(SpatialLab, EqualPicturesDoNotDiffer) {
  const Picture a = noise(120, 90, 1);
  const SpatialLab eye(100, {1000}, kWhite);
  const SeenDifference d = eye.difference(eye.see(a.view(), 1), eye.see(a.view(), 2));
  EXPECT_EQ(d.largest, 0);
  EXPECT_EQ(d.p999, 0);
  EXPECT_EQ(d.area_over_mm2(0), 0);
}

TEST(SpatialLab, SameBytesOnAnyNumberOfThreads) {
  const Picture a = noise(333, 217, 1);
  const SpatialLab eye(100, {600}, kWhite);
  const SeenPicture one = eye.see(a.view(), 1), three = eye.see(a.view(), 3);
  EXPECT_EQ(one.l, three.l);
  EXPECT_EQ(one.a, three.a);
  EXPECT_EQ(one.b, three.b);
}

TEST(SpatialLab, LargeFlatsKeepTheirCiede2000) {
  // Two fields of 25 degrees, the colours changing in the middle one only.
  for (const auto& [p, q] : {std::pair{kRed, kGreen}, {kGrey, kWhitish}, {kBlack, kRed}}) {
    const Picture a(200, 200, [&](int, int) { return p; }), b(200, 200, [&](int, int) { return q; });
    const SpatialLab eye(100, {120}, kWhite);
    const SeenDifference d = eye.difference(eye.see(a.view()), eye.see(b.view()));
    const double plain = delta_e_2000(lab_of(p), lab_of(q));
    for (const float v : d.de00) ASSERT_NEAR(v, plain, 2e-3);
    EXPECT_NEAR(d.area_over_mm2(plain / 2), 50.8 * 50.8, 1e-6);
  }
}

TEST(SpatialLab, AFinePatternFadesWithDistanceIntoItsMean) {
  // Lines of one pixel, 0.25 mm, against their own mean colour: at arm's length seen, from afar not.
  for (const auto& [p, q] : {std::pair{kRed, kGreen}, {kBlack, kWhitish}}) {
    const XYZf mean = mean_of(p, q);
    // Framed by the mean, because beyond the border the border goes on.
    const Picture lines(160, 160, [&](int x, int y) {
      const bool frame = x == 0 || y == 0 || x == 159 || y == 159;
      return frame ? mean : x % 2 ? p : q;
    });
    const Picture flat(160, 160, [&](int, int) { return mean; });
    double last = 1e9;
    for (const double distance : {100.0, 200.0, 400.0, 700.0, 1000.0, 1500.0}) {
      const SpatialLab eye(100, {distance}, kWhite);
      const double seen = at_centre(eye.difference(eye.see(lines.view()), eye.see(flat.view())));
      EXPECT_TRUE(seen < last || (seen == 0 && last == 0)) << distance << ": " << seen << " after " << last;
      last = seen;
    }
    EXPECT_LT(last, 0.1);
    // Against another flat colour: the difference of the means.
    const Picture other(160, 160, [](int, int) { return kGrey; });
    const SpatialLab eye(100, {3000}, kWhite);
    EXPECT_NEAR(at_centre(eye.difference(eye.see(lines.view()), eye.see(other.view()))),
                delta_e_2000(lab_of(mean), lab_of(kGrey)), 0.05);
  }
}

TEST(SpatialLab, ColourPatternsFadeBeforeLightDarkOnes) {
  // Red-green bars against grey, of one luminance, fade at a distance where dark-light bars are still seen.
  const auto share_left = [](const XYZf& p, const XYZf& q, double distance) {
    const Picture bars(240, 240, [&](int x, int) { return x / 4 % 2 ? p : q; });
    const XYZf mean = mean_of(p, q);
    const Picture flat(240, 240, [&](int, int) { return mean; });
    const SpatialLab near(100, {30}, kWhite), eye(100, {distance}, kWhite);
    return at_centre(eye.difference(eye.see(bars.view()), eye.see(flat.view()))) /
           at_centre(near.difference(near.see(bars.view()), near.see(flat.view())));
  };
  const XYZf reddish{24.0F, 20.0F, 16.5F}, greenish{15.0F, 20.0F, 16.5F}, dark{14.5F, 15.0F, 12.4F},
      light{24.1F, 25.0F, 20.6F};
  EXPECT_LT(share_left(reddish, greenish, 1200), 0.7 * share_left(dark, light, 1200));
}

TEST(SpatialLab, EqualsItsSlowTwin) {
  const Picture a(150, 130, [](int x, int y) {
    if ((x - 60) * (x - 60) + (y - 70) * (y - 70) < 900) return x / 3 % 2 ? kRed : kGreen;
    return y > 100 ? kBlack : kWhitish;
  });
  for (const double distance : {150.0, 500.0, 1000.0}) {
    const SpatialLab eye(100, {distance}, kWhite);
    const SeenPicture seen = eye.see(a.view());
    std::mt19937 random(9);
    for (int i = 0; i < 12; ++i) {
      const int x = static_cast<int>(random() % 150), y = static_cast<int>(random() % 130);
      const std::size_t at = static_cast<std::size_t>(y * 150 + x);
      const Lab slow = eye.seen_at(a.view(), x, y);
      EXPECT_LT(delta_e_2000(slow, {static_cast<double>(seen.l[at]), static_cast<double>(seen.a[at]),
                                    static_cast<double>(seen.b[at])}),
                0.15)
          << distance << " at " << x << ' ' << y;
    }
  }
}

TEST(SpatialLab, PercentileAndLargest) {
  // 1 % of the pixels differ by a lot, in a block far from the rest, seen from so near that nothing blurs.
  const Picture a(100, 100, [](int, int) { return kGrey; });
  const Picture b(100, 100, [](int x, int y) { return x < 10 && y < 10 ? kWhitish : kGrey; });
  const SpatialLab eye(100, {1}, kWhite);
  const SeenDifference d = eye.difference(eye.see(a.view()), eye.see(b.view()));
  const double plain = delta_e_2000(lab_of(kGrey), lab_of(kWhitish));
  EXPECT_NEAR(d.largest, plain, 0.15 * plain);  // the light-dark kernel's third Gaussian sharpens edges
  EXPECT_LT(d.largest_x, 10);
  EXPECT_LT(d.largest_y, 10);
  EXPECT_NEAR(d.p999, plain, 0.15 * plain);
  EXPECT_NEAR(d.area_over_mm2(plain / 2), 100 * std::pow(0.254, 2), 1e-9);
}

}  // namespace
}  // namespace kirtle
