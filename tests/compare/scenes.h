#pragma once
// Scenes for the tests of comparing builds, with plates drawn here.
#include "job/read_scene.h"
#include "plate/plate_image.h"
#include "predict/prediction.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace kirtle::test {

inline Scene moth() {
  return read_scene(std::filesystem::path(KIRTLE_SOURCE_DIR) / "scenes" / "moth" / "scene.toml");
}

/// The moth's scene with two inks that lie on top of the cloth in place of its own.
inline Scene with_film_inks(Scene scene) {
  for (ScenePass& pass : scene.passes) {
    pass.ink.soak = 0;
    pass.ink.wick = {0};
    pass.ink.ink_spread = {45};
    pass.ink.family = InkFamily::plastisol;
    pass.ink.agent_g_cm3 = 0;
  }
  return scene;
}

/// film(x, y): 0..1 at a place in mm; edges come out area-true on a 4 x 4 grid of points.
inline PlateImage drawn(const std::string& name, int side, double ppi,
                        const std::function<double(double, double)>& film) {
  PlateImage out;
  out.name = name;
  out.width = out.height = side;
  out.ppi = ppi;
  out.bits = 8;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      double sum = 0;
      for (int s = 0; s < 16; ++s)
        sum += film((x + (s % 4 + 0.5) / 4) / ppi * 25.4, (y + (s / 4 + 0.5) / 4) / ppi * 25.4);
      out.ink8.push_back(static_cast<std::uint8_t>(std::lround(255 * sum / 16)));
    }
  }
  return out;
}

/// A light disc of 8 mm with a dark disc of 4 mm in its middle, on 12 mm, and a dark ramp beside it if asked.
inline std::vector<PlateImage> discs(double ppi = 300) {
  const int side = static_cast<int>(12 / 25.4 * ppi);
  const auto disc = [](double r) {
    return [r](double x, double y) { return std::hypot(x - 6, y - 6) < r ? 1.0 : 0.0; };
  };
  return {drawn("cream", side, ppi, disc(4)), drawn("shading", side, ppi, disc(2))};
}

}  // namespace kirtle::test
