#include "base/provenance.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

TEST(Provenance, NamesOfTheStatusGoBothWays) {
  EXPECT_EQ(to_string(DataStatus::measured), "measured");
  EXPECT_EQ(to_string(DataStatus::literature), "literature");
  EXPECT_EQ(to_string(DataStatus::estimated), "estimated");
  EXPECT_EQ(to_string(DataStatus::invented), "invented");
  for (const DataStatus s :
       {DataStatus::measured, DataStatus::literature, DataStatus::estimated, DataStatus::invented}) {
    EXPECT_EQ(data_status_from(to_string(s)), s);
  }
}

TEST(Provenance, OtherNamesAreNoStatus) {
  for (const char* text : {"", "Measured", "measured ", "placeholder", "measure"}) {
    EXPECT_EQ(data_status_from(text), std::nullopt) << text;
  }
}

TEST(Provenance, WhatNobodyStatedCountsAsInvented) {
  EXPECT_EQ(Provenance{}.status, DataStatus::invented);
  EXPECT_EQ(Estimated<double>{}.status, DataStatus::invented);
}

}  // namespace
}  // namespace kirtle
