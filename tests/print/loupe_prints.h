#pragma once
// Prints for tests of the loupe: flat tints, and one with everything.
#include "print/loupe.h"
#include "print/print_checks.h"

#include <cmath>
#include <optional>
#include <vector>

namespace kirtle::loupe_test {

using test::de00;
using test::kD50;

inline XYZ wide(const XYZf& c) {
  return {static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)};
}
inline XYZ mean_of(const std::vector<XYZf>& xyz) {
  XYZ sum;
  for (const XYZf& c : xyz) sum += wide(c);
  return sum * (1.0 / static_cast<double>(xyz.size()));
}

inline PlateImage flat_plate(int side, double film) {
  PlateImage plate;
  plate.width = plate.height = side;
  plate.bits = 16;
  plate.ink16.assign(static_cast<std::size_t>(side) * side,
                     static_cast<std::uint16_t>(std::lround(65535 * film)));
  return plate;
}

/// Flat tints, one a plate, at 100 plate pixels per inch.
struct FlatPrint {
  FlatPrint(const Stack& stack, std::vector<PlateDots> plate_dots, const std::vector<double>& film,
            double spread_um = 0, double inches = 3, std::optional<double> n = {})
      : dots(std::move(plate_dots)), table(stack, dots, {kD50, n}) {
    for (const double f : film) images.push_back(flat_plate(static_cast<int>(100 * inches), f));
    for (std::size_t i = 0; i < film.size(); ++i) {
      CoverSettings settings;
      settings.tone.halftone = dots[i].halftone;
      settings.tone.spread = {spread_um};
      settings.field = dots[i].field;
      covers.emplace_back(images[i], 100.0, settings);
      printed.push_back(film[i] > 0 && film[i] < 1 ? ToneCurve(settings.tone).printed(film[i]) : film[i]);
    }
  }
  std::vector<XYZf> render(const LoupeWindow& window, const LoupeSettings& settings, double scale = 1,
                           unsigned threads = 2) const {
    std::vector<XYZf> out;
    Loupe(table, covers, settings)
        .render(window, scale, threads, {}, [&](int, int, std::span<const XYZf> rows) {
          out.insert(out.end(), rows.begin(), rows.end());
        });
    return out;
  }
  std::vector<PlateDots> dots;
  std::vector<PlateImage> images;
  std::vector<PlateCover> covers;
  std::vector<double> printed;
  OverprintTable table;
};

/// Everything at once: a base with an edge, tints of two screens, a soaked discharge that wicks, a plate out
/// of register and turned.
struct BusyPrint {
  BusyPrint()
      : dots{demo::round_dots(55, 22.5), demo::round_dots(55, 52.5), demo::round_dots(55, 82.5),
             demo::round_dots(55, 22.5, true)},
        table(stack(), dots, {kD50, {}}) {
    for (int p = 0; p < 4; ++p) {
      PlateImage plate = flat_plate(240, 0);
      for (int y = 0; y < 240; ++y) {
        for (int x = 0; x < 240; ++x) {
          double film = 0;
          if (p == 0) film = std::hypot(x - 120, y - 110) < 80 ? 1 : 0;
          if (p == 1) film = x / 239.0;
          if (p == 2) film = y / 239.0;
          if (p == 3) film = x < 60 ? 1 : x < 150 ? 0.4 : 0;
          plate.ink16[static_cast<std::size_t>(y) * 240 + x] =
              static_cast<std::uint16_t>(std::lround(65535 * film));
        }
      }
      images.push_back(std::move(plate));
    }
    for (int p = 0; p < 4; ++p) {
      CoverSettings settings;
      settings.tone.halftone = dots[p].halftone;
      settings.tone.spread = {35};
      settings.tone.smallest_dot = {136};
      settings.field = dots[p].field;
      settings.wick = {0.12};
      if (p == 1) settings.offset = {{0.11}, {-0.07}, 0.3, 0.001, -0.002};
      covers.emplace_back(images[p], 150.0, settings);
    }
  }
  static Stack stack() {
    StackPass soaked = demo::film_pass(3, demo::yellow(), 15);
    soaked.ink.family = InkFamily::discharge;
    soaked.ink.soak = 1;
    soaked.ink.agent_g_cm3 = 0.4;
    return Stack(demo::black_cloth(),
                 {demo::film_pass(0, demo::white(), 60), demo::film_pass(1, demo::yellow(), 20),
                  demo::film_pass(2, demo::red(), 15), soaked},
                 4, demo::process(), {});
  }
  std::vector<XYZf> render(const LoupeWindow& window, const LoupeSettings& settings = {},
                           unsigned threads = 2, double scale = 1) const {
    std::vector<XYZf> out;
    Loupe(table, covers, settings)
        .render(window, scale, threads, {}, [&](int, int, std::span<const XYZf> rows) {
          out.insert(out.end(), rows.begin(), rows.end());
        });
    return out;
  }
  std::vector<PlateDots> dots;
  std::vector<PlateImage> images;
  std::vector<PlateCover> covers;
  OverprintTable table;
};

}  // namespace kirtle::loupe_test
