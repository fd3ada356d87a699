// A print of 12 x 13.5 in on youth S to 3XL, as a printer asks on the first day (common practice, no source).
#include "proof/print_fit.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using S = ShirtSize;

const std::vector<S> kAdult{S::s, S::m, S::l, S::xl, S::xl2, S::xl3};

TEST(PrintFit, AdultPassesYouthIsFlaggedTwoSetsAreOffered) {
  std::vector<S> sizes{S::ys, S::ym, S::yl};
  sizes.insert(sizes.end(), kAdult.begin(), kAdult.end());
  const FitReport fit = fit_print(12, 13.5, PrintLocation::front, sizes);
  EXPECT_EQ(fit.fits, kAdult);
  EXPECT_THAT(fit.too_small, ElementsAre(S::ys, S::ym, S::yl));
  ASSERT_EQ(fit.offered.size(), 2u);
  EXPECT_EQ(fit.offered[0].width_in, 9.5);
  EXPECT_EQ(fit.offered[1].width_in, 12);
  EXPECT_EQ(fit.one_set_width_in, 9.5);
  EXPECT_EQ(usual_print(true, PrintLocation::front).width_in, 9);
  EXPECT_EQ(usual_print(true, PrintLocation::front).height_in, 12);
  const DropRange drop = drop_range(false, PrintLocation::front);
  EXPECT_EQ(drop.low_in, 2);
  EXPECT_EQ(drop.high_in, 3.5);
}

TEST(PrintFit, HeightCountsToo) {
  const FitReport tall = fit_print(4, 16, PrintLocation::front, {S::s, S::l});
  EXPECT_THAT(tall.too_small, ElementsAre(S::s));
  EXPECT_EQ(tall.offered[0].width_in, 3.75);  // 15 in high
}

TEST(PrintFit, NothingToOfferWhereAllOrNoneFit) {
  EXPECT_THAT(fit_print(9, 11, PrintLocation::front, {S::ys, S::xl5}).offered, IsEmpty());
  const FitReport none = fit_print(20, 20, PrintLocation::front, {S::s, S::m});
  EXPECT_THAT(none.fits, IsEmpty());
  EXPECT_THAT(none.offered, IsEmpty());
  EXPECT_EQ(none.one_set_width_in, 12.5);
  EXPECT_THAT(fit_print(20, 20, PrintLocation::front, {}).too_small, IsEmpty());
}

TEST(PrintFit, EverySizeTakesWhatIsUsualForIt) {
  for (int i = 0; i < kShirtSizes; ++i) {
    const S size = static_cast<S>(i);
    if (size == S::xs || size == S::yxs) continue;  // the smallest of each take less
    for (const PrintLocation at : {PrintLocation::front, PrintLocation::back, PrintLocation::left_chest,
                                   PrintLocation::sleeve, PrintLocation::nape}) {
      const PrintSize usual = usual_print(is_youth(size), at);
      EXPECT_THAT(fit_print(usual.width_in, usual.height_in, at, {size}).too_small, IsEmpty())
          << to_string(size) << ' ' << to_string(at);
    }
  }
}

TEST(PrintFit, SizesAreListedAsSaid) {
  EXPECT_EQ(sizes_text({S::ys}), "YS");
  EXPECT_EQ(sizes_text({S::ys, S::m, S::xl2}), "YS, M and 2XL");
}

}  // namespace
}  // namespace kirtle
