// What the demonstration records must look like when printed. Bounds: common practice, no source.
#include "cloth/discharge.h"
#include "job/library.h"
#include "light/delta_e_2000.h"
#include "light/weights.h"
#include "screen/deposit.h"
#include "stack/stack.h"

#include <cmath>
#include <cstdlib>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

struct Stroke {
  const char* ink;
  const char* mesh;
};

class InkdataLook : public ::testing::Test {
 protected:
  void SetUp() override {
    ::unsetenv("KIRTLE_DATA");
    library_.emplace(load_library({}, faults_));
  }
  /// Solids one on the other, flashed between, transfer 0.7. D50, 2 degrees.
  Lab printed(const char* shirt, const std::vector<Stroke>& strokes) {
    std::vector<StackPass> passes;
    for (const Stroke& s : strokes) {
      const Um wet = wet_deposit(*library_->mesh(s.mesh, {}, faults_), 0.7, 1);
      passes.push_back({static_cast<int>(passes.size()), *library_->ink(s.ink, {}, faults_), wet, true});
    }
    const int plates = static_cast<int>(passes.size());
    const Stack stack(*library_->shirt(shirt, {}, faults_), passes, plates, DischargeProcess{},
                      StackSettings{});
    const std::vector<double> solid(passes.size(), 1.0);
    return lab_from_reflectance(mean_reflectance(stack.at(solid)),
                                viewing_weights("D50", Observer::cie1931_2deg));
  }
  Lab bare(const char* shirt) { return printed(shirt, {}); }
  Lab discharged(const char* shirt) { return printed(shirt, {{"discharge-clear", "43-80"}}); }

  Diagnostics faults_;
  std::optional<Library> library_;
};

double hue_gap(const Lab& a, const Lab& b) {
  const double d = std::fabs(hue_degrees(a) - hue_degrees(b));
  return std::min(d, 360 - d);
}

TEST_F(InkdataLook, WhiteOnBlack) {
  EXPECT_NEAR(printed("black-cotton", {{"base-white", "43-80"}}).l, 80, 4);
  EXPECT_NEAR(printed("black-cotton", {{"base-white", "43-80"}, {"base-white", "43-80"}}).l, 88, 3);
  EXPECT_NEAR(printed("black-cotton", {{"base-white", "61-64"}}).l, 75, 5);
  EXPECT_LT(printed("black-cotton", {{"highlight-white", "43-80"}}).l, 90)
      << "one stroke never reaches L* 90";
}

TEST_F(InkdataLook, BlackDischargesToEcruNotToWhite) {
  const Lab black = bare("black-cotton"), ecru = discharged("black-cotton");
  EXPECT_GE(black.l, 16);
  EXPECT_LE(black.l, 20);
  EXPECT_GE(ecru.l, 75);
  EXPECT_LE(ecru.l, 85);
  EXPECT_GE(ecru.b, 5);
  EXPECT_LE(ecru.b, 14);
  EXPECT_LT(discharged("black-cotton-sulphur").l, 45) << "the same colour name from a dye that comes back";
}

TEST_F(InkdataLook, PoorGroundsKeepTheirHue) {
  const Lab lavender = discharged("purple-cotton");
  EXPECT_GT(lavender.l, 60);
  EXPECT_GE(chroma(lavender), 8);
  EXPECT_LE(chroma(lavender), 30);
  EXPECT_GE(hue_degrees(lavender), 280);
  EXPECT_LE(hue_degrees(lavender), 320);
  const Lab mint = discharged("kelly-green-cotton");
  EXPECT_GE(chroma(mint), 8);
  EXPECT_LE(chroma(mint), 25);
  EXPECT_LE(hue_gap(mint, bare("kelly-green-cotton")), 20);
  EXPECT_GE(chroma(discharged("royal-cotton")), 25) << "a strong blue stays";
}

TEST_F(InkdataLook, PolyesterStaysAndABlendGoesHalfWay) {
  EXPECT_LT(delta_e_2000(bare("black-polyester"), discharged("black-polyester")), 1);
  EXPECT_LT(delta_e_2000(bare("red-polyester"), discharged("red-polyester")), 1);
  const double from = bare("black-blend").l, to = discharged("black-cotton").l,
               half = discharged("black-blend").l;
  EXPECT_GT(half, from + 0.3 * (to - from));
  EXPECT_LT(half, from + 0.8 * (to - from));
}

TEST_F(InkdataLook, WellGradedShirtsComeOutLight) {
  // What is left of a shirt graded 4 or 5 is light and close to grey.
  for (const Cloth& good : library_->all_shirts(faults_)) {
    if (good.discharge_grade < 4) continue;
    const Lab left = discharged(good.id.c_str());
    EXPECT_GT(left.l, 72) << good.id;
    EXPECT_LT(chroma(left), 16) << good.id;
  }
}

}  // namespace
}  // namespace kirtle
