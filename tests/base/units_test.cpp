#include "base/units.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

// 1 in = 25.4 mm exactly (international yard and pound agreement, 1959). 1 pt = 1/72 in (ISO 32000).
TEST(Units, LengthsConvertExactly) {
  EXPECT_EQ(to_um(Mm{1.5}), Um{1500.0});
  EXPECT_EQ(to_mm(Um{1500.0}), Mm{1.5});
  EXPECT_DOUBLE_EQ(kMmPerPoint * 72, kMmPerInch);
  EXPECT_DOUBLE_EQ(kUmPerInch, kMmPerInch * 1000);
  EXPECT_DOUBLE_EQ(kCmPerInch * 10, kMmPerInch);
  EXPECT_LT(Um{1.0}, Um{2.0});
}

TEST(Units, TemperatureAndThreadCountAsShopsSayThem) {
  EXPECT_DOUBLE_EQ(fahrenheit_from_celsius(100), 212);
  EXPECT_DOUBLE_EQ(threads_per_inch_from_per_cm(43), 109.22);
}

}  // namespace
}  // namespace kirtle
