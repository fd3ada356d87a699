// Coverages counted once give the sums of the pixels: the renderer is the slow twin.
#include "range/area_tuples.h"
#include "range/range_fixture.h"

#include <numeric>

namespace kirtle::test {
namespace {

class Tuples : public Ranges {
 protected:
  static AreaTuples count(const Prediction& p, const TupleSettings& settings) {
    std::vector<const PlateCover*> covers;
    for (const PlateCover& cover : p.covers()) covers.push_back(&cover);
    return count_tuples(covers, settings);
  }
  static XYZ mean_of_tuples(const Prediction& p, const AreaTuples& t) {
    XYZ out{};
    for (std::size_t i = 0; i < t.size(); ++i) {
      const XYZ c = p.model().table.mix(t.at(i));
      out = {out.x + t.share[i] * c.x, out.y + t.share[i] * c.y, out.z + t.share[i] * c.z};
    }
    return out;
  }
  static XYZ mean_of_pixels(const Prediction& p) {
    RenderWorker worker(p.model().table);
    const int w = p.renderer().width(), h = p.renderer().height();
    std::vector<XYZf> row(static_cast<std::size_t>(w));
    XYZ out{};
    for (int y = 0; y < h; ++y) {
      p.renderer().xyz_rows(y, 1, worker, row);
      for (const XYZf& c : row)
        out = {out.x + static_cast<double>(c.x), out.y + static_cast<double>(c.y),
               out.z + static_cast<double>(c.z)};
    }
    const double n = static_cast<double>(w) * h;
    return {out.x / n, out.y / n, out.z / n};
  }
  static void expect_near(const XYZ& a, const XYZ& b, double within) {
    EXPECT_NEAR(a.x, b.x, within);
    EXPECT_NEAR(a.y, b.y, within);
    EXPECT_NEAR(a.z, b.z, within);
  }
};

// Edges off the pixel grid, and crossing each other: pixels cut by one contour and by two.
TEST_F(Tuples, MeanColourIsThatOfThePixels) {
  const Scene s = bare_scene();
  Diagnostics notes;
  const Prediction p(s, notes);
  const AreaTuples t = count(p, {});
  EXPECT_EQ(t.step, 1);
  EXPECT_NEAR(std::accumulate(t.share.begin(), t.share.end(), 0.0), 1, 1e-12);
  expect_near(mean_of_tuples(p, t), mean_of_pixels(p), 1e-3);  // of 100; pixels are float
}

TEST_F(Tuples, SoakedInksAreBinnedAndStayNear) {
  const Scene s = discharge_scene();
  Diagnostics notes;
  const Prediction p(s, notes);
  TupleSettings few;
  few.most = 40;
  const AreaTuples fine = count(p, {}), coarse = count(p, few);
  EXPECT_EQ(fine.step, 256);
  EXPECT_GT(coarse.step, 256);
  EXPECT_LE(coarse.size(), 40u);
  expect_near(mean_of_tuples(p, fine), mean_of_pixels(p), 0.01);
  expect_near(mean_of_tuples(p, coarse), mean_of_pixels(p), 0.3);
}

TEST_F(Tuples, SameOnAnyNumberOfThreads) {
  const Scene s = discharge_scene();
  Diagnostics notes;
  const Prediction p(s, notes);
  TupleSettings one, four;
  one.most = four.most = 40;
  one.picture_height = four.picture_height = 10;
  one.threads = 1;
  four.threads = 4;
  const AreaTuples a = count(p, one), b = count(p, four);
  EXPECT_EQ(a.cover, b.cover);
  EXPECT_EQ(a.share, b.share);
  EXPECT_EQ(a.picture, b.picture);
  EXPECT_EQ(a.step, b.step);
}

// 128 pixels high, this picture would be over 5000 wide.
TEST_F(Tuples, AVeryLongPrintHasALowPicture) {
  const std::vector<std::uint8_t> ink(2000 * 50, 0);
  write_grey_png(folder_.path() / "line.png", 2000, 50, 300, ink);
  Diagnostics notes;
  const Prediction p(scene("white-cotton", pass("line", "red")), notes);
  TupleSettings high;
  high.picture_height = 128;
  const AreaTuples t = count(p, high);
  EXPECT_EQ(t.width, 1024);
  EXPECT_EQ(t.height, 26);
  EXPECT_EQ(t.picture.size(), std::size_t{1024} * 26 * AreaTuples::kPictureSamples);
}

TEST_F(Tuples, CombinationsRiseAndMeanCoverageIsThePlates) {
  const Scene s = bare_scene();
  Diagnostics notes;
  const Prediction p(s, notes);
  const AreaTuples t = count(p, {});
  for (std::size_t plate = 0; plate < 2; ++plate) {
    double mean = 0, pixels = 0;
    for (std::size_t i = 0; i < t.size(); ++i) mean += t.share[i] * t.at(i)[plate];
    const PlateCover& cover = p.covers()[plate];
    for (int y = 0; y < cover.image().height; ++y)
      for (int x = 0; x < cover.image().width; ++x) pixels += cover.cover_at(x, y);
    // Corners, where two contours meet on 64 points, are the only difference.
    EXPECT_NEAR(mean, pixels / (cover.image().width * cover.image().height), 2e-4);
  }
}

}  // namespace
}  // namespace kirtle::test
