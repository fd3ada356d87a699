#include "predict/run_map.h"

#include "plate/io/write_picture.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <string>

namespace kirtle {

namespace {

constexpr int kAcross = 1000;  // pixels of the picture, about
constexpr int kLegendRows = 84;
constexpr double kFaintest = 0.35;  // opacity of a place that shows on hardly a shirt

/// Letters of 5 x 7, row by row, as far as the legend needs them.
struct Glyph {
  char letter;
  std::array<std::uint8_t, 7> rows;
};
constexpr Glyph kGlyphs[] = {{'0', {14, 17, 19, 21, 25, 17, 14}}, {'1', {4, 12, 4, 4, 4, 4, 14}},
                             {'2', {14, 17, 1, 2, 4, 8, 31}},     {'3', {31, 2, 4, 2, 1, 17, 14}},
                             {'4', {2, 6, 10, 18, 31, 2, 2}},     {'5', {31, 16, 30, 1, 1, 17, 14}},
                             {'6', {6, 8, 16, 30, 17, 17, 14}},   {'7', {31, 1, 2, 4, 8, 8, 8}},
                             {'8', {14, 17, 17, 14, 17, 17, 14}}, {'9', {14, 17, 17, 15, 1, 2, 12}},
                             {'%', {24, 25, 2, 4, 8, 19, 3}},     {'.', {0, 0, 0, 0, 0, 12, 12}},
                             {'O', {14, 17, 17, 17, 17, 17, 14}}, {'F', {31, 16, 16, 30, 16, 16, 16}},
                             {'S', {15, 16, 16, 14, 1, 1, 30}},   {'H', {17, 17, 17, 31, 17, 17, 17}},
                             {'I', {14, 4, 4, 4, 4, 4, 14}},      {'R', {30, 17, 17, 30, 20, 18, 17}},
                             {'T', {31, 4, 4, 4, 4, 4, 4}},       {'W', {17, 17, 17, 21, 21, 21, 10}},
                             {'E', {31, 16, 16, 30, 16, 16, 31}}};

/// RGB of 8 bits in memory.
struct Canvas {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;
  void put(int x, int y, const MapColour& c) {
    if (x < 0 || y < 0 || x >= width || y >= height) return;
    std::uint8_t* to = rgb.data() + 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                                         static_cast<std::size_t>(x));
    to[0] = c.r;
    to[1] = c.g;
    to[2] = c.b;
  }
  int text(int x, int y, int size, const std::string& words) {
    for (const char letter : words) {
      for (const Glyph& glyph : kGlyphs) {
        if (glyph.letter != letter) continue;
        for (int j = 0; j < 7 * size; ++j) {
          for (int i = 0; i < 5 * size; ++i) {
            if (glyph.rows[static_cast<std::size_t>(j / size)] >> (4 - i / size) & 1)
              put(x + i, y + j, {40, 40, 40});
          }
        }
      }
      x += 6 * size;
    }
    return x;
  }
};

std::uint8_t code(double v) { return static_cast<std::uint8_t>(std::lround(std::clamp(v, 0.0, 255.0))); }

/// of(shirts), straight between the middles of the cells.
template <class Cell>
double between_cells(const ShowingMap& map, double x_mm, double y_mm, const Cell& of) {
  const double u = std::clamp(x_mm / map.cell_mm - 0.5, 0.0, map.columns - 1.0),
               v = std::clamp(y_mm / map.cell_mm - 0.5, 0.0, map.rows - 1.0);
  const int c = static_cast<int>(u), r = static_cast<int>(v);
  const auto cell = [&](int column, int row) {
    return of(map.shirts[static_cast<std::size_t>(std::min(row, map.rows - 1)) *
                             static_cast<std::size_t>(map.columns) +
                         static_cast<std::size_t>(std::min(column, map.columns - 1))]);
  };
  const double fx = u - c, fy = v - r;
  return (cell(c, r) * (1 - fx) + cell(c + 1, r) * fx) * (1 - fy) +
         (cell(c, r + 1) * (1 - fx) + cell(c + 1, r + 1) * fx) * fy;
}

std::string percent(double share) { return fmt::format("{:.3g} %", 100 * share); }

}  // namespace

double map_scale(const ShowingMap& map, int shirts) {
  const auto most = map.shirts.empty() ? 0U : *std::max_element(map.shirts.begin(), map.shirts.end());
  const double share = shirts > 0 ? static_cast<double>(most) / shirts : 0;
  for (const double step : {0.01, 0.02, 0.05, 0.1, 0.2, 0.5}) {
    if (share <= step) return step;
  }
  return 1;
}

MapColour map_colour(double level) {
  // Light yellow over orange to dark red: darker throughout, so that it reads in grey as well.
  constexpr std::array<std::array<double, 3>, 4> kStops = {
      {{255, 226, 110}, {250, 158, 40}, {214, 57, 30}, {110, 0, 28}}};
  const double at = std::clamp(level, 0.0, 1.0) * (kStops.size() - 1);
  const std::size_t i = std::min(static_cast<std::size_t>(at), kStops.size() - 2);
  const double f = at - static_cast<double>(i);
  const auto channel = [&](std::size_t c) { return code(kStops[i][c] * (1 - f) + kStops[i + 1][c] * f); };
  return {channel(0), channel(1), channel(2)};
}

void write_map(const Prediction& prediction, const RunShowing& run, const std::filesystem::path& target,
               unsigned threads) {
  const PrintRenderer& renderer = prediction.renderer();
  const double scale = std::min(1.0, static_cast<double>(kAcross) / renderer.width());
  const int width = PrintRenderer::scaled(renderer.width(), scale),
            height = PrintRenderer::scaled(renderer.height(), scale);
  const double mm = prediction.width_mm() / width, white = prediction.model().table.weights().white.y;
  const int shirts = static_cast<int>(run.shirts.size());
  const double full = map_scale(run.map, shirts);
  Canvas canvas{width, height + kLegendRows, {}};
  canvas.rgb.assign(3 * static_cast<std::size_t>(width) * static_cast<std::size_t>(canvas.height), 250);
  renderer.render(scale, threads, {}, [&](int y0, int rows, std::span<const XYZf> xyz) {
    for (int y = 0; y < rows; ++y) {
      for (int x = 0; x < width; ++x) {
        const XYZf& c =
            xyz[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
        const double light = std::cbrt(std::max(0.0, static_cast<double>(c.y) / white));
        const double grey = 120 + 125 * light;  // pale, so that the colours stand out
        const double x_mm = (x + 0.5) * mm, y_mm = (y0 + y + 0.5) * mm;
        const double here =
            between_cells(run.map, x_mm, y_mm, [](std::uint32_t n) { return static_cast<double>(n); }) /
            std::max(shirts, 1);
        // Faded out towards cells that never show.
        const double shows =
            between_cells(run.map, x_mm, y_mm, [](std::uint32_t n) { return n > 0 ? 1.0 : 0.0; });
        const double level = here / full;
        const MapColour over = map_colour(level);
        const double opacity =
            shows * shows * (3 - 2 * shows) * (kFaintest + (0.9 - kFaintest) * std::min(1.0, level));
        const auto mixed = [&](std::uint8_t v) { return code(grey * (1 - opacity) + v * opacity); };
        canvas.put(x, y0 + y, {mixed(over.r), mixed(over.g), mixed(over.b)});
      }
    }
  });
  // The scale: bar, its ends, what it means.
  const int size = std::max(1, width / 450), left = 12 * size, bar = width - 2 * left, top = height + 12;
  for (int y = 0; y < 22; ++y) {
    for (int x = 0; x < bar; ++x) {
      const double level = (x + 0.5) / bar;
      const MapColour over = map_colour(level);
      const double opacity = kFaintest + (0.9 - kFaintest) * level;
      const auto mixed = [&](std::uint8_t v) { return code(220 * (1 - opacity) + v * opacity); };
      canvas.put(left + x, top + y, {mixed(over.r), mixed(over.g), mixed(over.b)});
    }
  }
  canvas.text(left, top + 32, size, "0 %");
  const std::string most = percent(full), words = "OF THE SHIRTS SHOW HERE";
  canvas.text(left + bar - static_cast<int>(most.size()) * 6 * size, top + 32, size, most);
  canvas.text(left + (bar - static_cast<int>(words.size()) * 6 * size) / 2, top + 32, size, words);
  PictureFormat format;
  format.width = width;
  format.height = canvas.height;
  format.ppi = prediction.ppi() * scale;
  format.threads = threads;
  const std::unique_ptr<PictureWriter> writer = PictureWriter::open(target, format);
  writer->write_rows8(canvas.rgb);
  writer->commit();
}

}  // namespace kirtle
