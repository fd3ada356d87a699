// The contracted table against the overprint table it was made from: same XYZ, films and fields mixed.
#include "build.h"
#include "light/delta_e_2000.h"
#include "pair_basis.h"
#include "pair_lattice.h"
#include "plate/io/write_picture.h"
#include "predict/predict_test.h"
#include "print/mixing.h"

namespace kirtle::test {
namespace {

class LatticeTest : public PredictTest {
 protected:
  /// Largest dE00 over random coverages.
  static double worst(const Scene& scene, std::size_t most) {
    const PrintModel model(scene);
    const auto lattice = PairLattice::make(model.table, most, 2);
    const std::vector<float> xyz = lattice->contracted(model.table.weights());
    std::uint32_t state = 7;
    const auto draw = [&] { return (state = state * 1664525u + 1013904223u) / 4294967296.0; };
    double worst = 0;
    for (int i = 0; i < 300; ++i) {
      std::vector<double> cover, films, doses;
      for (int p = 0; p < model.table.plates(); ++p) {
        double c = draw();
        c = c < 0.15 ? 0 : c > 0.85 ? 1 : (c - 0.15) / 0.7;
        cover.push_back(c);
        (model.table.dots(p).field ? doses : films).push_back(c);
      }
      const XYZ got = lattice->mix(xyz, demichel(films), doses), want = model.table.mix(cover);
      const XYZ white = model.table.weights().white;
      worst = std::max(worst, delta_e_2000(lab_from_xyz(got, white), lab_from_xyz(want, white)));
    }
    return worst;
  }
};

TEST_F(LatticeTest, FilmsAreExact) {
  EXPECT_LT(worst(scene("black-cotton", {"w base-white; angle = 0; flash = true", "r red; angle = 15",
                                         "k black; angle = 75"}),
                  0),
            0.01);
}

// The shorter form against the pairs themselves: six films, solids and tints.
TEST_F(LatticeTest, TheShorterFormIsNearThePairs) {
  const PrintModel model(
      scene("black-cotton",
            {"w base-white; angle = 0; flash = true", "y lemon-yellow; angle = 15", "r red; angle = 30",
             "b royal-blue; angle = 45", "g kelly-green; angle = 60", "h base-white; angle = 75"}));
  const auto lattice = PairLattice::make(model.table, 0, 2);
  const ViewingWeights& weights = model.table.weights();
  const std::vector<float> xyz = lattice->contracted(weights);
  const PairBasis basis = make_pair_basis(xyz, 64, weights.white);
  EXPECT_EQ(basis.rank % 4, 0);
  EXPECT_LE(basis.rank, 24);
  std::uint32_t state = 11;
  const auto draw = [&] { return (state = state * 1664525u + 1013904223u) / 4294967296.0; };
  double worst = 0;
  for (int i = 0; i < 500; ++i) {
    std::vector<double> films;
    for (int p = 0; p < 6; ++p) films.push_back(std::clamp(draw() * 1.6 - 0.3, 0.0, 1.0));
    const std::vector<double> w = demichel(films);
    worst = std::max(worst, delta_e_2000(lab_from_xyz(basis.mix(w), weights.white),
                                         lab_from_xyz(lattice->mix(xyz, w, {}), weights.white)));
  }
  EXPECT_LT(worst, 0.1);
  EXPECT_GT(worst, 1e-6) << "the comparison compares something with itself";
}

TEST_F(LatticeTest, OneFieldIsExact) {
  EXPECT_LT(worst(scene("forest-green-cotton", {"c discharge-cream"}), 0), 0.01);
}

// Two fields in one cell: the bends add, what their products do is left out.
TEST_F(LatticeTest, TwoFieldsAddTheirBends) {
  EXPECT_LT(worst(scene("forest-green-cotton", {"c discharge-cream", "b wb-dark-brown"}), 0), 0.15);
}

TEST_F(LatticeTest, AFieldUnderFilms) {
  EXPECT_LT(worst(scene("forest-green-cotton",
                        {"c discharge-cream", "r red; angle = 15", "w base-white; angle = 45"}),
                  0),
            0.15);
}

// What is shown until the whole lattice is there: three soaked inks, as many values as viewer/build.cpp
// allows then.
TEST_F(LatticeTest, ThinnedLevelsAreNearEnoughToLookAt) {
  EXPECT_LT(worst(scene("white-cotton", {"y wb-yellow", "r wb-red", "b wb-blue"}), kQuickValues), 1.0);
}

TEST_F(LatticeTest, WhatDoesNotFitIsSaid) {
  EXPECT_FALSE(
      PairLattice::fits(PrintModel(scene("black-cotton", {"r red"}, "[model]\nyule_nielsen_n = 2\n")).table));
}

// Codes say what the plate's contours and tints are.
TEST_F(LatticeTest, CodesHoldDistanceAndTone) {
  PlateImage image;
  image.width = 64;
  image.height = 16;
  image.ink8.assign(64 * 16, 0);
  for (int y = 0; y < 16; ++y) {
    for (int x = 20; x < 40; ++x) image.ink8[static_cast<std::size_t>(y * 64 + x)] = 255;
    for (int x = 46; x < 64; ++x) image.ink8[static_cast<std::size_t>(y * 64 + x)] = 102;
  }
  CoverSettings settings;
  settings.tone.spread = {0};
  const auto codes = make_plate_codes(image, 300, settings, 1);
  const auto at = [&](int x) { return decode(*codes, codes->code[static_cast<std::size_t>(8 * 64 + x)]); };
  EXPECT_EQ(codes->code[8 * 64 + 5], kCodeNone);
  EXPECT_EQ(codes->code[8 * 64 + 30], kCodeSolid);
  EXPECT_TRUE(at(55).tint);
  EXPECT_NEAR(at(55).film, 0.4, 1e-4);
  EXPECT_TRUE(at(20).edge);
  EXPECT_NEAR(at(20).distance, -0.5, 1e-3);  // the contour runs between 19 and 20
  EXPECT_NEAR(at(19).distance, 0.5, 1e-3);
}

}  // namespace
}  // namespace kirtle::test
