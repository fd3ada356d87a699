#include "predict/reading.h"

#include "base/check.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace kirtle {

namespace {

std::string ink_name(const Scene& scene, int pass) {
  return scene.passes[static_cast<std::size_t>(pass)].ink.name;
}

void describe_film(const Scene& scene, const Overprint& solid, PointReading& out) {
  for (auto layer = solid.film.rbegin(); layer != solid.film.rend(); ++layer) {
    StackLine line;
    for (const FilmPart& part : layer->parts) {
      if (!line.what.empty()) line.what += " + ";
      line.what += ink_name(scene, part.pass);
    }
    line.um = layer->thickness().v;
    line.note = layer->parts.size() > 1 ? "on top, mixed wet" : "on top";
    out.stack.push_back(line);
  }
}

void describe_cloth(const Scene& scene, const Stack& stack, std::span<const double> dose, PointReading& out) {
  const std::vector<SoakedCloth> tables = stack.cloth_table(dose);
  const Cloth& cloth = stack.cloth();
  for (std::size_t p = scene.passes.size(); p-- > 0;) {
    double um = 0;
    for (const ClothSublayer& s : tables.front().sublayers) um += s.ink_volume[p] * s.thickness.v;
    if (um < 1e-6) continue;
    const Ink& ink = scene.passes[p].ink;
    out.stack.push_back({ink.name, um, 1, fmt::format("soaked in, 1/e at {:.0f} um", ink.soak_depth.v)});
  }
  for (std::size_t f = 0; f < tables.size(); ++f) {
    const ClothFibre& fibre = cloth.fibres[f];
    std::string note;
    for (std::size_t d = 0; d < fibre.dyes.size(); ++d) {
      const double face = tables[f].sublayers.front().dye_left[d];
      double mean = 0;
      for (const ClothSublayer& s : tables[f].sublayers)
        mean += s.dye_left[d] * s.thickness.v / cloth.thickness.v;
      note += fmt::format("{}{}: dye left {:.1f} % at the face, {:.1f} % through the ply",
                          note.empty() ? "" : "; ", fibre.dyes[d].name, 100 * face, 100 * mean);
    }
    out.stack.push_back(
        {"cloth: " + fibre.name, cloth.thickness.v, fibre.share, note.empty() ? "undyed" : note});
  }
}

void add_provenance(const Provenance& p, const std::string& what, std::vector<std::string>& out) {
  std::string line = what + ": " + std::string(to_string(p.status));
  if (p.colour_sigma_de00 > 0) line += fmt::format(", colour +- dE00 {:.2g} (1 s.d.)", p.colour_sigma_de00);
  if (!p.source.empty()) line += ", source: " + p.source;
  if (!p.assumed.empty()) {
    line += "; assumed: ";
    for (std::size_t i = 0; i < p.assumed.size(); ++i) line += (i > 0 ? ", " : "") + p.assumed[i];
  }
  if (std::find(out.begin(), out.end(), line) == out.end()) out.push_back(line);
}

/// Area means of what an overprint holds, over the overprints that meet at the point. Tints on different
/// screens fall independently, which leaves means of deposits linear in each plate's coverage where layers do
/// not seal each other.
void add_means(const OverprintTable& table, const std::vector<double>& printed, PointReading& out) {
  std::vector<int> dots;
  for (std::size_t i = 0; i < printed.size(); ++i) {
    if (printed[i] > 0 && printed[i] < 1 && !table.dots(static_cast<int>(i)).field)
      dots.push_back(static_cast<int>(i));
  }
  std::vector<double> dose = printed;
  for (unsigned c = 0; c < 1u << dots.size(); ++c) {
    double w = 1;
    for (std::size_t d = 0; d < dots.size(); ++d) {
      const double a = printed[static_cast<std::size_t>(dots[d])];
      const bool in = c >> d & 1u;
      w *= in ? a : 1 - a;
      dose[static_cast<std::size_t>(dots[d])] = in ? 1 : 0;
    }
    const Overprint o = table.stack().at(dose);
    out.wet_load_cm3_m2 += w * o.wet_total.v;
    out.ink_build_um += w * o.film_total.v;
    out.soaked_um += w * o.soaked_total.v;
    out.agent_g_m2 += w * o.agent_g_m2;
    out.not_predicted = out.not_predicted || o.has_flat;
  }
}

void add_colour(const OverprintTable& table, const XYZ& xyz, PointReading& out) {
  const XYZ& white = table.weights().white;
  out.xyz = xyz;
  out.lab = lab_from_xyz(xyz, white);
  out.srgb = srgb_from_xyz(xyz, white);
  out.hex = hex_text(srgb_codes8(out.srgb.linear));
}

PointReading read_at(const Scene& scene, const PrintModel& model, const std::vector<double>& film,
                     const std::vector<double>& printed) {
  KIRTLE_CHECK(printed.size(), ==, model.plates.size());
  PointReading out;
  std::vector<double> solid(printed.size());
  for (std::size_t i = 0; i < printed.size(); ++i) {
    out.plates.push_back({model.plates[i].name, film[i], printed[i], model.plates[i].dots.field});
    solid[i] = printed[i] > 0 && !model.plates[i].dots.field ? 1 : printed[i];
  }
  out.reflectance = model.table.reflectance(printed);
  add_colour(model.table, xyz_from_reflectance(out.reflectance, model.table.weights()), out);
  describe_film(scene, model.table.stack().at(solid), out);
  describe_cloth(scene, model.table.stack(), solid, out);
  add_means(model.table, printed, out);
  add_provenance(scene.shirt.provenance, "shirt " + scene.shirt.id, out.provenance);
  for (const ScenePass& pass : scene.passes) {
    add_provenance(pass.ink.provenance, "ink " + pass.ink.id, out.provenance);
    add_provenance(pass.mesh.provenance, "mesh " + pass.mesh.id, out.provenance);
  }
  if (!scene.assumed.empty()) {
    std::string line = "scene: assumed: ";
    for (std::size_t i = 0; i < scene.assumed.size(); ++i) line += (i > 0 ? ", " : "") + scene.assumed[i];
    out.provenance.push_back(line);
  }
  return out;
}

/// Film value of the plate's pixel that the press lands here: with a screen that is off, another than the one
/// at this place of the plate. Nothing beyond the plate's edge.
double film_landing_at(const PlateCover& cover, int x, int y) {
  double sx = 0, sy = 0;
  cover.source_of(x, y, sx, sy);
  const PlateImage& image = cover.image();
  const double px = std::round(sx), py = std::round(sy);
  if (!(px >= 0 && py >= 0 && px < image.width && py < image.height)) return 0;
  return image.film(static_cast<int>(px), static_cast<int>(py));
}

/// Rows of a plate, from the top, on which the pixel of a place hangs: where the press takes it from, further
/// by what wicking and contours reach.
int rows_above(const PrintingPlate& plate, Mm x, Mm y, int width, int height, double ppi) {
  const double px_per_mm = ppi / kMmPerInch;
  const CoverSettings& settings = plate.cover;
  if (!(std::abs(settings.tone.spread.v / kUmPerInch * ppi) <= kMostSpreadPx)) return height;
  PlateImage blank;
  blank.width = width;
  blank.height = height;
  const PlateCover cover(blank, ppi, settings);
  double sx = 0, sy = 0;
  cover.source_of(std::floor(x.v * px_per_mm), std::floor(y.v * px_per_mm), sx, sy);
  // The pixel's neighbours have a say, too, and those between which the press lands it.
  constexpr double kNeighbours = 6;
  return static_cast<int>(std::fmin(std::fmax(std::ceil(sy + cover.halo_px() + kNeighbours), 1), height));
}

}  // namespace

PointReading read_printed(const Scene& scene, const PrintModel& model, const std::vector<double>& printed) {
  const std::vector<double> film(printed.size(), std::numeric_limits<double>::quiet_NaN());
  return read_at(scene, model, film, printed);
}

PointReading read_film(const Scene& scene, const PrintModel& model, const std::vector<double>& film) {
  KIRTLE_CHECK(film.size(), ==, model.plates.size());
  std::vector<double> printed;
  for (std::size_t i = 0; i < film.size(); ++i) printed.push_back(model.plates[i].tone.printed(film[i]));
  return read_at(scene, model, film, printed);
}

PointReading read_place(const Scene& scene, const Prediction& prediction, Mm x, Mm y) {
  const PrintRenderer& renderer = prediction.renderer();
  const double px_per_mm = prediction.ppi() / kMmPerInch;
  if (!(x.v >= 0 && y.v >= 0 && x.v < prediction.width_mm() && y.v < prediction.height_mm())) {
    throw InputError({}, fmt::format("the point {:g},{:g} mm lies outside the print", x.v, y.v),
                     fmt::format("the print is {:.1f} x {:.1f} mm; 0,0 is its top left corner",
                                 prediction.width_mm(), prediction.height_mm()));
  }
  const int px = std::min(static_cast<int>(x.v * px_per_mm), renderer.width() - 1);
  const int py = std::min(static_cast<int>(y.v * px_per_mm), renderer.height() - 1);
  std::vector<double> film, printed;
  for (const PlateCover& cover : prediction.covers()) {
    film.push_back(film_landing_at(cover, px, py));
    printed.push_back(cover.cover_at(px, py));
  }
  PointReading out = read_at(scene, prediction.model(), film, printed);
  out.reflectance = renderer.reflectance_at(px, py);  // the pixel's, also where a contour cuts it
  add_colour(prediction.model().table,
             xyz_from_reflectance(out.reflectance, prediction.model().table.weights()), out);
  return out;
}

RowsWanted rows_for_place(const Scene& scene, Mm x, Mm y) {
  return [plates = printing_plates(scene), x, y](int width, int height, double ppi) {
    int rows = 1;
    for (const PrintingPlate& plate : plates)
      rows = std::max(rows, rows_above(plate, x, y, width, height, ppi));
    return rows;
  };
}

}  // namespace kirtle
