// Many pixels of a cell at once, in float, against the table's double form; and the same bits on any
// processor.
#include "print/cell_form.h"

#include "base/simd.h"
#include "light/delta_e_2000.h"
#include "print/halftone_cases.h"
#include "print/mixer.h"
#include "print/overprint_table.h"
#include "print/print_checks.h"

#include <cmath>
#include <cstring>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using test::de00;
using test::kD50;
using test::RandomValues;

OverprintTable random_table(RandomValues& random, int plates) {
  std::vector<PlateDots> dots;
  for (int i = 0; i < plates; ++i) dots.push_back(demo::round_dots(55, 7.0 * i));
  return OverprintTable(
      Stack(demo::black_cloth(), demo::random_passes(random, plates), plates, demo::process(), {}),
      std::move(dots), {kD50, {}});
}

XYZ lane_colour(const FormLanes& lanes, int i) {
  return {static_cast<double>(lanes.xyz[0][i]), static_cast<double>(lanes.xyz[1][i]),
          static_cast<double>(lanes.xyz[2][i])};
}

TEST(CellForm, IsTheTablesColourInRampsAndNoise) {
  RandomValues random(7);
  double worst = 0;
  for (int plates = 1; plates <= kMostFormPlates; ++plates) {
    const OverprintTable table = random_table(random, plates);
    CellKey key;
    key.fractional = static_cast<std::uint16_t>((1u << plates) - 1);
    std::unique_ptr<Cell> spare;
    const CellForm& form = table.form(key, spare);
    ASSERT_EQ(form.plates, plates);
    for (int run = 0; run < 12; ++run) {
      FormLanes lanes;
      for (int p = 0; p < plates; ++p) {
        for (int i = 0; i < kFormLanes; ++i) {
          // Ramps along one plate or all of them, ends included, and noise.
          const double ramp = i / (kFormLanes - 1.0);
          const double share = run == p || run == 11 ? ramp : run == 10 ? 1 - ramp : random.even(0, 1);
          lanes.share[p][i] = static_cast<float>(share);
        }
      }
      mix_lanes(form, lanes);
      for (int i = 0; i < kFormLanes; ++i) {
        std::vector<double> share;
        for (int p = 0; p < plates; ++p) share.push_back(static_cast<double>(lanes.share[p][i]));
        worst = std::max(worst, de00(lane_colour(lanes, i), table.mix(share)));
      }
    }
    RecordProperty("worst_after_" + std::to_string(plates), std::to_string(worst));
  }
  EXPECT_LT(worst, 0.01);
}

TEST(CellForm, SameBitsOnAnyProcessorAndInAnyLane) {
  if (!has_avx2()) GTEST_SKIP() << "no AVX2 here: only one of the two builds of the loop can run";
  RandomValues random(8);
  for (const int plates : {1, 2, 3, 4, 5, 6, 8}) {
    const OverprintTable table = random_table(random, plates);
    CellKey key;
    key.fractional = static_cast<std::uint16_t>((1u << plates) - 1);
    FormLanes lanes, anywhere, turned;
    for (int p = 0; p < plates; ++p) {
      for (int i = 0; i < kFormLanes; ++i) {
        anywhere.share[p][i] = lanes.share[p][i] = static_cast<float>(random.even(0, 1));
        turned.share[p][(i + 5) % kFormLanes] = lanes.share[p][i];
      }
    }
    std::unique_ptr<Cell> spare;
    const CellForm& form = table.form(key, spare);
    mix_lanes(form, lanes);
    mix_lanes(form, turned);
    detail::mix_lanes_anywhere(form, anywhere);
    EXPECT_EQ(std::memcmp(lanes.xyz, anywhere.xyz, sizeof lanes.xyz), 0) << plates;
    for (int i = 0; i < kFormLanes; ++i) {
      for (int channel = 0; channel < 3; ++channel)
        EXPECT_EQ(lanes.xyz[channel][i], turned.xyz[channel][(i + 5) % kFormLanes]);
    }
  }
}

TEST(Mixer, GatheredIsAsMixedAtOnce) {
  // Plates of one screen in and out of register, a soaked field with its levels, and one that falls
  // independently: cells with a form and without.
  RandomValues random(9);
  std::vector<PlateDots> dots{demo::round_dots(55), demo::round_dots(55), demo::round_dots(55, 52.5),
                              demo::round_dots(55, 22.5, true)};
  for (const double shift : {0.0, 0.1}) {
    dots[1].offset_x = {shift};
    TableSettings settings{kD50, {}};
    if (shift > 0) settings.most_cell_bytes = 0;  // forms then live with the mixer
    const OverprintTable table(
        Stack(demo::black_cloth(), demo::random_passes(random, 4), 4, demo::process(), {}), dots, settings);
    Mixer mixer(table);
    constexpr int kTuples = 200;
    std::vector<std::array<std::uint16_t, kMostPlates>> tuples(kTuples);
    std::vector<XYZf> gathered(kTuples);
    for (int i = 0; i < kTuples; ++i) {
      for (int p = 0; p < 4; ++p) {
        const double v = random.even(-0.3, 1.3);
        tuples[i][p] = static_cast<std::uint16_t>(std::lround(65535 * std::clamp(v, 0.0, 1.0)));
      }
      mixer.put(tuples[i].data(), &gathered[i]);
    }
    mixer.settle();
    for (int i = 0; i < kTuples; ++i) {
      const XYZf once = mixer.mix(tuples[i].data());
      EXPECT_LT(de00({gathered[i].x, gathered[i].y, gathered[i].z}, {once.x, once.y, once.z}), 0.01) << i;
    }
  }
}

}  // namespace
}  // namespace kirtle
