#include "base/provenance.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

TEST(Provenance, EveryStatusHasItsName) {
  EXPECT_EQ(to_string(DataStatus::measured), "measured");
  EXPECT_EQ(to_string(DataStatus::literature), "literature");
  EXPECT_EQ(to_string(DataStatus::estimated), "estimated");
  EXPECT_EQ(to_string(DataStatus::invented), "invented");
}

TEST(Provenance, WhatNobodyStatedCountsAsInvented) { EXPECT_EQ(Provenance{}.status, DataStatus::invented); }

}  // namespace
}  // namespace kirtle
