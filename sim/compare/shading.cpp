#include "compare/shading.h"

#include "base/diagnostics.h"
#include "base/units.h"
#include "light/srgb.h"
#include "plate/contour.h"
#include "plate/io/colour_picture.h"
#include "plate/reshape/builds.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <memory>

namespace kirtle {

namespace {

constexpr double kLighterBy = 20;  ///< L*
constexpr double kSharesMm = 0.5;  ///< plates nearer than this share an edge
constexpr double kUnder = 0.9;     ///< of the tints with solid light below
constexpr int kBand = 256;         ///< rows at a time

double pixel_mm2(double ppi) { return kMmPerInch / ppi * kMmPerInch / ppi; }

/// Calls f(x, y, film) for every pixel of a tint: contours and what is none or solid left out.
template <class F>
void for_tints(const PlateImage& plate, F f) {
  for (int y0 = 0; y0 < plate.height; y0 += kBand) {
    const int rows = std::min(kBand, plate.height - y0);
    const DistanceRows d = contour_distance(plate, y0, rows, 0, 4);
    for (int y = 0; y < rows; ++y) {
      for (int x = 0; x < plate.width; ++x) {
        if (d.tint[static_cast<std::size_t>(y) * plate.width + x] != 0) f(x, y0 + y, plate.film(x, y0 + y));
      }
    }
  }
}

/// Pixels at which both print, or print within kSharesMm of each other; every fourth row and column.
std::size_t shared_places(const PlateImage& a, const PlateImage& b, double ppi) {
  const int reach = std::max(1, static_cast<int>(kSharesMm / kMmPerInch * ppi));
  std::size_t shared = 0;
  for (int y = 0; y < b.height; y += 4) {
    for (int x = 0; x < b.width; x += 4) {
      if (b.film(x, y) <= 0.02) continue;
      bool near = false;
      for (const auto& [dx, dy] : {std::pair{0, 0}, {reach, 0}, {-reach, 0}, {0, reach}, {0, -reach}}) {
        const int u = std::clamp(x + dx, 0, a.width - 1), v = std::clamp(y + dy, 0, a.height - 1);
        near = near || a.film(u, v) > 0.5;
      }
      shared += near ? 1 : 0;
    }
  }
  return shared;
}

int model_plate_named(const Scene& scene, const PrintModel& model, const std::string& name) {
  for (std::size_t i = 0; i < model.plates.size(); ++i) {
    if (model.plates[i].name == name) return static_cast<int>(i);
  }
  throw InputError({scene.file.string(), 0, 0},
                   fmt::format("[compare] names plate \"{}\", which no pass prints", printable(name, 60)),
                   "add a [[pass]] for it, or name another");
}

/// Colour of each plate's solid alone on the shirt.
Lab solid_alone(const PrintModel& model, std::size_t plate) {
  std::vector<double> cover(model.plates.size(), 0.0);
  cover[plate] = 1;
  return lab_from_xyz(model.table.mix(cover), model.table.weights().white);
}

bool is_base(const Scene& scene, const PrintModel& model, std::size_t plate) {
  return plate == 0 && first_pass_of(scene, model.plates[plate].scene_plate).flash_after &&
         model.plates.size() > 2;
}

[[noreturn]] void no_pair(const Scene& scene, const std::string& why) {
  throw InputError({scene.file.string(), 0, 0}, "there is no light and no dark that shades it: " + why,
                   "name them in [compare]: light = \"...\" and dark = \"...\"");
}

/// An sRGB PNG in memory.
}  // namespace

CompareRoles find_roles(const Scene& scene, const Prediction& prediction) {
  const PrintModel& model = prediction.model();
  if (model.plates.size() < 2) no_pair(scene, "it prints one plate only");
  const auto image = [&](std::size_t p) -> const PlateImage& { return prediction.covers()[p].image(); };
  CompareRoles out{-1, -1};
  if (!scene.compare.light.empty()) out.light = model_plate_named(scene, model, scene.compare.light);
  if (!scene.compare.dark.empty()) out.dark = model_plate_named(scene, model, scene.compare.dark);
  std::vector<Lab> lab;
  for (std::size_t p = 0; p < model.plates.size(); ++p) lab.push_back(solid_alone(model, p));
  if (out.dark < 0) {
    for (std::size_t p = 1; p < lab.size(); ++p) {
      if (static_cast<int>(p) == out.light || is_base(scene, model, p)) continue;
      if (out.dark < 0 || lab[p].l < lab[static_cast<std::size_t>(out.dark)].l)
        out.dark = static_cast<int>(p);
    }
    if (out.dark < 0) no_pair(scene, "no plate prints after another");
  }
  if (out.light < 0) {
    std::size_t most = 0;
    for (int pass = 0; pass < 2 && out.light < 0; ++pass) {
      for (int p = 0; p < out.dark; ++p) {
        const auto i = static_cast<std::size_t>(p);
        if (is_base(scene, model, i) != (pass == 1)) continue;
        if (lab[i].l < lab[static_cast<std::size_t>(out.dark)].l + kLighterBy) continue;
        const std::size_t shared =
            shared_places(image(i), image(static_cast<std::size_t>(out.dark)), prediction.ppi());
        if (shared <= most) continue;
        most = shared;
        out.light = p;
      }
    }
    if (out.light < 0)
      no_pair(scene, fmt::format("no lighter plate prints before \"{}\" and meets it",
                                 printable(model.plates[static_cast<std::size_t>(out.dark)].name, 60)));
  }
  return out;
}

Shading shading_of(const PlateImage& dark, double ppi) {
  constexpr int kSlopes = 2000;  // film per mm in steps of 0.01
  // A tint that goes from none to solid within a millimetre is an edge to the eye, not shading.
  constexpr int kEdgeSlope = 100;
  std::vector<std::size_t> slopes(kSlopes + 1);
  std::array<double, kRampSteps> count{};
  std::size_t tints = 0;
  const double per_mm = ppi / kMmPerInch;
  for_tints(dark, [&](int x, int y, double film) {
    ++tints;
    count[static_cast<std::size_t>(std::lround(film * (kRampSteps - 1)))] += 1;
    if (x + 1 >= dark.width || y + 1 >= dark.height) return;
    const double dx = dark.film(x + 1, y) - film, dy = dark.film(x, y + 1) - film;
    ++slopes[static_cast<std::size_t>(std::min<double>(kSlopes, std::hypot(dx, dy) * per_mm * 100))];
  });
  Shading out;
  out.tint_mm2 = static_cast<double>(tints) * pixel_mm2(ppi);
  double inner = 0;
  for (int i = 1; i + 1 < kRampSteps; ++i) inner += count[i];
  for (int i = 0; i < kRampSteps; ++i)
    out.weight[i] = inner > 0 ? (i == 0 || i + 1 == kRampSteps ? 0 : count[i] / inner) : 1.0 / kRampSteps;
  std::size_t below = 0, all = 0;
  for (int s = 0; s < kEdgeSlope; ++s) all += slopes[s];
  for (int s = 0; s < kEdgeSlope && all > 0; ++s) {
    below += slopes[s];
    out.steepest_per_mm = s / 100.0;
    if (static_cast<double>(below) >= 0.95 * static_cast<double>(all)) break;
  }
  return out;
}

PlateImage light_body(const PlateImage& light, const PlateImage& dark, double ppi, unsigned threads) {
  std::size_t tints = 0, under = 0;
  for_tints(dark, [&](int x, int y, double) {
    ++tints;
    under += light.film(x, y) >= 0.95 ? 1 : 0;
  });
  if (static_cast<double>(under) >= kUnder * static_cast<double>(tints)) return light;
  const PlateImage* over[] = {&light, &dark};
  PlateImage body = underlay(over, {}, ppi, &light, threads).plate;
  body.name = light.name;
  return body;
}

ShadeIntent art_intent(const std::filesystem::path& file, const PlateImage& body, const PlateImage& dark,
                       const PrintModel& model) {
  const ColourPicture art = read_colour_png(file);
  const double stretch =
      static_cast<double>(art.width) / art.height / (static_cast<double>(dark.width) / dark.height);
  if (std::abs(stretch - 1) > 0.02) {
    throw InputError({file.string(), 0, 0},
                     fmt::format("the art is {} x {} pixels, the plates {} x {}: not the same proportions",
                                 art.width, art.height, dark.width, dark.height),
                     "save the art at the plates' crop");
  }
  const XYZ& white = model.table.weights().white;
  std::array<XYZ, kRampSteps> sum{};
  std::array<double, kRampSteps> count{};
  for (int y = 0; y < dark.height; ++y) {
    for (int x = 0; x < dark.width; ++x) {
      if (body.film(x, y) < 0.98) continue;
      const double t = dark.film(x, y) * (kRampSteps - 1);
      const auto step = static_cast<std::size_t>(std::lround(t));
      const int u = std::min(art.width - 1, static_cast<int>((x + 0.5) * art.width / dark.width));
      const int v = std::min(art.height - 1, static_cast<int>((y + 0.5) * art.height / dark.height));
      const std::size_t at = 3 * (static_cast<std::size_t>(v) * art.width + u);
      const LinearRgb rgb{srgb_decode(art.rgb[at] / 255.0), srgb_decode(art.rgb[at + 1] / 255.0),
                          srgb_decode(art.rgb[at + 2] / 255.0)};
      const XYZ xyz = xyz_from_linear_srgb(rgb, white);
      sum[step].x += xyz.x;
      sum[step].y += xyz.y;
      sum[step].z += xyz.z;
      count[step] += 1;
    }
  }
  std::vector<int> known;
  ShadeIntent out;
  out.from_art = true;
  for (int i = 0; i < kRampSteps; ++i) {
    if (count[i] < 1) continue;
    known.push_back(i);
    out.lab[i] = lab_from_xyz({sum[i].x / count[i], sum[i].y / count[i], sum[i].z / count[i]}, white);
  }
  if (known.size() < 2)
    throw InputError({file.string(), 0, 0}, "the dark plate has fewer than two tones over the light",
                     "leave art out: there is no shading to be fitted");
  for (int i = 0; i < kRampSteps; ++i) {
    if (count[i] >= 1) continue;
    const auto after = std::lower_bound(known.begin(), known.end(), i);
    const int hi = after == known.end() ? known.back() : *after;
    const int lo = after == known.begin() ? known.front() : *(after - 1);
    const double u = hi == lo ? 0 : static_cast<double>(i - lo) / (hi - lo);
    out.lab[i] = {out.lab[lo].l + u * (out.lab[hi].l - out.lab[lo].l),
                  out.lab[lo].a + u * (out.lab[hi].a - out.lab[lo].a),
                  out.lab[lo].b + u * (out.lab[hi].b - out.lab[lo].b)};
  }
  out.weight = shading_of(dark, 1).weight;
  return out;
}

}  // namespace kirtle
