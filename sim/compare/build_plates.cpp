#include "compare/build_plates.h"

#include "plate/reshape/builds.h"
#include "plate/reshape/contours.h"
#include "plate/reshape/tones.h"
#include "plate/reshape/wide_solids.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr double kLeastHoleMm =
    0.5;  ///< reversed lines narrower than this fill in (common practice, no source)
constexpr double kPrintsFrom = 0.02;  ///< film

/// The tone curve worked into the dark plate: in full steps at the tones that shops talk about.
std::string steps_text(const StepTable& steps) {
  std::string out = "steps (asked > film %):";
  for (const int asked : {5, 10, 25, 50, 75, 90, 95})
    out += fmt::format(" {}>{:.0f}", asked, 100 * step_table_printed(steps, asked / 100.0));
  return out;
}

bool changes_tones(const StepTable& steps) {
  for (std::size_t i = 0; i < steps.asked.size(); ++i) {
    if (std::abs(steps.asked[i] - steps.printed[i]) > 0.005) return true;
  }
  return false;
}

/// The light carried under the dark where they meet: its edges outward by the overlap, as far as the dark
/// prints.
PlateImage carried_under(const PlateImage& light, const PlateImage& dark, Mm overlap, double prints_from,
                         double ppi, unsigned threads) {
  if (!(overlap.v > 0)) return light;
  const PlateImage spread = move_contours(light, overlap, ppi, threads).plate;
  const PlateImage prints = where_film_reaches(dark, prints_from, threads);
  PlateImage out = light;
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x) {
      // Added, not the larger of the two: at a butt edge each has its part of the pixel.
      const double film = std::min(1.0, light.film(x, y) + std::min(spread.film(x, y), prints.film(x, y)));
      const std::size_t i = static_cast<std::size_t>(y) * out.width + x;
      if (out.bits == 8)
        out.ink8[i] = static_cast<std::uint8_t>(std::lround(255 * std::max(film, light.film(x, y))));
      else
        out.ink16[i] = static_cast<std::uint16_t>(std::lround(65535 * std::max(film, light.film(x, y))));
    }
  }
  return out;
}

/// The light of a build, from its body and the dark as it will print.
PlateImage light_plate(BuildKind kind, const PlateImage& arrived, const PlateImage& dark,
                       const BuildFigures& figures, double ppi, unsigned threads,
                       std::vector<std::string>& done) {
  const RampSettings& ramp = figures.cut;
  const Mm overlap = figures.overlap;
  if (kind == BuildKind::shirt_as_dark) {
    done.push_back("fades out where the dark was: the shirt is the dark");
    return fade_out(arrived, dark, {0}, ppi, threads).plate;
  }
  if (kind == BuildKind::fade) {
    done.push_back("fades out as the dark comes in; butts at edges");
    return fade_out(arrived, dark, {0}, ppi, threads).plate;
  }
  const PlateImage body = carried_under(arrived, dark, overlap, kPrintsFrom, ppi, threads);
  done.push_back(fmt::format("carried {:.2f} mm under the dark where they meet", overlap.v));
  if (kind == BuildKind::fade_trap) {
    done.push_back("fades out as the dark comes in");
    return fade_out(body, dark, overlap, ppi, threads).plate;
  }
  if (kind == BuildKind::solid_under_all) {
    done.push_back("solid under all of the dark");
    return body;
  }
  if (kind == BuildKind::solid_under) {
    done.push_back(
        fmt::format("solid under the shading; cut out where the dark's film is {:.0f} % or more, "
                    "but for a rim of {:.2f} mm and where less than {:.1f} mm would be cut",
                    100 * ramp.solid_from, overlap.v, kLeastHoleMm));
    KnockOut hole;
    hole.solid_from = ramp.solid_from;
    hole.rim = overlap;
    const Mm wide{2 * overlap.v + kLeastHoleMm};
    return knock_out(body, wide_solids(dark, ramp.solid_from, wide, ppi, threads), hole, ppi, threads).plate;
  }
  KnockOut cut;
  cut.rim = overlap;
  cut.solid_from = ramp.solid_from;
  cut.kind = KnockOutKind::with_tone;
  cut.taper_from = ramp.taper_from;
  done.push_back(
      fmt::format("solid under the shading; tapers off where the dark's film goes from {:.0f} to "
                  "{:.0f} %; rim of {:.2f} mm at hard edges",
                  100 * cut.taper_from, 100 * cut.solid_from, cut.rim.v));
  return knock_out(body, dark, cut, ppi, threads).plate;
}

}  // namespace

BuiltPlates build_plates(const Scene& scene, const Prediction& arrived, const CompareRoles& roles,
                         const PlateImage& body, const BuildFigures& figures, unsigned threads) {
  const PrintModel& model = arrived.model();
  const double ppi = arrived.ppi();
  const int dark_plate = model.plates[static_cast<std::size_t>(roles.dark)].scene_plate;
  BuiltPlates out;
  out.kind = figures.kind;
  out.ppi = ppi;
  out.scene = scene;
  if (!prints_dark(figures.kind))
    std::erase_if(out.scene.passes, [&](const ScenePass& pass) { return pass.plate == dark_plate; });

  PlateChange dark_change{model.plates[static_cast<std::size_t>(roles.dark)].name, {}, {}};
  const PlateImage& old_dark = arrived.covers()[static_cast<std::size_t>(roles.dark)].image();
  Reshaped dark{old_dark, {}};
  const bool has_curve = first_pass_of(scene, dark_plate).curve != CurveAt::none;
  if (has_curve) {
    dark_change.done.push_back("its own curve stays: nothing is compensated twice");
  } else if (changes_tones(figures.ramp.steps)) {
    dark = apply_steps(old_dark, figures.ramp.steps, ppi, threads);
    dark_change.done.push_back(steps_text(figures.ramp.steps));
    for (ScenePass& pass : out.scene.passes) {
      if (pass.plate == dark_plate) pass.curve = CurveAt::plates;
    }
    if (prints_dark(figures.kind)) out.compensated = dark_change.plate;
  }
  dark_change.change = dark.change;
  if (!prints_dark(figures.kind)) dark_change.done = {"left out: one screen less"};

  PlateChange light_change{model.plates[static_cast<std::size_t>(roles.light)].name, {}, {}};
  const PlateImage& old_light = arrived.covers()[static_cast<std::size_t>(roles.light)].image();
  PlateImage light = light_plate(figures.kind, body, dark.plate, figures, ppi, threads, light_change.done);
  light_change.change = change_between(old_light, light, ppi, threads);

  for (std::size_t p = 0; p < model.plates.size(); ++p) {
    const bool is_light = static_cast<int>(p) == roles.light, is_dark = static_cast<int>(p) == roles.dark;
    if (is_light) {
      out.changes.push_back(light_change);
      out.images.push_back(std::move(light));
    } else if (is_dark) {
      out.changes.push_back(dark_change);
      if (prints_dark(figures.kind)) out.images.push_back(std::move(dark.plate));
    } else {
      out.changes.push_back({model.plates[p].name, {}, {}});
      out.images.push_back(arrived.covers()[p].image());
    }
    if (!is_dark || prints_dark(figures.kind)) out.images.back().name = model.plates[p].name;
  }
  return out;
}

std::string change_list(const Scene& original, const BuiltPlates& built) {
  std::string out = fmt::format("{}: {}\nfrom {}\n\n", printable(original.title, 200), build_name(built.kind),
                                printable(original.file.filename().string(), 200));
  for (const PlateChange& c : built.changes) {
    out += fmt::format("{}\n", printable(c.plate, 200));
    if (c.done.empty()) out += "  as it arrived\n";
    for (const std::string& line : c.done) out += "  " + line + "\n";
    if (!c.change.none()) {
      out += fmt::format("  film: {:.0f} mm2 added, {:.0f} mm2 taken away, of {:.0f} mm2 before\n",
                         c.change.added_mm2, c.change.removed_mm2, c.change.before_mm2);
    }
  }
  out += '\n';
  if (!built.compensated.empty()) {
    out += fmt::format("The curve of {} is in the plate: do not compensate it again in the film output.\n",
                       printable(built.compensated, 200));
  }
  out +=
      "What counts as solid, and the step tables' aim, are common practice and the print model's; test "
      "print.\n";
  return out;
}

}  // namespace kirtle
