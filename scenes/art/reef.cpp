#include "art/reef.h"

#include "art/subjects.h"

namespace kirtle::art {

namespace reef {

Picture paint_all(double ppi) {
  const Plane size(kWidth_mm, kHeight_mm, ppi);
  Picture pic(size.width(), size.height(), ppi / 25.4);
  paint_water(pic);
  paint_turtle(pic);
  paint_school(pic);
  paint_grass(pic, {38, 322}, 105, 34, 16, 821);
  paint_grass(pic, {290, 322}, 120, 34, 16, 822);
  paint_fan(pic, {240, 318}, 112, 831);
  paint_staghorn(pic, {76, 318}, 116, {0.92, 0.20, 0.03}, {1.0, 0.72, 0.20}, 841);
  paint_rocks(pic, false);
  paint_sail_fish(pic, {62, 262}, 25, -6, false);
  paint_jellyfish(pic);
  paint_sponges(pic, {158, 326}, 70, 861);
  paint_shelf_coral(pic, {58, 326}, 34, 851);
  paint_brain_coral(pic, {118, 330}, 40, 34, {0.55, 0.92, 0.30}, {0.01, 0.20, 0.30}, 871);
  paint_anemone(pic, {203, 328}, 46, false, 881);
  paint_moray(pic);
  paint_banded_fish(pic, {168, 268}, 47, 10, true, 1);
  paint_banded_fish(pic, {238, 306}, 33, -8, false, 2);
  paint_anemone(pic, {203, 333}, 46, true, 881);
  paint_sail_fish(pic, {262, 226}, 36, 8, true);
  paint_brain_coral(pic, {70, 344}, 26, 19, {1.0, 0.58, 0.22}, {0.45, 0.02, 0.10}, 872);
  paint_staghorn(pic, {272, 348}, 56, {0.06, 0.16, 0.85}, {0.35, 0.85, 1.0}, 842);
  paint_rocks(pic, true);
  paint_polyps(pic, {112, 353}, 13, 26, {1.0, 0.42, 0.04}, {0.9, 1.0, 0.35}, 901);
  paint_polyps(pic, {212, 356}, 15, 30, {0.10, 0.85, 0.80}, {1.0, 0.45, 0.60}, 902);
  paint_polyps(pic, {262, 352}, 9, 14, {1.0, 0.30, 0.45}, {1.0, 0.85, 0.30}, 903);
  paint_starfish(pic, {160, 347}, 15, 100);
  paint_plankton(pic);
  pic.grade(1.22);
  return pic;
}

}  // namespace reef

std::vector<Plate> draw_reef(double ppi) { return reef::separate(reef::paint_all(ppi), ppi); }

}  // namespace kirtle::art
