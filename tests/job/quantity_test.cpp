#include "job/quantity.h"

#include <gtest/gtest.h>

namespace kirtle {
namespace {

struct Row {
  const char* text;
  Measure measure;
  double value;
};

// Truth: 1 in = 25.4 mm; 1 pt = 1/72 in (ISO 32000); F = 1.8 C + 32.
TEST(Quantity, TurnsEveryUnitIntoTheMeasuresOwn) {
  const Row rows[] = {
      {"0.3 mm", Measure::length_mm, 0.3},
      {"0.3mm", Measure::length_mm, 0.3},
      {"  -0.3  mm ", Measure::length_mm, -0.3},
      {"1 pt", Measure::length_mm, 25.4 / 72},
      {"1/64 in", Measure::length_mm, 25.4 / 64},
      {"0.5in", Measure::length_mm, 12.7},
      {"2 cm", Measure::length_mm, 20},
      {"45 um", Measure::length_mm, 0.045},
      {"45 \u00b5m", Measure::length_um, 45},
      {"45 \u03bcm", Measure::length_um, 45},
      {"0.045 mm", Measure::length_um, 45},
      {"0.001 in", Measure::length_um, 25.4},
      {"1 pt", Measure::length_um, 25400.0 / 72},
      {"61/cm", Measure::mesh_per_cm, 61},
      {"61 /cm", Measure::mesh_per_cm, 61},
      {"156/in", Measure::mesh_per_cm, 156 / 2.54},
      {"160 C", Measure::temperature_c, 160},
      {"160 \u00b0C", Measure::temperature_c, 160},
      {"320 F", Measure::temperature_c, 160},
      {"-40 F", Measure::temperature_c, -40},
      {"90 s", Measure::time_s, 90},
      {"1.5 min", Measure::time_s, 90},
      {"0.5 h", Measure::time_s, 1800},
  };
  for (const Row& r : rows) {
    const std::optional<double> x = quantity_from(r.text, r.measure);
    ASSERT_TRUE(x.has_value()) << r.text;
    EXPECT_NEAR(*x, r.value, 1e-12 * std::max(1.0, std::abs(r.value))) << r.text;
  }
}

TEST(Quantity, RefusesWhatIsNotANumberWithAKnownUnit) {
  for (const char* text : {"", "mm", "3", "3 ft", "3 mm x", "nan mm", "inf mm", "1e999 mm", "1/0 in",
                           "1/-2 in", "1//2 in", "0x10 mm", "3 MM", "1,5 mm"}) {
    EXPECT_FALSE(quantity_from(text, Measure::length_mm).has_value()) << text;
  }
  EXPECT_FALSE(quantity_from("160", Measure::temperature_c).has_value());
  EXPECT_FALSE(quantity_from("160 K", Measure::temperature_c).has_value());
  EXPECT_FALSE(quantity_from("156", Measure::mesh_per_cm).has_value());
  EXPECT_FALSE(quantity_from("43-80", Measure::mesh_per_cm).has_value());
}

TEST(Quantity, NamesItsUnits) {
  EXPECT_EQ(units_of(Measure::length_mm), "um, mm, cm, in or pt");
  EXPECT_EQ(units_of(Measure::mesh_per_cm), "/cm or /in");
  EXPECT_EQ(units_of(Measure::temperature_c), "C or F");
  EXPECT_EQ(units_of(Measure::time_s), "s, min or h");
}

}  // namespace
}  // namespace kirtle
