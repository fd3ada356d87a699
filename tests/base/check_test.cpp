#include "base/check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <limits>

namespace kirtle {
namespace {

TEST(Check, PassesQuietlyAndEvaluatesOnce) {
  int calls = 0;
  KIRTLE_CHECK(++calls, ==, 1);
  EXPECT_EQ(calls, 1);
}

TEST(Check, ShowsBothOperands) {
  const int plates = 3;
  try {
    KIRTLE_CHECK(plates + 1, <=, 2);
    FAIL() << "nothing was thrown";
  } catch (const InternalError& e) {
    EXPECT_THAT(e.what(),
                testing::MatchesRegex(
                    "internal error at .*check_test.cpp:[0-9]+: plates \\+ 1 <= 2 fails with 4 and 2"));
  }
}

TEST(Check, NanFailsEveryComparison) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(KIRTLE_CHECK(nan, >=, 0.0), InternalError);
  EXPECT_THROW(KIRTLE_CHECK(nan, <, 0.0), InternalError);
  EXPECT_THROW(KIRTLE_CHECK(nan, ==, nan), InternalError);
}

TEST(Check, IsOneStatement) {
  const bool never = false;
  if (never)
    KIRTLE_CHECK(1, ==, 2);
  else
    SUCCEED();
}

}  // namespace
}  // namespace kirtle
