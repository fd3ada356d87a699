#include "print/loupe.h"

#include "base/check.h"
#include "print/loupe_prints.h"
#include "print/print_checks.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <numbers>

namespace kirtle {
namespace {

using demo::GroundKind;
using test::Errors;
using test::kGroundNames;
using test::kGrounds;
using test::RandomValues;

using namespace loupe_test;

constexpr LoupeSettings kPlain{.scatter = false};

// Angles between screens. Not 30 and 60 degrees: the first waves of three such screens add up to nothing, so
// that their dots keep in step for ever and do not fall independently.
constexpr double kApart[] = {0, 25, 52};

// Truth: arm's length, area mixing (n = 1). Two or three tints whose screens share no angle, 100 periods a
// side.
TEST(Loupe, WithoutScatterIsArmsLengthOnAverage) {
  RandomValues random(1);
  double worst = 0;
  for (int run = 0; run < 16; ++run) {
    const int plates = 2 + run % 2;
    const Stack stack(demo::random_cloth(random), demo::random_passes(random, plates), plates,
                      demo::process(), {});
    std::vector<PlateDots> dots;
    std::vector<double> film;
    const double first = random.even(0, 30);
    for (int p = 0; p < plates; ++p) {
      dots.push_back(demo::round_dots(55, first + kApart[p]));
      dots.back().halftone.shape = static_cast<DotShape>((run + p) % 3);
      film.push_back(random.even(0.05, 0.95));
    }
    const FlatPrint print(stack, dots, film, 35, 3, 1.0);
    const double side = 100 * 25.4 / 55;
    const XYZ loupe =
        mean_of(print.render({{random.even(2, 20)}, {random.even(2, 20)}, {side}, {side}, 1200}, kPlain));
    const double error = de00(loupe, print.table.mix(print.printed));
    worst = std::max(worst, error);
    EXPECT_LT(error, 0.15) << run;
  }
  RecordProperty("worst_de00", std::to_string(worst));
}

class LoupeWithScatter : public testing::TestWithParam<int> {};

// Truth: the flux model solved in double on one period, and the pair form that predictions use, on three
// grounds, three line counts, five inks from clear to opaque. The loupe differs from the first by its raster
// and borders alone; from the second by what the pair form leaves out (recorded, with the error of one m for
// all tones).
TEST_P(LoupeWithScatter, IsTheFluxModelAndCloseToThePairForm) {
  const GroundKind ground = kGrounds[GetParam()];
  Errors flux_errors, pair_errors, half_errors;
  for (const demo::NamedInk& ink : demo::five_inks()) {
    const Stack stack = demo::halftone_stack(ground, ink.optics);
    const std::vector<Overprint> kinds{stack.at(std::vector{1.0, 0.0}), stack.at(std::vector{1.0, 1.0})};
    for (const double lpi : {45.0, 55.0, 65.0}) {
      for (const double tone : {0.2, 0.5, 0.8}) {
        const std::vector<PlateDots> dots{demo::round_dots(lpi, 0), demo::round_dots(lpi, 0)};
        const FlatPrint print(stack, dots, {1, tone}, 0, 1);
        // Whole periods in 480 device pixels.
        const double side = 480 * 25.4 / 2400;
        const XYZ loupe = mean_of(print.render({{3}, {3}, {side}, {side}, 2400}, {}));
        const Spectrum flux = flux_reflectance(demo::dot_cell(DotShape::round, tone, lpi, 64), kinds, 1e-5);
        flux_errors.add(de00(loupe, xyz_from_reflectance(flux, kD50)));
        const auto pair = [&](const PairForm& form) {
          return xyz_from_reflectance((1 - tone) * (1 - tone) * mean_reflectance(kinds[0]) +
                                          2 * tone * (1 - tone) * form.pair(kinds[0], kinds[1], {1}) +
                                          tone * tone * mean_reflectance(kinds[1]),
                                      kD50);
        };
        pair_errors.add(de00(loupe, pair(PairForm(dots, tone))));
        half_errors.add(de00(loupe, pair(PairForm(dots))));
      }
    }
  }
  RecordProperty("flux_mean", std::to_string(flux_errors.mean()));
  RecordProperty("flux_max", std::to_string(flux_errors.max));
  RecordProperty("pair_m_per_tone_mean", std::to_string(pair_errors.mean()));
  RecordProperty("pair_m_per_tone_max", std::to_string(pair_errors.max));
  RecordProperty("pair_one_m_mean", std::to_string(half_errors.mean()));
  RecordProperty("pair_one_m_max", std::to_string(half_errors.max));
  EXPECT_LT(flux_errors.max, 0.15);
  EXPECT_LT(pair_errors.max, 0.3);
}

INSTANTIATE_TEST_SUITE_P(Grounds, LoupeWithScatter, testing::Values(0, 1, 2),
                         [](const testing::TestParamInfo<int>& ground) {
                           return kGroundNames[ground.param];
                         });

bool same(const std::vector<XYZf>& a, const std::vector<XYZf>& b) {
  return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(), [](const XYZf& p, const XYZf& q) {
           return p.x == q.x && p.y == q.y && p.z == q.z;
         });
}

TEST(Loupe, ValuesDoNotDependOnThreads) {
  const BusyPrint print;
  const LoupeWindow window{{5}, {6}, {14}, {12}, 1200};
  for (const bool scatter : {false, true}) {
    const LoupeSettings settings{.scatter = scatter};
    EXPECT_TRUE(same(print.render(window, settings, 1), print.render(window, settings, 3))) << scatter;
  }
}

// A window that starts elsewhere has its tiles elsewhere. Without scatter nothing may differ but the last bit
// of the wicking; with it, what the borders cut off.
TEST(Loupe, TilesDoNotShow) {
  const BusyPrint print;
  const int more = 150;  // device pixels to the left and above
  const double pitch = 25.4 / 1200;
  const LoupeWindow window{{10}, {10}, {400 * pitch}, {400 * pitch}, 1200};
  LoupeWindow larger = window;
  larger.x.v -= more * pitch;
  larger.y.v -= more * pitch;
  larger.width.v += more * pitch;
  larger.height.v += more * pitch;
  for (const bool scatter : {false, true}) {
    const LoupeSettings settings{.scatter = scatter};
    const std::vector<XYZf> a = print.render(window, settings), b = print.render(larger, settings);
    double worst = 0, sum = 0;
    for (int y = 0; y < 400; ++y) {
      for (int x = 0; x < 400; ++x) {
        const double e = de00(wide(a[static_cast<std::size_t>(y * 400 + x)]),
                              wide(b[static_cast<std::size_t>((y + more) * (400 + more) + x + more)]));
        worst = std::max(worst, e);
        sum += e;
      }
    }
    RecordProperty(scatter ? "worst_scatter" : "worst_plain", std::to_string(worst));
    RecordProperty(scatter ? "mean_scatter" : "mean_plain", std::to_string(sum / 160000));
    EXPECT_LT(worst, scatter ? 0.3 : 0.1);
    EXPECT_LT(sum / 160000, 0.02);
  }
}

// The spread in every second band against every band: 0.1 is a tenth of what is seen side by side.
TEST(Loupe, HalfOfTheBandsIsEnough) {
  const BusyPrint print;
  const LoupeWindow window{{4}, {6}, {8}, {8}, 1200};
  const std::vector<XYZf> half = print.render(window), all = print.render(window, {.band_step = 1});
  std::vector<double> errors;
  double sum = 0;
  for (std::size_t i = 0; i < all.size(); ++i) {
    errors.push_back(de00(wide(half[i]), wide(all[i])));
    sum += errors.back();
  }
  std::sort(errors.begin(), errors.end());
  const double mean = sum / static_cast<double>(errors.size()), most = errors[errors.size() * 99 / 100];
  RecordProperty("mean_pixel", std::to_string(mean));
  RecordProperty("percentile_99", std::to_string(most));
  RecordProperty("worst_pixel", std::to_string(errors.back()));
  RecordProperty("mean_colour", std::to_string(de00(mean_of(half), mean_of(all))));
  EXPECT_LT(mean, 0.1);
  EXPECT_LT(most, 0.22);  // measured: .2001
  EXPECT_LT(de00(mean_of(half), mean_of(all)), 0.1);
}

TEST(Loupe, SmallerPicturesAreAreaMeans) {
  const BusyPrint print;
  const LoupeWindow window{{5}, {6}, {800 * 25.4 / 1200}, {400 * 25.4 / 1200}, 1200};
  const std::vector<XYZf> full = print.render(window, kPlain),
                          quarter = print.render(window, kPlain, 2, 0.25);
  ASSERT_EQ(full.size(), 800u * 400u);
  ASSERT_EQ(quarter.size(), 200u * 100u);
  for (const int at : {0, 57 * 200 + 130, 99 * 200 + 199}) {
    XYZ sum;
    for (int j = 0; j < 4; ++j)
      for (int i = 0; i < 4; ++i)
        sum += wide(full[static_cast<std::size_t>((at / 200 * 4 + j) * 800 + at % 200 * 4 + i)]) * (1 / 16.0);
    EXPECT_NEAR(wide(quarter[static_cast<std::size_t>(at)]).y, sum.y, 1e-4);
  }
}

TEST(Loupe, EveryPixelOfAFilmIsOneOverprint) {
  const Stack stack = demo::halftone_stack(GroundKind::white_base, demo::red());
  const FlatPrint print(stack, {demo::round_dots(55), demo::round_dots(55)}, {1, 0.4}, 0, 1);
  const XYZ bare = print.table.mix(std::vector{1.0, 0.0}), inked = print.table.mix(std::vector{1.0, 1.0});
  int in = 0;
  const std::vector<XYZf> xyz = print.render({{2}, {2}, {15}, {15}, 1200}, kPlain);
  for (const XYZf& c : xyz) {
    const double to_bare = std::abs(wide(c).y - bare.y), to_ink = std::abs(wide(c).y - inked.y);
    EXPECT_LT(std::min(to_bare, to_ink), 1e-4);
    in += to_ink < to_bare;
  }
  EXPECT_NEAR(in / static_cast<double>(xyz.size()), 0.4, 0.005);
}

// Closed form: a Gaussian of 1 s.d. sigma leaves exp(-2 (pi sigma f)^2) of a wave of frequency f; of the
// first harmonic of round dots at 0.15 mm and 55 lines, 12 %.
TEST(Loupe, WickingLeavesOfTheDotsWhatAGaussianLeaves) {
  FlatPrint print(BusyPrint::stack(), BusyPrint().dots, {0, 0, 0, 0.5}, 0, 1);
  CoverSettings settings = print.covers[3].settings();
  settings.wick = {0.15};
  const PlateCover wicked(print.images[3], 100, settings);
  settings.wick = {0};
  const PlateCover sharp(print.images[3], 100, settings);
  const double pitch = 25.4 / 1200;
  const DeviceRaster raster{5, 5, pitch};
  const DeviceRect rect{0, 0, 400, 400};
  const ScreenAxes axes(settings.tone.halftone);
  const auto first_harmonic = [&](const PlateCover& cover, double& mean) {
    const LoupePlate plate(cover, 1);
    std::vector<float> dose(rect.pixels());
    const int m = plate.margin(pitch);
    plate.doses(plate.band(raster, {-m, -m, 400 + 2 * m, 400 + 2 * m}), raster, rect, dose);
    double re = 0, im = 0;
    mean = 0;
    for (int y = 0; y < 400; ++y) {
      for (int x = 0; x < 400; ++x) {
        const double hann = (1 - std::cos(2 * std::numbers::pi * (x + 0.5) / 400)) *
                            (1 - std::cos(2 * std::numbers::pi * (y + 0.5) / 400));
        const double phase = 2 * std::numbers::pi * axes.u(5 + x * pitch, 5 + y * pitch);
        const double d = static_cast<double>(dose[static_cast<std::size_t>(y) * 400 + x]);
        re += hann * d * std::cos(phase);
        im += hann * d * std::sin(phase);
        mean += hann * d / 160000;
      }
    }
    return std::hypot(re, im) / 160000;
  };
  double mean_wicked = 0, mean_sharp = 0;
  const double left = first_harmonic(wicked, mean_wicked) / first_harmonic(sharp, mean_sharp);
  EXPECT_NEAR(left, std::exp(-2 * std::pow(std::numbers::pi * 0.15 * 55 / 25.4, 2)), 0.01);
  EXPECT_NEAR(mean_wicked, 0.5, 0.005);
  EXPECT_NEAR(mean_sharp, 0.5, 0.005);
}

// Register moves dots with their plate: two plates of one screen, shifted, overprint as their joint cover
// says.
TEST(Loupe, RegisterMovesTheDots) {
  const Stack stack(demo::undyed_cloth(),
                    {demo::film_pass(0, demo::yellow(), 20), demo::film_pass(1, demo::red(), 15)}, 2,
                    demo::process(), {});
  std::vector<PlateDots> dots(2, demo::round_dots(55));
  dots[1].offset_x = {0.12};
  dots[1].offset_y = {0.07};
  const OverprintTable table(stack, dots, {kD50, 1.0});
  const PlateImage a = flat_plate(300, 0.5), b = flat_plate(300, 0.4);
  CoverSettings settings;
  settings.tone.halftone = dots[0].halftone;
  settings.tone.spread = {0};
  std::vector<PlateCover> covers;
  covers.emplace_back(a, 100.0, settings);
  settings.offset = {{0.12}, {0.07}, 0, 0, 0};
  covers.emplace_back(b, 100.0, settings);
  std::vector<XYZf> xyz;
  Loupe(table, covers, kPlain)
      .render({{10}, {10}, {100 * 25.4 / 55}, {100 * 25.4 / 55}, 1200}, 1, 2, {},
              [&](int, int, std::span<const XYZf> rows) { xyz.insert(xyz.end(), rows.begin(), rows.end()); });
  EXPECT_LT(de00(mean_of(xyz), table.mix(std::vector{0.5, 0.4})), 0.15);
  std::vector<PlateDots> in_register(2, demo::round_dots(55));
  EXPECT_GT(de00(mean_of(xyz), OverprintTable(stack, in_register, {kD50, 1.0}).mix(std::vector{0.5, 0.4})),
            1);
}

// Near the smallest dot that the stencil holds dots are missing, and holes are filled, in the share that the
// tone curve says; 6 standard errors of 1200 dots.
TEST(Loupe, LosesDotsAndFillsHolesAsTheCurveSays) {
  const Stack stack(demo::undyed_cloth(), {demo::film_pass(0, demo::red(), 20)}, 1, demo::process(), {});
  const std::vector<PlateDots> dots{demo::round_dots(55)};
  const OverprintTable table(stack, dots, {kD50, 1.0});
  for (const double film : {0.05, 0.065, 0.08, 0.935}) {
    const PlateImage image = flat_plate(120, film);
    CoverSettings settings;
    settings.tone = {dots[0].halftone, {20}, {136}, {}, CurveAt::none};
    std::vector<PlateCover> covers;
    covers.emplace_back(image, 100.0, settings);
    const LoupeWindow window{{5}, {5}, {16}, {16}, 2400};
    const Loupe loupe(table, covers, kPlain);
    long ink = 0, all = 0;
    const double bare = table.mix(std::vector{0.0}).y, solid = table.mix(std::vector{1.0}).y;
    loupe.render(window, 1, 2, {}, [&](int, int, std::span<const XYZf> rows) {
      for (const XYZf& c : rows) ink += wide(c).y < (bare + solid) / 2;
      all += static_cast<long>(rows.size());
    });
    const DotTone t = dot_tone(settings.tone, film);
    const double lost = std::max(t.dots_held * (1 - t.dots_held) * t.tone * t.tone,
                                 t.holes_held * (1 - t.holes_held) * (1 - t.tone) * (1 - t.tone));
    EXPECT_NEAR(static_cast<double>(ink) / static_cast<double>(all), t.mean(),
                0.002 + 6 * std::sqrt(lost / 1200))
        << film;
    EXPECT_TRUE(t.dots_held < 1 || t.holes_held < 1);
    EXPECT_LT(std::abs(static_cast<double>(ink) / static_cast<double>(all) - t.mean()),
              std::abs(t.tone - t.mean()))
        << film;  // nearer to the curve with losses than without
  }
}

TEST(Loupe, CanBeCancelledAndRefusesWhatIsOutOfRange) {
  const BusyPrint print;
  const Loupe loupe(print.table, print.covers, kPlain);
  const auto nothing = [](int, int, std::span<const XYZf>) {};
  EXPECT_THROW(loupe.render(
                   {{1}, {1}, {20}, {20}, 1200}, 1, 1, [](double) { return false; }, nothing),
               Cancelled);
  EXPECT_THROW(loupe.render({{1}, {1}, {2}, {2}, 299}, 1, 1, {}, nothing), InternalError);
  EXPECT_THROW(loupe.render({{1}, {1}, {2}, {2}, 4801}, 1, 1, {}, nothing), InternalError);
  EXPECT_THROW(loupe.render({{1}, {1}, {2}, {2}, 1200}, 1.01, 1, {}, nothing), InternalError);
}

}  // namespace
}  // namespace kirtle
