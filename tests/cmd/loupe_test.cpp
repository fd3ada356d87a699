// kirtle predict --loupe: real dots in a window of the print.
#include "cmd/command_test.h"

#include <cmath>
#include <set>

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

class LoupeCommand : public CommandTest {
 protected:
  LoupeCommand() { scene_ = small_scene(); }

  DecodedPng png(const std::string& name, std::vector<std::string> more) const {
    more.insert(more.begin(), {"predict", scene_, "-o", path(name)});
    const ProgramRun run = run_kirtle(more);
    EXPECT_EQ(run.status, 0) << run.err;
    DecodedPng decoded = decode_png(folder_ / name);
    EXPECT_EQ(decoded.trouble, "");
    return decoded;
  }
  std::string refused(std::vector<std::string> more) const {
    more.insert(more.begin(), {"predict", scene_, "-o", path("no.png")});
    const std::string said = complaint(more);
    EXPECT_FALSE(std::filesystem::exists(folder_ / "no.png"));
    return said;
  }

  std::string scene_;
};

TEST_F(LoupeCommand, HasTheWindowsSizeAtDeviceResolution) {
  const DecodedPng p = png("a.png", {"--loupe", "2,3,8,5"});
  EXPECT_EQ(p.width, 378);  // 8 mm at 1200 per inch
  EXPECT_EQ(p.height, 236);
  EXPECT_NEAR(p.x_per_metre * 0.0254, 1200, 0.1);
  const DecodedPng finer = png("b.png", {"--loupe", "2,3,8,5", "--dpi", "2400", "--scale", "0.5"});
  EXPECT_EQ(finer.width, 378);
  EXPECT_NEAR(finer.x_per_metre * 0.0254, 1200, 0.1);
}

TEST_F(LoupeCommand, TakesLengthsInAnyUnit) {
  EXPECT_EQ(png("a.png", {"--loupe", "2.54,2.54,5.08,5.08"}).samples,
            png("b.png", {"--loupe", "0.1 in,0.1in,0.2 in,5.08 mm"}).samples);
}

// The red tint lies on solid white: without scatter two colours where the base is solid, as at arm's length
// never.
TEST_F(LoupeCommand, ShowsDotsOfInkAndNothingBetween) {
  const DecodedPng dots = png("a.png", {"--loupe", "2,7,3.5,2", "--no-scatter"});
  std::set<std::array<int, 3>> colours;
  for (std::size_t i = 0; i < dots.samples.size(); i += 3)
    colours.insert({dots.samples[i], dots.samples[i + 1], dots.samples[i + 2]});
  EXPECT_EQ(colours.size(), 2u);
  EXPECT_NE(dots.samples, png("b.png", {"--loupe", "2,7,3.5,2"}).samples);
}

TEST_F(LoupeCommand, TheBytesDoNotDependOnThreads) {
  png("a.png", {"--loupe", "1,1,18,13", "--threads", "1"});
  png("b.png", {"--loupe", "1,1,18,13", "--threads", "5"});
  std::ifstream a(path("a.png"), std::ios::binary), b(path("b.png"), std::ios::binary);
  const std::string as((std::istreambuf_iterator<char>(a)), {}), bs((std::istreambuf_iterator<char>(b)), {});
  EXPECT_GT(as.size(), 1000u);
  EXPECT_EQ(as, bs);
}

// A print of 350 mm at 1200 per inch streams: what it holds goes with the width, not with the height, and
// stays far under 1 GiB, with light that spreads too.
TEST_F(LoupeCommand, StreamsAWidePrint) {
  plate("wide.png", 1378, 240, 100, [](int x, int y) { return (x + y) % 40 < 20 ? 0.4 : x / 1400.0; });
  const std::string wide = write("wide.toml", scene_text("black-cotton", {{"wide", "base-white"}}));
  const auto peak = [&](const std::string& window, const std::string& more) {
    const ProgramRun run = run_kirtle({"predict", wide, "-o", path("wide-print.png"), "--loupe", window, more,
                                       "--scale", "0.25", "--threads", "2"});
    EXPECT_EQ(run.status, 0) << run.err;
    return run.peak_mib;
  };
  const double low = peak("0,0,350,12", "--no-scatter"), high = peak("0,0,350,60", "--no-scatter");
  RecordProperty("peak_mib_60_mm", std::to_string(high));
  if (!memory_can_be_limited()) return;  // a sanitizer holds much for itself
  EXPECT_LT(high, 400);
  EXPECT_LT(high, low + 40);
  EXPECT_LT(peak("0,0,350,9", "--quiet"), 500);
}

TEST_F(LoupeCommand, RefusesWindowsThatAreNone) {
  for (const std::string window :
       {"", "1,2,3", "1,2,3,4,5", "a,2,3,4", "1,2,3 kg,4", "nan,1,1,1", "1,2,,4"}) {
    EXPECT_THAT(refused({"--loupe", window}), AllOf(HasSubstr("--loupe"), HasSubstr("X,Y,W,H"))) << window;
  }
  for (const std::string window : {"-1,2,3,4", "1,2,0,4", "1,2,3,-4", "18,2,3,4", "1,12,3,4", "1,1,1e9,1"}) {
    EXPECT_THAT(refused({"--loupe=" + window}),
                AllOf(HasSubstr("do not lie within the print"), HasSubstr("20.3 x 15.2 mm")))
        << window;
  }
  for (const std::string dpi : {"299", "4801"}) {
    EXPECT_THAT(refused({"--loupe", "1,1,2,2", "--dpi", dpi}), HasSubstr("300 to 4800"));
  }
  EXPECT_THAT(refused({"--no-scatter"}), HasSubstr("--loupe"));
}

}  // namespace
}  // namespace kirtle::test
