// The loupe at 1200 device pixels per inch, two plates, one thread, to a picture of 300 per inch. The counter
// is device pixels a second of processor time; each is worked out for both plates.
#include "job/files.h"
#include "job/read_scene.h"
#include "plate/io/write_picture.h"
#include "predict/prediction.h"
#include "print/loupe.h"

#include <algorithm>
#include <benchmark/benchmark.h>
#include <cmath>
#include <filesystem>

namespace kirtle {
namespace {

constexpr double kPpi = 300, kDpi = 1200;
constexpr int kSide = 600;  // plate pixels

enum Art { plate_like, flat_tints, fades };

/// Film 0..1 of one of the two plates, invented.
double film_of(Art art, int plate, int x, int y) {
  if (art == flat_tints) return plate == 0 ? 0.3 : 0.6;
  if (art == fades) return plate == 0 ? (x + 0.5) / kSide : (y + 0.5) / kSide;
  // Solid discs and bars with soft edges, and a band that fades: one pixel in eight is fractional.
  const double u = (x + 40 * plate) % 200 - 100, v = (y + 70 * plate) % 200 - 100;
  const double solid = std::clamp(70 - std::hypot(u, v) + 0.5, 0.0, 1.0);
  const bool band = y > 260 + 30 * plate && y < 320 + 30 * plate;
  return band ? (x + 0.5) / kSide : solid;
}

/// Two films on a dyed shirt, 55 lines per inch, 30 degrees apart.
Scene two_films(const test::TempFolder& folder, Art art) {
  for (const int plate : {0, 1}) {
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x)
        grey.push_back(static_cast<std::uint8_t>(std::lround(255 - 255 * film_of(art, plate, x, y))));
    }
    write_grey_png(folder.path() / (plate == 0 ? "white.png" : "blue.png"), kSide, kSide, kPpi, grey);
  }
  return read_scene(folder.write("scene.toml", R"(schema = 1
title = "Loupe bench"
shirt = "red-cotton"
[[plate]]
name = "white"
file = "white.png"
ink_is = "dark"
ink = "base-white"
mesh = "43-80"
lpi = 55
angle = 22.5
[[plate]]
name = "blue"
file = "blue.png"
ink_is = "dark"
ink = "royal-blue"
mesh = "61-64"
lpi = 55
angle = 52.5
)"));
}

void look(benchmark::State& state, const Prediction& prediction, const LoupeWindow& window, bool scatter) {
  LoupeSettings settings;
  settings.scatter = scatter;
  const Loupe loupe(prediction.model().table, prediction.covers(), settings);
  float sum = 0;
  const auto render = [&] {
    loupe.render(window, kPpi / kDpi, 1, {}, [&](int, int, std::span<const XYZf> xyz) { sum += xyz[0].y; });
  };
  render();  // mixes piles of every kind once
  for (auto _ : state) render();
  benchmark::DoNotOptimize(sum);
  const double pixels = static_cast<double>(Loupe::pixels(window.width, window.dpi)) *
                        static_cast<double>(Loupe::pixels(window.height, window.dpi));
  state.counters["Mpixel/s"] = benchmark::Counter(pixels * 1e-6 * static_cast<double>(state.iterations()),
                                                  benchmark::Counter::kIsRate);
}

void drawn(benchmark::State& state, Art art, bool scatter) {
  const test::TempFolder folder;
  const Scene scene = two_films(folder, art);
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  const double side_mm = scatter ? 16 : 40;
  look(state, prediction, {{4}, {4}, {side_mm}, {side_mm}, kDpi}, scatter);
}

/// The middle of the demonstration print: a soaked light colour and its shading.
void moth(benchmark::State& state, bool scatter) {
  static const Scene scene =
      read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / "moth" / "scene.toml");
  Diagnostics notes;
  static const Prediction prediction(scene, notes);
  const double side_mm = scatter ? 16 : 60;
  const Mm x{(prediction.width_mm() - side_mm) / 2}, y{(prediction.height_mm() - side_mm) / 2};
  look(state, prediction, {x, y, {side_mm}, {side_mm}, kDpi}, scatter);
}

BENCHMARK_CAPTURE(drawn, plate_like, plate_like, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(drawn, flat_tints, flat_tints, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(drawn, fades, fades, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(drawn, plate_like_scatter, plate_like, true)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(drawn, flat_tints_scatter, flat_tints, true)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(moth, plain, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(moth, scatter, true)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace kirtle
