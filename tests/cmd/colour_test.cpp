// Pictures read back through Little CMS and their embedded profile, against what probe says of the same
// places.
#include "cmd/command_test.h"
#include "cmd/test_profiles.h"
#include "light/delta_e_2000.h"

#include <lcms2.h>
#include <memory>

namespace kirtle::test {
namespace {

using Profile = std::unique_ptr<void, decltype(&cmsCloseProfile)>;
using Transform = std::unique_ptr<void, decltype(&cmsDeleteTransform)>;

/// Patches in rows and columns: base rises to the right, red and blue downward and across each other.
constexpr int kPatch = 16, kAcross = 6, kDown = 5;

class Colour : public CommandTest {
 protected:
  void SetUp() override {
    const auto step = [](int i, int n) { return i / static_cast<double>(n - 1); };
    const int w = kPatch * kAcross, h = kPatch * kDown;
    plate("base.png", w, h, 100, [&](int x, int) { return step(x / kPatch, kAcross); });
    plate("red.png", w, h, 100, [&](int, int y) { return step(y / kPatch, kDown); });
    plate("blue.png", w, h, 100,
          [&](int x, int y) { return (x / kPatch + y / kPatch) % 3 == 0 ? 0.4 : 0.0; });
    scene_ = write("scene.toml",
                   scene_text("sport-grey-heather",
                              {{"base", "base-white", "flash = true"}, {"red", "coral"}, {"blue", "navy"}}));
  }

  /// Lab (D50) of every patch's middle, by the picture's own profile.
  static std::vector<Lab> lab_of(const std::vector<std::uint16_t>& samples, int depth, int channels,
                                 const std::vector<std::uint8_t>& icc) {
    const Profile from(cmsOpenProfileFromMem(icc.data(), static_cast<cmsUInt32Number>(icc.size())),
                       cmsCloseProfile);
    const Profile to(cmsCreateLab4Profile(nullptr), cmsCloseProfile);
    const Transform transform(
        cmsCreateTransform(from.get(), TYPE_RGB_DBL, to.get(), TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC,
                           cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE),
        cmsDeleteTransform);
    std::vector<Lab> out;
    if (!transform) {
      ADD_FAILURE() << "no profile of use is embedded";
      return std::vector<Lab>(static_cast<std::size_t>(kAcross * kDown));
    }
    const double full = depth == 8 ? 255 : 65535;
    for (int y = 0; y < kDown; ++y) {
      for (int x = 0; x < kAcross; ++x) {
        std::array<double, 3> in{};
        for (std::size_t c = 0; c < 3; ++c) in[c] = samples[sample_at(x, y, channels) + c] / full;
        cmsCIELab lab{};
        cmsDoTransform(transform.get(), in.data(), &lab, 1);
        out.push_back({lab.L, lab.a, lab.b});
      }
    }
    return out;
  }

  static int middle(int patch) { return patch * kPatch + kPatch / 2; }

  static std::size_t sample_at(int x, int y, int channels) {
    return static_cast<std::size_t>((middle(y) * kPatch * kAcross + middle(x)) * channels);
  }

  struct Probed {
    Lab lab;
    bool inside;  // sRGB
  };
  std::vector<Probed> probed() const {
    std::vector<Probed> out;
    for (int y = 0; y < kDown; ++y) {
      for (int x = 0; x < kAcross; ++x) {
        const auto mm = [](int px) { return std::to_string((px + 0.5) * 25.4 / 100); };
        const nlohmann::json j =
            json_of({"probe", scene_, "--json", "--at", mm(middle(x)) + "," + mm(middle(y))});
        const nlohmann::json& lab = j.at("Lab");
        out.push_back({{lab.at(0), lab.at(1), lab.at(2)}, j.at("outside_sRGB_dE00") == 0});
      }
    }
    return out;
  }

  DecodedPng png(const std::vector<std::string>& more) const {
    std::vector<std::string> arguments{"predict", scene_, "-o", path("print.png")};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const ProgramRun run = run_kirtle(arguments);
    EXPECT_EQ(run.status, 0) << run.err;
    return decode_png(folder_ / "print.png");
  }

  std::string scene_;
};

/// CIEDE2000 over the patches that sRGB holds; there must be many.
struct Gap {
  double worst = 0, mean = 0;
};
Gap gap(const std::vector<Lab>& given, const std::vector<Lab>& asked, const std::vector<bool>& counts) {
  Gap out;
  int n = 0;
  for (std::size_t i = 0; i < given.size(); ++i) {
    if (!counts[i]) continue;
    ++n;
    const double de = delta_e_2000(given[i], asked[i]);
    out.worst = std::max(out.worst, de);
    out.mean += de;
  }
  EXPECT_GE(n, 20) << "too few colours inside the gamut to say anything";
  out.mean /= std::max(n, 1);
  return out;
}

// 16 bits: half a code is worth .005 at most; the rest is Bradford from the light of the 10 nm sum to the D50
// of ICC.1. 8 bits: half a code of each channel, near grey worth up to about .7 where they all round apart.
TEST_F(Colour, APictureReadsBackToTheLabOfProbe) {
  std::vector<Lab> asked;
  std::vector<bool> inside;
  for (const Probed& p : probed()) {
    asked.push_back(p.lab);
    inside.push_back(p.inside);
  }
  const DecodedPng sixteen = png({"--depth", "16"}), eight = png({});
  const Gap at16 = gap(lab_of(sixteen.samples, 16, 3, sixteen.profile), asked, inside);
  EXPECT_LT(at16.worst, 0.1);
  const Gap at8 = gap(lab_of(eight.samples, 8, 3, eight.profile), asked, inside);
  EXPECT_LT(at8.worst, 0.8);
  EXPECT_LT(at8.mean, 0.35);
  RecordProperty("worst_dE00_16_bit", std::to_string(at16.worst));
  RecordProperty("worst_dE00_8_bit", std::to_string(at8.worst));
  RecordProperty("mean_dE00_8_bit", std::to_string(at8.mean));
}

TEST_F(Colour, APictureInAnotherRgbSpaceShowsTheSameColours) {
  save_wide_rgb(folder_ / "wide.icc");
  std::vector<bool> inside;
  for (const Probed& p : probed()) inside.push_back(p.inside);

  const DecodedPng srgb16 = png({"--depth", "16"});
  const DecodedPng wide16 = png({"--depth", "16", "--profile", path("wide.icc")});
  EXPECT_EQ(wide16.profile, bytes_of(folder_ / "wide.icc"));
  EXPECT_NE(wide16.samples, srgb16.samples);
  const Gap at16 = gap(lab_of(wide16.samples, 16, 3, wide16.profile),
                       lab_of(srgb16.samples, 16, 3, srgb16.profile), inside);
  EXPECT_LT(at16.worst, 0.1);

  // 8 bits: the nearest codes, which in a space this wide are worth more than sRGB's.
  const DecodedPng wide8 = png({"--profile", path("wide.icc")});
  ASSERT_EQ(wide8.samples.size(), wide16.samples.size());
  for (std::size_t i = 0; i < wide8.samples.size(); ++i)
    ASSERT_NEAR(wide8.samples[i], wide16.samples[i] / 257.0, 0.52) << i;
  const DecodedPng srgb8 = png({});
  const Gap at8 =
      gap(lab_of(wide8.samples, 8, 3, wide8.profile), lab_of(srgb8.samples, 8, 3, srgb8.profile), inside);
  EXPECT_LT(at8.mean, 0.5);
  RecordProperty("worst_dE00_16_bit", std::to_string(at16.worst));
  RecordProperty("mean_dE00_8_bit", std::to_string(at8.mean));
}

// Four channels, only as TIFF, full code for full ink. Absolute: no black point is moved.
TEST_F(Colour, APictureInCmyk) {
  save_black_only_cmyk(folder_ / "black.icc");
  const ProgramRun run = run_kirtle({"predict", scene_, "-o", path("print.tif"), "--depth", "16", "--profile",
                                     path("black.icc"), "--intent", "absolute"});
  ASSERT_EQ(run.status, 0) << run.err;
  EXPECT_THAT(run.out, ::testing::HasSubstr("outside the gamut"));  // it has no colour at all
  const DecodedTiff t = decode_tiff(folder_ / "print.tif");
  EXPECT_EQ(t.trouble, "");
  EXPECT_EQ(t.channels, 4);
  EXPECT_EQ(t.photometric, PHOTOMETRIC_SEPARATED);
  EXPECT_EQ(t.profile, bytes_of(folder_ / "black.icc"));
  const std::vector<Probed> asked = probed();
  for (int i = 0; i < kAcross * kDown; ++i) {
    const std::size_t at = sample_at(i % kAcross, i / kAcross, 4);
    for (std::size_t ink = 0; ink < 3; ++ink) EXPECT_EQ(t.samples[at + ink], 0);
    EXPECT_NEAR(100 - 100 * t.samples[at + 3] / 65535.0, asked[static_cast<std::size_t>(i)].lab.l, 0.05);
  }
  EXPECT_THAT(complaint({"predict", scene_, "-o", path("print.png"), "--profile", path("black.icc")}),
              ::testing::HasSubstr("a PNG cannot hold four process inks (CMYK)"));
}

}  // namespace
}  // namespace kirtle::test
