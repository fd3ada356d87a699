#include "proof/print_views.h"

#include "job/read_scene.h"
#include "predict/reading.h"
#include "proof/proof_flow.h"
#include "proof/proof_words.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

/// Of the print, how much a picture is wider; and the least that it shows, so that a small print is seen on a
/// shirt.
constexpr double kRound = 1.4, kLeastWidthMm = 300;

std::vector<std::string> shirt_ids(const Order& order, const PrintStudy& study) {
  std::vector<std::string> out;
  for (const ShirtStudy& s : study.shirts) out.push_back(s.id);
  if (!order.shirts.empty()) return out;
  for (const Cloth& c : study.scene.other_shirts)
    if (std::find(out.begin(), out.end(), c.id) == out.end()) out.push_back(c.id);
  return out;
}

Rgb8 bare_cloth(const Scene& scene, const PrintModel& model) {
  const PointReading bare = read_printed(scene, model, std::vector<double>(model.plates.size(), 0.0));
  return srgb_codes8(bare.srgb.linear);
}

}  // namespace

PagePicture on_ground(const PagePicture& picture) {
  const std::array<double, 3> ground{255 * kPaleGrey.r, 255 * kPaleGrey.g, 255 * kPaleGrey.b};
  PagePicture out = picture;
  for (std::size_t at = 0; at < out.rgba.size(); at += 4) {
    const double cover = picture.rgba[at + 3] / 255.0;
    for (std::size_t c = 0; c < 3; ++c)
      out.rgba[at + c] =
          static_cast<std::uint8_t>(std::lround(ground[c] + cover * (picture.rgba[at + c] - ground[c])));
    out.rgba[at + 3] = 255;
  }
  return out;
}

std::vector<std::string> view_lights(const std::string& first) {
  std::vector<std::string> out{first};
  for (const char* light : {"D50", "A", "F11", "LED-B3"}) {
    const bool another_daylight = light[0] == 'D' && first.starts_with("D");
    if (light != first && !another_daylight) out.emplace_back(light);
  }
  out.resize(std::min<std::size_t>(out.size(), 4));
  return out;
}

PrintViews print_views(const Order& order, const PrintStudy& study, std::size_t prints,
                       const StudySettings& settings, Diagnostics& notes, const Progress& progress) {
  PrintViews out;
  out.lights = view_lights(study.scene.light);
  std::vector<std::string> ids = shirt_ids(order, study);
  out.shirts_in_all = ids.size();
  const std::size_t share = kMostViews / std::max<std::size_t>(prints, 1);
  // A shirt that is ordered says more than one more lamp: lamps are left out first, down to the scene's own.
  const std::size_t wanted_shirts = std::min(ids.size(), kMostViewShirts);
  while (out.lights.size() > 1 && out.lights.size() * wanted_shirts > share) out.lights.pop_back();
  ids.resize(std::min({ids.size(), kMostViewShirts, std::max<std::size_t>(share / out.lights.size(), 1)}));

  const ExtremeSizes sizes = extreme_sizes(order);
  out.size = sizes.assumed ? ShirtSize::l : sizes.largest;
  Garment g;
  const ShirtMeasures m = measures_of(out.size);
  g.chest_mm = m.chest_in * kMmPerInch;
  g.length_mm = m.length_in * kMmPerInch;
  g.location = study.print.location;
  g.drop_mm = drop_mm(study.print, out.size);
  g.print_width_mm = width_for(order, study, out.size);
  g.print_height_mm = g.print_width_mm * study.height_mm / study.width_mm;
  const double shown_mm = std::max(
      {kLeastWidthMm, kRound * g.print_width_mm, kRound * g.print_height_mm * kViewWidth / kViewHeight});
  const double px_per_mm = kViewWidth / shown_mm;
  const GarmentLayout layout = lay_garment(g);
  const GarmentWindow window{
      static_cast<int>(std::lround((layout.print.x + layout.print.width / 2) * px_per_mm)) - kViewWidth / 2,
      static_cast<int>(std::lround((layout.print.y + layout.print.height / 2) * px_per_mm)) - kViewHeight / 2,
      kViewWidth, kViewHeight};
  // The print may be drawn at another width than its plates' (a second set of screens).
  const double print_px_per_mm = px_per_mm * g.print_width_mm / study.width_mm;

  const auto plates = read_printing_plates(study.scene, notes);
  InkBox box;
  double done = 0;
  for (const std::string& id : ids) {
    for (const std::string& light : out.lights) {
      SceneOptions options;
      options.shirt = id;
      options.light = light;
      options.data_folders = settings.data;
      options.data_folders.insert(options.data_folders.end(), order.data.begin(), order.data.end());
      Scene scene = read_scene(study.print.scene, options);
      scene.ppi = study.scene.ppi;  // at the printing size
      scene.art_box = study.scene.art_box;
      const Prediction prediction(scene, plates);
      if (box.width() == 0) box = ink_box(prediction);  // of the plates: the same for all
      const PrintPixels print = print_pixels(prediction, box, print_px_per_mm, settings.threads);
      const Rgb8 cloth = bare_cloth(scene, prediction.model());
      for (std::size_t c = 0; c < 3; ++c) g.cloth[c] = static_cast<float>(srgb_decode(cloth[c] / 255.0));
      out.pictures.push_back(on_ground(draw_garment(g, print, px_per_mm, window)));
      if (light == out.lights.front()) {
        out.shirts.push_back(scene.shirt.name);
        out.cloth.push_back(cloth);
      }
      done += 1;
      if (progress) progress(done / static_cast<double>(ids.size() * out.lights.size()));
    }
  }
  return out;
}

}  // namespace kirtle
