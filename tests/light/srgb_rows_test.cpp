// Rows against the encoding of one colour, in runs and ramps, inside sRGB, at its border and outside.
#include "light/srgb_rows.h"

#include "base/check.h"
#include "base/simd.h"
#include "light/weights.h"

#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <random>
#include <vector>

namespace kirtle {
namespace {

const XYZ kWhite = viewing_weights("D50", Observer::cie1931_2deg).white;

void add(std::vector<float>& row, const XYZ& c, int times = 1) {
  for (int i = 0; i < times; ++i) {
    for (const double v : {c.x, c.y, c.z}) row.push_back(static_cast<float>(v));
  }
}

/// Greys from black to white, ramps of each primary, colours at random of which a part is outside, runs of
/// all lengths up to 70.
std::vector<float> colours() {
  std::vector<float> row;
  for (int i = 0; i <= 4000; ++i) {
    const double v = std::pow(i / 4000.0, 2.4);
    add(row, xyz_from_linear_srgb({v, v, v}, kWhite));
    add(row, xyz_from_linear_srgb({v, 0.2 * v, 0.01}, kWhite));
    add(row, xyz_from_linear_srgb({0.3, v, 0.1}, kWhite));
    add(row, xyz_from_linear_srgb({0.02, 0.1, v}, kWhite));
  }
  std::mt19937 random(3);
  const auto even = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  for (int i = 0; i < 20000; ++i)
    add(row, xyz_from_linear_srgb({even(-0.03, 1.03), even(-0.03, 1.03), even(-0.03, 1.03)}, kWhite));
  for (int length = 1; length <= 70; ++length)
    add(row, xyz_from_linear_srgb({even(0, 1.01), even(0, 1), even(0, 1)}, kWhite), length);
  return row;
}

XYZ at(const std::vector<float>& row, std::size_t pixel) {
  return {static_cast<double>(row[3 * pixel]), static_cast<double>(row[3 * pixel + 1]),
          static_cast<double>(row[3 * pixel + 2])};
}

TEST(SrgbRows, WithinHalfACodeOfTheExactEncoding) {
  const std::vector<float> row = colours();
  std::vector<std::uint8_t> codes(row.size());
  SrgbRows(kWhite).encode8(row, codes, nullptr);
  for (std::size_t i = 0; i < row.size() / 3; ++i) {
    const LinearRgb exact = srgb_from_xyz(at(row, i), kWhite).linear;
    const double want[] = {exact.r, exact.g, exact.b};
    for (std::size_t c = 0; c < 3; ++c) ASSERT_NEAR(codes[3 * i + c], 255 * srgb_encode(want[c]), 0.51) << i;
  }
}

TEST(SrgbRows, CountsAndSixteenBitsAreThoseOfOneColourAtATime) {
  const std::vector<float> row = colours();
  std::vector<std::uint8_t> codes8(row.size());
  std::vector<std::uint16_t> codes16(row.size());
  ClipReport rows8, rows16, one;
  SrgbRows(kWhite).encode8(row, codes8, &rows8);
  SrgbRows(kWhite).encode16(row, codes16, &rows16);
  const SrgbEncoder encoder(kWhite);
  for (std::size_t i = 0; i < row.size() / 3; ++i) {
    const Rgb16 want = encoder.encode16(at(row, i), &one);
    for (std::size_t c = 0; c < 3; ++c) ASSERT_EQ(codes16[3 * i + c], want[c]) << i;
  }
  for (const ClipReport& r : {rows8, rows16}) {
    EXPECT_EQ(r.colours, one.colours);
    EXPECT_EQ(r.clipped, one.clipped);
    EXPECT_EQ(r.largest_de00, one.largest_de00);
  }
  EXPECT_GT(one.clipped, 100u);
}

TEST(SrgbRows, SameCodesOnAnyProcessor) {
  if (!has_avx2()) GTEST_SKIP() << "no AVX2 here: only one of the two builds of the loop can run";
  const std::vector<float> row = colours();
  std::vector<std::uint8_t> here(row.size()), anywhere(row.size());
  SrgbRows(kWhite).encode8(row, here, nullptr);
  SrgbRows(kWhite, true).encode8(row, anywhere, nullptr);
  EXPECT_EQ(here, anywhere);
}

TEST(SrgbRows, GivenWhereColoursBeginTheCodesAndCountsAreTheSame) {
  std::vector<float> all = colours();
  constexpr int kColumns = 997;  // rows that end within a word
  const int rows = static_cast<int>(all.size() / 3) / kColumns;
  all.resize(static_cast<std::size_t>(3 * rows * kColumns));
  std::vector<float> sparse(all.size(), std::numeric_limits<float>::quiet_NaN());
  std::vector<std::uint64_t> begins(static_cast<std::size_t>(rows) * ColourRuns::words(kColumns));
  for (std::size_t i = 0; i < all.size() / 3; ++i) {
    const std::size_t row = i / kColumns, x = i % kColumns;
    if (x > 0 && std::equal(&all[3 * i], &all[3 * i] + 3, &all[3 * i - 3])) continue;
    begins[row * ColourRuns::words(kColumns) + x / 64] |= std::uint64_t{1} << (x % 64);
    std::copy_n(&all[3 * i], 3, &sparse[3 * i]);
  }
  const ColourRuns runs{kColumns, rows, sparse, begins};
  std::vector<std::uint8_t> want8(all.size()), got8(all.size());
  std::vector<std::uint16_t> want16(all.size()), got16(all.size());
  ClipReport want, got;
  SrgbRows(kWhite).encode8(all, want8, &want);
  SrgbRows(kWhite).encode16(all, want16, &want);
  SrgbRows(kWhite).encode8(runs, got8, &got);
  SrgbRows(kWhite).encode16(runs, got16, &got);
  EXPECT_EQ(got8, want8);
  EXPECT_EQ(got16, want16);
  EXPECT_EQ(got.clipped, want.clipped);
  EXPECT_EQ(got.colours, want.colours);
  EXPECT_EQ(got.largest_de00, want.largest_de00);
  runs.fill();
  EXPECT_EQ(sparse, all);
}

TEST(SrgbRows, WhatIsNotFiniteIsOurBug) {
  for (const float bad : {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity()}) {
    std::vector<float> row(9, 20.0F);
    row[4] = bad;
    std::vector<std::uint8_t> codes(9);
    EXPECT_THROW(SrgbRows(kWhite).encode8(row, codes, nullptr), InternalError);
  }
}

}  // namespace
}  // namespace kirtle
