#pragma once
// One print of an order on every shirt that can be had under several lights, as pictures of one size: for a
// proof on a screen.
#include "proof/print_study.h"

namespace kirtle {

/// How many pictures a proof holds: a file that goes by e-mail. kMostViews is shared by all prints.
constexpr std::size_t kMostViews = 24, kMostViewShirts = 6;
constexpr int kViewWidth = 640, kViewHeight = 800;  ///< pixels

struct PrintViews {
  std::vector<std::string> shirts;    ///< names; the first is the one ordered most, or the scene's
  std::vector<Rgb8> cloth;            ///< bare, under the first light, one a shirt
  std::vector<std::string> lights;    ///< of light_names(); the first is the scene's
  std::size_t shirts_in_all = 0;      ///< more than shirts.size(): the others are left out
  ShirtSize size = ShirtSize::l;      ///< drawn
  std::vector<PagePicture> pictures;  ///< opaque; all lights of the first shirt, then of the second
  const PagePicture& picture(std::size_t shirt, std::size_t light) const {
    return pictures[shirt * lights.size() + light];
  }
};

/// The scene's light, then daylight, a filament lamp, a three-band fluorescent and an LED lamp; one daylight.
std::vector<std::string> view_lights(const std::string& first);

/// The garment with its print, cut to the print and what lies round it, on neutral grey. Shirts: those
/// ordered, or where none is, the scene's and its other_shirts. prints: of the order, they share kMostViews.
/// What was noticed is added to notes. Throws InputError as read_scene does.
PrintViews print_views(const Order& order, const PrintStudy& study, std::size_t prints,
                       const StudySettings& settings, Diagnostics& notes, const Progress& progress = {});

/// A see-through picture on the grey that all pictures of a proof have round them.
PagePicture on_ground(const PagePicture& picture);

}  // namespace kirtle
