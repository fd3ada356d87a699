// The decision report: its boxes, its rows, its first line.
#include "compare/decision_page.h"

#include "compare/scenes.h"
#include "job/press_plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

CompareOptions without_pictures(int shirts) {
  CompareOptions options;
  options.shirts = shirts;
  options.pictures = false;
  return options;
}

Comparison compared(const Scene& scene) {
  const Prediction arrived(scene, test::discs(), 300);
  CompareOptions options;
  options.shirts = 48;
  return compare_builds(scene, arrived, options);
}

TEST(DecisionPage, NothingOverlapsOrOverflows) {
  Scene scene = test::moth();
  const Comparison c = compared(scene);
  for (const char* title : {"Night moth",
                            "夜の蛾 и ночная бабочка, a title that goes on for longer than any page is wide, "
                            "and then some more of it, to see where it ends"}) {
    scene.title = title;
    const PageDocument page = decision_page(scene, c);
    EXPECT_THAT(layout_faults(page.pages.front()), ::testing::IsEmpty());
    EXPECT_EQ(page.pages.size(), 1U);
  }
}

TEST(DecisionPage, AtMostEightRowsAndOneColumnABuild) {
  const Comparison c = compared(test::moth());
  const auto rows = decision_rows(c);
  EXPECT_LE(rows.size(), 8U);
  for (const auto& row : rows) EXPECT_EQ(row.size(), c.builds.size() + 1);
}

TEST(DecisionPage, FirstLineCountsShirts) {
  const Scene scene = test::moth();
  const Comparison c = compared(scene);
  EXPECT_THAT(decision_sentence(scene, c), ::testing::HasSubstr("of 48 shirts"));
  EXPECT_EQ(shade_in_words(0.5), "none");
  EXPECT_EQ(shade_in_words(1.5), "side by side only");
  EXPECT_EQ(shade_in_words(3), "seen");
  EXPECT_EQ(shade_in_words(5), "refused");
}

TEST(DecisionPage, NoneIsRecommendedWhereAllHaveSomethingRefused) {
  Scene scene = test::moth();
  scene.compare.wet_limit_cm3_m2 = 50;
  const Prediction arrived(scene, test::discs(), 300);
  CompareOptions options;
  options.shirts = 12;
  options.kinds = {BuildKind::solid_under_all, BuildKind::shirt_as_dark};
  const Comparison c = compare_builds(scene, arrived, options);
  ASSERT_TRUE(c.choice.none);
  const BuildFigures& least = c.builds[c.choice.best].figures;
  const std::string sentence = decision_sentence(scene, c);
  EXPECT_THAT(sentence, ::testing::StartsWith("None of these builds is to be recommended as it stands"));
  EXPECT_THAT(sentence, ::testing::HasSubstr(std::string(build_name(least.kind))));
  EXPECT_THAT(sentence, ::testing::HasSubstr("over 4 is refused"));
  EXPECT_EQ(least.kind, BuildKind::shirt_as_dark) << "the other does not dry";
  EXPECT_THAT(decision_rows(c)[7][1], ::testing::HasSubstr("over the limit of 50"));
  EXPECT_THAT(decision_rows(c)[7][2], ::testing::HasSubstr("over 4 is refused"));
  EXPECT_THAT(layout_faults(decision_page(scene, c).pages.front()), ::testing::IsEmpty());
}

TEST(DecisionPage, PlatesAsTheyStandAreCountedAsARunCountsThem) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  CompareOptions options = without_pictures(48);
  options.kinds = {BuildKind::fade};
  const Comparison c = compare_builds(scene, arrived, options);
  ShirtRunSettings settings;
  settings.shirts = 48;
  const ShirtRun run = run_shirts(scene, arrived, RegisterRun(register_model(scene)), settings);
  EXPECT_EQ(c.as_they_stand.run.showing.visible.shirts, run.showing.visible.shirts);
  EXPECT_EQ(c.as_they_stand.run.showing.gap.shirts, run.showing.gap.shirts);
  // Two discs: the dark one lies wholly on the light one, solid on solid.
  const double solid = load_at(arrived.model(), c.roles, false, 1, 1);
  EXPECT_DOUBLE_EQ(c.as_they_stand.load, solid);
}

// By hand: discs of 4 and 2 mm, wider by what the ink spreads, times film, density, shirts and a tenth; 200 g
// fill each of two screens.
TEST(DecisionPage, InkIsTheDiscsAsPrinted) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  double want = 2 * 200.0;
  for (std::size_t p = 0; p < 2; ++p) {
    const ScenePass& pass = scene.passes[p];
    const double r = (p == 0 ? 4 : 2) + arrived.covers()[p].spread_px() * kMmPerInch / 300;
    want += 1.1 * 144 * std::numbers::pi * r * r * wet_deposit_of(pass).v * 1e-6 * pass.ink.density_g_cm3;
  }
  EXPECT_NEAR(order_grams(arrived, scene, 144, 2), want, 0.005 * (want - 400));
  EXPECT_EQ(order_grams(arrived, scene, 144, 1), order_grams(arrived, scene, 144, 2));
}

TEST(DecisionPage, SameResultOnAnyNumberOfThreads) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  CompareOptions options = without_pictures(24);
  options.threads = 1;
  const Comparison one = compare_builds(scene, arrived, options);
  options.threads = 2;
  const Comparison two = compare_builds(scene, arrived, options);
  ASSERT_EQ(one.builds.size(), two.builds.size());
  for (std::size_t i = 0; i < one.builds.size(); ++i) {
    EXPECT_EQ(one.builds[i].figures.total, two.builds[i].figures.total);
    EXPECT_EQ(one.builds[i].run.showing.visible.shirts, two.builds[i].run.showing.visible.shirts);
  }
}

}  // namespace
}  // namespace kirtle
