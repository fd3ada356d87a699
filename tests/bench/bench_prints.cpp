#include "bench/bench_prints.h"

#include "job/read_scene.h"
#include "plate/blank_plate.h"

#include <algorithm>
#include <cmath>
#include <random>

namespace kirtle::bench {

namespace {

constexpr double kBenchPpi = 300;
constexpr double kBandShare = 0.115;
constexpr int kScenePlates = 6;  // of scenes/reef

PlateImage blank(int width, int height, int bits) {
  return test::blank_plate(width, height, kBenchPpi, bits);
}

/// Draws a ring (a disc where `hole` is 0) with anti-aliased edges.
void draw_ring(PlateImage& plate, double cx, double cy, double radius, double hole) {
  const int x0 = std::max(0, static_cast<int>(cx - radius - 2)),
            x1 = std::min(plate.width, static_cast<int>(cx + radius + 3));
  const int y0 = std::max(0, static_cast<int>(cy - radius - 2)),
            y1 = std::min(plate.height, static_cast<int>(cy + radius + 3));
  for (int y = y0; y < y1; ++y) {
    std::uint8_t* row = plate.ink8.data() + static_cast<std::size_t>(y) * plate.width;
    for (int x = x0; x < x1; ++x) {
      const double r = std::hypot(x - cx, y - cy);
      const double ink = std::clamp(std::min(radius - r, r - hole) + 0.5, 0.0, 1.0);
      row[x] = std::max(row[x], static_cast<std::uint8_t>(std::lround(255 * ink)));
    }
  }
}

/// Wide shapes, small ones, and a band that runs from none to solid aslant, so that every second
/// pixel differs from its neighbour.
PlateImage flat_plate(int number, int plates, int width, int height) {
  PlateImage plate = blank(width, height, 8);
  std::mt19937 random(static_cast<std::mt19937::result_type>(1 + number));
  const auto even = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  for (int i = 0; i < 24; ++i) {
    const double radius = even(100, 450);
    draw_ring(plate, even(0, width), even(0, height), radius, i % 2 == 0 ? 0 : radius * even(0.4, 0.9));
  }
  for (int i = 0; i < 160; ++i) draw_ring(plate, even(0, width), even(0, height), even(4, 30), 0);
  // A band on every second plate, two of them over each other; together the same share of any print.
  if (number % 2 != 0) return plate;
  const int bands = (plates + 3) / 4, from = height * (2 * (number / 4) + 1) / (2 * bands + 1);
  const int to = from + static_cast<int>(kBandShare * height) / bands;
  for (int y = from; y < to; ++y) {
    for (int x = 0; x < width; ++x) {
      const int v = (number % 4 == 0 ? x + y : x + 3 * y) / 2 % 512;
      plate.ink8[static_cast<std::size_t>(y) * width + x] = static_cast<std::uint8_t>(v < 256 ? v : 511 - v);
    }
  }
  return plate;
}

PlateImage noise_plate(int number, int width, int height, int bits) {
  PlateImage plate = blank(width, height, bits);
  std::mt19937 random(static_cast<std::mt19937::result_type>(100 + number));
  for (std::uint8_t& v : plate.ink8) v = static_cast<std::uint8_t>(random() >> 24);
  for (std::uint16_t& v : plate.ink16) v = static_cast<std::uint16_t>(random() >> 16);
  return plate;
}

std::vector<PlateImage> images_of(Content content, int plates, int width, int height) {
  std::vector<PlateImage> out;
  for (int i = 0; i < plates; ++i) {
    out.push_back(content == Content::flat
                      ? flat_plate(i, plates, width, height)
                      : noise_plate(i, width, height, content == Content::noise8 ? 8 : 16));
  }
  return out;
}

Scene scene_of(int plates) {
  Scene scene = read_scene(KIRTLE_SOURCE_DIR "/scenes/reef/scene.toml");
  const std::vector<ScenePlate> files = scene.plates;
  std::vector<ScenePass> passes;
  for (int i = 0; i < kScenePlates; ++i) passes.push_back(first_pass_of(scene, i));
  scene.plates.clear();
  scene.passes.clear();
  for (int i = 0; i < plates; ++i) {
    scene.plates.push_back(files[static_cast<std::size_t>(i % kScenePlates)]);
    scene.plates.back().name += std::to_string(i);
    ScenePass pass = passes[static_cast<std::size_t>(i % kScenePlates)];
    pass.plate = i;
    pass.halftone.angle_deg = 7.0 * i;  // no two alike: dots fall independently
    scene.passes.push_back(pass);
  }
  return scene;
}

}  // namespace

BenchPrint::BenchPrint(Content content, int plates, int width, int height)
    : scene(scene_of(plates)), prediction(scene, images_of(content, plates, width, height), kBenchPpi) {}

std::size_t BenchPrint::plate_bytes() const {
  std::size_t bytes = 0;
  for (int i = 0; i < plates(); ++i) bytes += image(i).ink8.size() + 2 * image(i).ink16.size();
  return bytes;
}

Likeness likeness_of(const BenchPrint& print) {
  std::size_t fractional = 0, alike = 0;
  for (int y = 0; y < print.height(); ++y) {
    for (int x = 0; x < print.width(); ++x) {
      bool between = false, equal = x > 0;
      for (int p = 0; p < print.plates(); ++p) {
        const double v = print.image(p).film(x, y);
        between = between || (v > 0 && v < 1);
        equal = equal && v == print.image(p).film(x - 1, y);
      }
      fractional += between;
      alike += equal;
    }
  }
  const auto all = static_cast<double>(print.pixels());
  return {static_cast<double>(fractional) / all, static_cast<double>(alike) / all};
}

}  // namespace kirtle::bench
