// The decision report: its boxes, its rows, its first line.
#include "compare/decision_page.h"

#include "compare/scenes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

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

TEST(DecisionPage, SameResultOnAnyNumberOfThreads) {
  const Scene scene = test::moth();
  const Prediction arrived(scene, test::discs(), 300);
  CompareOptions options;
  options.shirts = 24;
  options.pictures = false;
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
