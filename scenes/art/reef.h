#pragma once
// The coral reef at night, element by element, in the order in which it is painted (far to near). 330 x 380
// mm; the shirt is black, so is the unpainted picture. All of it is invented.
#include "art/canvas.h"
#include "art/reef_paint.h"

#include <vector>

namespace kirtle::art::reef {

constexpr double kWidth_mm = 330, kHeight_mm = 380;

// reef_water.cpp
void paint_water(Picture& pic);     ///< the round window of moonlit water
void paint_plankton(Picture& pic);  ///< sparks and bubbles, in front of all

// reef_jelly.cpp
void paint_jellyfish(Picture& pic);

// reef_turtle.cpp
void paint_turtle(Picture& pic);

// reef_fish.cpp
void paint_school(Picture& pic);
void paint_banded_fish(Picture& pic, Vec nose, double length_mm, double turn_deg, bool faces_left,
                       std::uint32_t seed);
void paint_sail_fish(Picture& pic, Vec nose, double length_mm, double turn_deg, bool faces_left);

// reef_branches.cpp
void paint_staghorn(Picture& pic, Vec foot, double height_mm, Rgb body, Rgb tip, std::uint32_t seed);
void paint_fan(Picture& pic, Vec foot, double height_mm, std::uint32_t seed);

// reef_mounds.cpp
void paint_rocks(Picture& pic, bool front);
void paint_brain_coral(Picture& pic, Vec centre, double rx_mm, double ry_mm, Rgb ridge, Rgb valley,
                       std::uint32_t seed);
void paint_shelf_coral(Picture& pic, Vec centre, double rx_mm, std::uint32_t seed);
void paint_sponges(Picture& pic, Vec foot, double height_mm, std::uint32_t seed);

// reef_small.cpp
void paint_anemone(Picture& pic, Vec foot, double size_mm, bool front, std::uint32_t seed);
void paint_grass(Picture& pic, Vec foot, double height_mm, double spread_mm, int blades, std::uint32_t seed);
void paint_starfish(Picture& pic, Vec centre, double size_mm, double turn_deg);
void paint_polyps(Picture& pic, Vec centre, double spread_mm, int count, Rgb rim, Rgb heart,
                  std::uint32_t seed);
void paint_moray(Picture& pic);

/// The whole picture at a resolution.
Picture paint_all(double ppi);

// reef_separation.cpp
/// base, yellow, red, blue, turquoise, highlight in print order.
std::vector<Plate> separate(const Picture& pic, double ppi);

}  // namespace kirtle::art::reef
