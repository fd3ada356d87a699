// The shader against sim/print, on the demo scenes: the card mixes what sim does. Software OpenGL will do.
// Truth here is sim's own renderer and loupe, which other tests hold against the outside.
#include "gl.h"
#include "light/delta_e_2000.h"
#include "offscreen.h"
#include "print/loupe.h"
#include "print/shrinker.h"
#include "renderer.h"

#include <algorithm>
#include <array>
#include <gtest/gtest.h>

namespace kirtle::test {
namespace {

/// One context for all tests of the program.
class ShaderTest : public ::testing::TestWithParam<const char*> {
 protected:
  static void SetUpTestSuite() {
    try {
      context_ = new Offscreen(true);
      count_gl_errors(&gl_errors_);
    } catch (const GlError&) {
      context_ = nullptr;
    }
  }
  static void TearDownTestSuite() {
    delete context_;
    context_ = nullptr;
  }
  void SetUp() override {
    if (context_ == nullptr) GTEST_SKIP() << "no OpenGL 3.3 without a window here";
    ::unsetenv("KIRTLE_DATA");
    gl_errors_ = 0;
  }
  void TearDown() override { EXPECT_EQ(gl_errors_, 0) << "errors of the debug context"; }

  /// Opens a scene and moves its plates.
  static void open(Session& session, const std::string& name, int reg) {
    session.open(std::string(KIRTLE_SOURCE_DIR "/scenes/") + name + "/scene.toml");
    session.settle();
    ASSERT_TRUE(session.is_open());
    if (reg == 0) return;
    session.begin_drag();
    for (std::size_t i = 0; i < session.plates(); ++i) {
      PlateEdit e;
      const double k = static_cast<double>(i) + 1;
      // In between: shifts that are no whole pixels. Far: turned and stretched too.
      e.offset = reg == 1 ? RegisterOffset{{0.031 * k}, {-0.047 * k + 0.02}, 0, 0, 0}
                          : RegisterOffset{{-0.21 * k}, {0.17 * k}, 0.05 * k, 0.0004 * k, -0.0003};
      session.edit_plate(static_cast<int>(i), e);
    }
    session.end_drag();
    session.settle();
  }

  static Offscreen* context_;
  static int gl_errors_;
};
Offscreen* ShaderTest::context_ = nullptr;
int ShaderTest::gl_errors_ = 0;

struct Shares {
  double within = 0, mean = 0, largest = 0;
};

/// dE00 of two pictures.
Shares compare(std::span<const float> rgba, std::span<const XYZf> wanted, const XYZ& white, double limit) {
  Shares s;
  std::size_t good = 0;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    const float* g = rgba.data() + 4 * i;
    const XYZ got{static_cast<double>(g[0]), static_cast<double>(g[1]), static_cast<double>(g[2])};
    const XYZ want{static_cast<double>(wanted[i].x), static_cast<double>(wanted[i].y),
                   static_cast<double>(wanted[i].z)};
    const double de = delta_e_2000(lab_from_xyz(got, white), lab_from_xyz(want, white));
    good += de <= limit;
    s.mean += de;
    s.largest = std::max(s.largest, de);
  }
  s.within = static_cast<double>(good) / static_cast<double>(wanted.size());
  s.mean /= static_cast<double>(wanted.size());
  return s;
}

TEST_P(ShaderTest, ArmsLengthIsSims) {
  constexpr int kWidth = 700, kRows = 36;
  for (int reg = 0; reg < 3; ++reg) {
    Session session;
    ASSERT_NO_FATAL_FAILURE(open(session, GetParam(), reg));
    Renderer renderer;
    renderer.settings.most_passes = 1;
    renderer.settings.sims_pictures = false;
    renderer.settings.loupe = 0;
    // Other lights are other numbers in the same tables.
    const std::vector<std::string> lights =
        reg == 1 ? std::vector<std::string>{"D50", "A", "F11"} : std::vector<std::string>{"D50"};
    for (const std::string& light : lights) {
      Edits edits = session.edits();
      edits.light = light;
      session.edit(edits);
      session.settle();
      const Build& build = *session.build();
      const double mm = kMmPerInch / build.ppi();
      std::size_t pixels = 0;
      Shares all;
      for (const double at : {0.31, 0.47, 0.66}) {
        const int x0 = (build.width() - kWidth) / 2, y0 = static_cast<int>(at * build.height());
        Pane pane;
        pane.width = kWidth;
        pane.height = kRows;
        pane.view = {{(x0 + kWidth / 2.0) * mm, (y0 + kRows / 2.0) * mm}, 1 / mm};
        GlCanvas target(kWidth, kRows, GL_RGBA32F, GL_NEAREST);
        renderer.draw(session, std::array{pane}, kWidth, kRows, target.id(), 0, 0);
        const std::vector<float> got = renderer.xyz();
        check_gl("the draw");
        std::vector<XYZf> rows(static_cast<std::size_t>(build.width()) * kRows), wanted;
        RenderWorker worker(build.prediction->model().table);
        build.prediction->renderer().xyz_rows(y0, kRows, worker, rows);
        for (int y = 0; y < kRows; ++y) {
          const auto row = rows.begin() + static_cast<std::ptrdiff_t>(y) * build.width() + x0;
          wanted.insert(wanted.end(), row, row + kWidth);
        }
        const Shares s = compare(got, wanted, build.prediction->model().table.weights().white, 0.5);
        all.within += s.within / 3;
        all.mean += s.mean / 3;
        all.largest = std::max(all.largest, s.largest);
        pixels += wanted.size();
      }
      RecordProperty(light + std::to_string(reg), std::to_string(all.within));
      std::printf("%s register %d %s: %.4f %% within dE00 .5, mean %.4f, largest %.2f (%zu pixels)\n",
                  GetParam(), reg, light.c_str(), 100 * all.within, all.mean, all.largest, pixels);
      EXPECT_GE(all.within, 0.999) << GetParam() << ", register " << reg << ", " << light;
    }
  }
}

/// The overprint of each device pixel as sim has it: bit i = the i-th film.
std::vector<int> overprints(const Build& build, const DeviceRaster& raster, const DeviceRect& rect,
                            DotRaster dots) {
  std::vector<int> out(rect.pixels(), 0);
  int film = 0;
  for (std::size_t i = 0; i < build.plates().size(); ++i) {
    const PlateCover& cover = build.prediction->covers()[i];
    if (cover.field()) continue;
    // Seeds as in sim/print/loupe.cpp.
    const LoupePlate plate(cover, 1u + 0x9E3779B9u * static_cast<std::uint32_t>(i), dots);
    std::vector<std::uint8_t> states(rect.pixels());
    plate.states(plate.band(raster, rect), raster, rect, states);
    for (std::size_t k = 0; k < states.size(); ++k) out[k] |= (states[k] & kDeviceInk) != 0 ? 1 << film : 0;
    ++film;
  }
  return out;
}

/// Means over 3 x 3.
std::vector<XYZf> blocks(const std::vector<XYZf>& in, int width, int height) {
  std::vector<XYZf> out;
  for (int y = 0; y + 3 <= height; y += 3) {
    for (int x = 0; x + 3 <= width; x += 3) {
      XYZf sum;
      for (int k = 0; k < 9; ++k) {
        const XYZf& c = in[static_cast<std::size_t>(y + k / 3) * static_cast<std::size_t>(width) +
                           static_cast<std::size_t>(x + k % 3)];
        sum = {sum.x + c.x / 9, sum.y + c.y / 9, sum.z + c.z / 9};
      }
      out.push_back(sum);
    }
  }
  return out;
}

// Without the sideways scatter of light, which the shader does not have.
TEST_P(ShaderTest, TheLoupesDotsAreSims) {
  constexpr int kWidth = 210, kHeight = 120;
  constexpr double kDpi = 1200, kPitch = kMmPerInch / kDpi;
  for (int reg = 0; reg < 3; ++reg) {
    Session session;
    ASSERT_NO_FATAL_FAILURE(open(session, GetParam(), reg));
    const Build& build = *session.build();
    Renderer renderer;
    renderer.settings.most_passes = 1;
    renderer.settings.sims_pictures = false;
    renderer.settings.loupe = 1;
    std::size_t pixels = 0, same = 0, same_counted = 0, cells = 0, close = 0;
    double largest = 0;
    for (const double at : {0.33, 0.5, 0.67}) {
      const double x = std::round(build.prediction->width_mm() * at / kPitch) * kPitch,
                   y = std::round(build.prediction->height_mm() * (0.9 - at) / kPitch) * kPitch;
      Pane pane;
      pane.width = kWidth;
      pane.height = kHeight;
      pane.view = {{x + kWidth / 2.0 * kPitch, y + kHeight / 2.0 * kPitch}, 1 / kPitch};
      GlCanvas target(kWidth, kHeight, GL_RGBA32F, GL_NEAREST);
      const auto drawn = [&](bool code) {
        renderer.settings.show_code = code;
        session.touch();
        renderer.draw(session, std::array{pane}, kWidth, kHeight, target.id(), 0, 0);
        return renderer.xyz();
      };
      const std::vector<float> codes = drawn(true), rgba = drawn(false);
      check_gl("the draw");
      const DeviceRaster raster{x + kPitch / 2, y + kPitch / 2, kPitch};
      const DeviceRect rect{0, 0, kWidth, kHeight};
      // The shader's dots have the edges that their formulas give them, at every scale; sim's loupe moves
      // some of a period's edge pixels for the device raster's sake.
      const std::vector<int> keys = overprints(build, raster, rect, DotRaster::plain),
                             counted = overprints(build, raster, rect, DotRaster::counted);
      for (std::size_t i = 0; i < keys.size(); ++i) {
        same += std::lround(codes[4 * i]) == keys[i];
        same_counted += std::lround(codes[4 * i]) == counted[i];
      }
      pixels += keys.size();
      LoupeSettings settings;
      settings.scatter = false;
      settings.dots = DotRaster::plain;
      const Loupe loupe(build.prediction->model().table, build.prediction->covers(), settings);
      std::vector<XYZf> want, got;
      loupe.render(
          {{x}, {y}, {kWidth * kPitch}, {kHeight * kPitch}, kDpi}, 1, 0, {},
          [&](int, int, std::span<const XYZf> rows) { want.insert(want.end(), rows.begin(), rows.end()); });
      ASSERT_EQ(want.size(), keys.size());
      for (std::size_t i = 0; i < want.size(); ++i)
        got.push_back({rgba[4 * i], rgba[4 * i + 1], rgba[4 * i + 2]});
      const std::vector<XYZf> a = blocks(got, kWidth, kHeight), b = blocks(want, kWidth, kHeight);
      const XYZ white = build.prediction->model().table.weights().white;
      for (std::size_t i = 0; i < a.size(); ++i) {
        const double de =
            delta_e_2000(lab_from_xyz(to_double(a[i]), white), lab_from_xyz(to_double(b[i]), white));
        close += de <= 1;
        largest = std::max(largest, de);
      }
      cells += a.size();
    }
    const double same_share = static_cast<double>(same) / static_cast<double>(pixels),
                 counted_share = static_cast<double>(same_counted) / static_cast<double>(pixels),
                 close_share = static_cast<double>(close) / static_cast<double>(cells);
    std::printf(
        "%s register %d loupe: %.3f %% on the same overprint (%.3f %% with counted dots), %.3f %% of 3 x 3 "
        "within dE00 1, largest %.2f\n",
        GetParam(), reg, 100 * same_share, 100 * counted_share, 100 * close_share, largest);
    EXPECT_GE(same_share, 0.98);
    EXPECT_GE(counted_share, 0.98);
    EXPECT_GE(close_share, 0.98);
  }
}

INSTANTIATE_TEST_SUITE_P(Scenes, ShaderTest, ::testing::Values("moth", "reef", "botanical"));

}  // namespace
}  // namespace kirtle::test
