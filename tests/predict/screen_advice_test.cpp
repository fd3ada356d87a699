// What the screens of a scene hold and print, against the press's own curves and the rules by hand.
#include "predict/screen_advice.h"

#include "job/library.h"
#include "predict/predict_test.h"
#include "screen/deposit.h"

#include <algorithm>
#include <gmock/gmock.h>
#include <limits>

namespace kirtle {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

class ScreenAdvise : public test::PredictTest {
 protected:
  static std::vector<Mesh> meshes() {
    Diagnostics faults;
    Library library = load_library({}, faults);
    return library.all_meshes(faults);
  }
  static const ScreenFinding* find(const ScreenAdvice& advice, ScreenConcern concern, int pass = 1) {
    const auto it = std::find_if(advice.findings.begin(), advice.findings.end(), [&](const ScreenFinding& f) {
      return f.concern == concern && f.pass == pass;
    });
    return it == advice.findings.end() ? nullptr : &*it;
  }
  ScreenAdvice of(const std::vector<std::string>& passes, const std::string& shirt = "black-cotton") {
    return advise_on_screens(scene(shirt, passes), meshes());
  }
};

// By hand: 61 / cm are 154.94 / in, over 55 lines 2.8171; opening 99.93 um, 0.85 (2 * 64 + 99.93) = 193.7 um,
// which is pi/4 (193.7 * 55 / 25400)^2 = 13.8 %; 45 um make 50 % print r = 0.3989 + 0.0974 -> 77.4 %.
TEST_F(ScreenAdvise, LinesAreWhatTheRulesGiveByHand) {
  const ScreenAdvice advice = of({"base base-white;mesh = \"61-64\";ink_spread_um = 45;strokes = 2"});
  ASSERT_EQ(advice.lines.size(), 1u);
  const ScreenLine& l = advice.lines[0];
  EXPECT_EQ(l.pass, 1);
  EXPECT_EQ(l.plate, "base");
  EXPECT_NEAR(l.threads_per_line, 2.8171, 1e-3);
  EXPECT_NEAR(l.smallest_dot.v, 193.7, 0.1);
  EXPECT_NEAR(l.smallest_tint, 0.1382, 5e-4);
  EXPECT_NEAR(l.largest_tint, 1 - 0.1382, 5e-3);
  EXPECT_NEAR(l.fifty_prints, 0.774, 2e-3);
  EXPECT_NEAR(l.wet.v, 1.4 * 0.7 * theoretical_volume(l.mesh).v, 1e-9);
  // What prints 50 % is found the other way round.
  HalftoneScreen round;
  EXPECT_NEAR(spread_tone(l.film_for_fifty, round, {45}), 0.5, 2e-3);
}

// The table is the press's own curve, which predictions use.
TEST_F(ScreenAdvise, StepsAreThoseOfThePrediction) {
  const Scene s = scene("black-cotton", {"a red;mesh = \"90-48\"", "b discharge-cream",
                                         "c red;dot = \"noise\";"
                                         "dot_size_um = 150;mesh = \"120-34\"",
                                         "d red;steps = [[50, 62]]"});
  const ScreenAdvice advice = advise_on_screens(s, meshes());
  const std::vector<PrintingPlate> plates = printing_plates(s);
  for (std::size_t p = 0; p < 4; ++p) {
    for (std::size_t i = 0; i < kStepTones.size(); ++i)
      EXPECT_EQ(advice.lines[p].prints[i], plates[p].tone.printed(kStepTones[i])) << p << ' ' << i;
  }
  EXPECT_TRUE(advice.lines[1].field);
  EXPECT_EQ(advice.lines[1].spread.v, 0);
  EXPECT_EQ(advice.lines[2].threads_per_line, std::numeric_limits<double>::infinity());
  EXPECT_TRUE(advice.lines[3].measured);
  EXPECT_NEAR(advice.lines[3].fifty_prints, 0.62, 1e-9);
  EXPECT_EQ(advice.lines[3].smallest_tint, 0);
}

TEST_F(ScreenAdvise, FewThreadsAndLostTintsAreFoundAndTheRemediesWork) {
  const ScreenAdvice advice = of({"base base-white;mesh = \"43-80\""});
  const ScreenFinding* threads = find(advice, ScreenConcern::few_threads);
  ASSERT_NE(threads, nullptr);
  EXPECT_NEAR(threads->number, 43 * 2.54 / 55, 1e-9);
  EXPECT_EQ(threads->limit, 3.5);
  EXPECT_THAT(threads->remedy, HasSubstr("31 lines per inch"));
  EXPECT_THAT(threads->provenance, HasSubstr("common practice, no source"));
  const ScreenFinding* tints = find(advice, ScreenConcern::light_tints_lost);
  ASSERT_NE(tints, nullptr);
  EXPECT_GT(tints->number, tints->limit);
  EXPECT_THAT(tints->remedy, HasSubstr("34 lines per inch"));
  EXPECT_NE(find(advice, ScreenConcern::holes_fill), nullptr);
  // What the remedies say, done.
  const ScreenAdvice fewer = of({"base base-white;mesh = \"43-80\";lpi = 31"});
  EXPECT_EQ(find(fewer, ScreenConcern::few_threads), nullptr);
  EXPECT_EQ(find(fewer, ScreenConcern::light_tints_lost), nullptr);
  const ScreenAdvice finer = of({"base base-white;mesh = \"77-48\""});
  EXPECT_EQ(find(finer, ScreenConcern::few_threads), nullptr);
  EXPECT_EQ(find(finer, ScreenConcern::light_tints_lost), nullptr);
}

// A finer mesh lays less agent, and the dye stays.
TEST_F(ScreenAdvise, NoFinerMeshForInkWithAgent) {
  const ScreenAdvice advice = of({"cream discharge-cream;mesh = \"43-80\""});
  EXPECT_TRUE(advice.lines[0].agent);
  const ScreenFinding* threads = find(advice, ScreenConcern::few_threads);
  ASSERT_NE(threads, nullptr);
  EXPECT_EQ(threads->remedy, "use 31 lines per inch or fewer");
  for (const ScreenFinding& f : advice.findings) EXPECT_THAT(f.remedy, Not(HasSubstr("use mesh"))) << f.what;
}

TEST_F(ScreenAdvise, DotsOfNoiseTooSmallForTheStencilAreFound) {
  const ScreenAdvice small = of({"a red;mesh = \"61-64\";dot = \"noise\";dot_size_um = 120"});
  const ScreenFinding* lost = find(small, ScreenConcern::light_tints_lost);
  ASSERT_NE(lost, nullptr);
  EXPECT_THAT(lost->remedy, HasSubstr("dots of 200 um"));
  EXPECT_EQ(find(small, ScreenConcern::few_threads), nullptr);
  const ScreenAdvice large = of({"a red;mesh = \"61-64\";dot = \"noise\";dot_size_um = 200"});
  EXPECT_EQ(find(large, ScreenConcern::light_tints_lost), nullptr);
  EXPECT_EQ(find(large, ScreenConcern::mesh_moire), nullptr);
  EXPECT_EQ(find(large, ScreenConcern::knit_moire), nullptr);
}

// By hand: two screens of 55 lines 15 degrees apart beat at 2 * 55 / 25.4 * sin 7.5 = 0.5653 / mm, 1.769 mm.
TEST_F(ScreenAdvise, TwoScreensAndTheRemedy) {
  const std::vector<std::string> apart{"a red;mesh = \"90-48\";angle = 22.5",
                                       "b red;mesh = \"90-48\";angle = 37.5"};
  const ScreenAdvice advice = of(apart);
  const ScreenFinding* bands = find(advice, ScreenConcern::screens_moire, 2);
  ASSERT_NE(bands, nullptr);
  EXPECT_NEAR(bands->number, 1.769, 1e-3);
  EXPECT_EQ(bands->limit, 1);
  EXPECT_THAT(bands->remedy, HasSubstr("one angle and line count"));
  EXPECT_EQ(find(of({apart[0], "b red;mesh = \"90-48\";angle = 22.5"}), ScreenConcern::screens_moire, 2),
            nullptr);
}

TEST_F(ScreenAdvise, MeshBandsAndTheRemedy) {
  // Threads of 9 a millimetre against the fourth multiple of 57 lines, 8.976.
  const ScreenAdvice advice = of({"a red;mesh = \"90-48\";angle = 0;lpi = 57"});
  const ScreenFinding* bands = find(advice, ScreenConcern::mesh_moire);
  ASSERT_NE(bands, nullptr);
  EXPECT_NEAR(bands->number, 1 / std::abs(9 - 4 * 57 / 25.4), 1e-6);
  EXPECT_THAT(bands->remedy, HasSubstr("turn the screen to"));
}

TEST_F(ScreenAdvise, TheKnitCountsOnlyWhereTheRecordTellsIt) {
  Scene s = scene("black-cotton", {"a red;mesh = \"90-48\";angle = 0;lpi = 36"});
  s.shirt.knit.reset();
  EXPECT_EQ(find(advise_on_screens(s, meshes()), ScreenConcern::knit_moire), nullptr);
  s.shirt.knit = KnitCount{14, 19, DataStatus::estimated};
  // 36 lines are 1.4173 / mm, against 1.4 wales / mm: 57.7 mm.
  const ScreenAdvice advice = advise_on_screens(s, meshes());
  const ScreenFinding* bands = find(advice, ScreenConcern::knit_moire);
  ASSERT_NE(bands, nullptr);
  EXPECT_NEAR(bands->number, 1 / (36 / 25.4 - 1.4), 1e-6);
  EXPECT_FALSE(bands->remedy.empty());
}

}  // namespace
}  // namespace kirtle
