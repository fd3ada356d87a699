#include "compare/compare.h"

#include "job/press_plan.h"
#include "light/srgb.h"
#include "predict/ink_used.h"
#include "print/renderer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace kirtle {

namespace {

constexpr double kCloseUpMm = 7;

void stop_if_asked(const Progress& progress, double share) {
  if (progress && !progress(share)) throw Cancelled();
}

/// A square of the print, all of its pixels.
std::shared_ptr<const PagePicture> close_up(const Prediction& p, double x_mm, double y_mm) {
  const PrintRenderer& r = p.renderer();
  const double px_per_mm = p.ppi() / kMmPerInch;
  const int side = std::min({static_cast<int>(kCloseUpMm * px_per_mm), r.width(), r.height()});
  const int x0 = std::clamp(static_cast<int>(x_mm * px_per_mm) - side / 2, 0, r.width() - side);
  const int y0 = std::clamp(static_cast<int>(y_mm * px_per_mm) - side / 2, 0, r.height() - side);
  std::vector<XYZf> rows(static_cast<std::size_t>(side) * r.width());
  RenderWorker worker(p.model().table);
  r.xyz_rows(y0, side, worker, rows);
  const SrgbEncoder encoder(p.model().table.weights().white);
  auto out = std::make_shared<PagePicture>();
  out->width = out->height = side;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const XYZf& c = rows[static_cast<std::size_t>(y) * r.width() + x0 + x];
      const Rgb8 rgb =
          encoder.encode8({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)});
      out->rgba.insert(out->rgba.end(), {rgb[0], rgb[1], rgb[2], 255});
    }
  }
  return out;
}

/// The built plates once more, moved as the press moves them on that shirt.
Prediction on_shirt(const BuiltPlates& built, std::vector<PlateImage> images, std::uint32_t shirt) {
  const Scene moved = scene_on_shirt(built.scene, RegisterRun(register_model(built.scene)), shirt);
  return Prediction(moved, std::move(images), built.ppi);
}

ShirtRun run_order(const Scene& scene, const Prediction& print, const Comparison& c,
                   const CompareOptions& options) {
  ShirtRunSettings settings;
  settings.shirts = options.shirts;
  settings.visible = c.settings.visible;
  settings.accepted_share = c.settings.accepted_share;
  settings.threads = options.threads;
  return run_shirts(scene, print, RegisterRun(register_model(scene)), settings);
}

/// Most ink where the two plates as they are meet. More film never lays less, so that of the pixels with the
/// same film of the light the one with most of the dark is enough.
double most_load(const Scene& scene, const Prediction& print, const CompareRoles& roles) {
  const PlateImage& light = print.covers()[static_cast<std::size_t>(roles.light)].image();
  const PlateImage& dark = print.covers()[static_cast<std::size_t>(roles.dark)].image();
  constexpr int kSteps = 255;
  std::array<int, kSteps + 1> most;
  most.fill(-1);
  for (int y = 0; y < light.height; ++y) {
    for (int x = 0; x < light.width; ++x) {
      int& m = most[static_cast<std::size_t>(std::lround(kSteps * light.film(x, y)))];
      m = std::max(m, static_cast<int>(std::lround(kSteps * dark.film(x, y))));
    }
  }
  const auto printed = [&print](int plate, int step) {
    return print.model().plates[static_cast<std::size_t>(plate)].tone.printed(step /
                                                                              static_cast<double>(kSteps));
  };
  const bool layer = builds_layer(scene, print.model(), roles);
  double load = 0;
  for (int step = kSteps, above = -1; step >= 0; --step) {
    const int d = most[static_cast<std::size_t>(step)];
    if (d <= above) continue;
    above = d;
    load = std::max(load,
                    load_at(print.model(), roles, layer, printed(roles.light, step), printed(roles.dark, d)));
  }
  return load;
}

AsTheyStand print_as_they_stand(const Scene& scene, const Prediction& arrived, const Comparison& c,
                                const CompareOptions& options) {
  AsTheyStand out;
  out.run = run_order(scene, arrived, c, options);
  out.load = most_load(scene, arrived, c.roles);
  const PressEffort effort = press_effort(scene);
  out.screens = effort.screens;
  out.flashes = effort.flashes;
  out.grams = order_grams(arrived, scene, options.shirts, options.threads);
  return out;
}

ComparedBuild print_build(const Scene& scene, const Prediction& arrived, const Comparison& c,
                          const ArrivedPicture& picture, const PlateImage& body, BuildFigures figures,
                          const CompareOptions& options) {
  ComparedBuild out;
  BuiltPlates built = build_plates(scene, arrived, c.roles, body, figures, options.threads);
  out.changes = built.changes;
  std::vector<PlateImage> again = options.pictures ? built.images : std::vector<PlateImage>();
  const Prediction print(built.scene, std::move(built.images), built.ppi);
  out.run = run_order(built.scene, print, c, options);
  out.picture = picture.change_to(print, options.threads);
  out.grams = order_grams(print, built.scene, options.shirts, options.threads);
  figures.showing_share = out.run.showing.visible.share;
  figures.any_gap_share = out.run.showing.gap.share;
  set_points(figures);
  out.figures = std::move(figures);
  if (!options.pictures) return out;
  BuildPictures& pictures = out.pictures;
  pictures.side_mm = kCloseUpMm;
  pictures.x_mm = print.width_mm() / 2;
  pictures.y_mm = print.height_mm() / 2;
  const int worst = std::max(0, out.run.showing.worst);
  if (const ShirtShowing& s = out.run.showing.shirts[static_cast<std::size_t>(worst)]; s.widest_mm > 0) {
    pictures.x_mm = static_cast<double>(s.x_mm);
    pictures.y_mm = static_cast<double>(s.y_mm);
  }
  pictures.in_register = close_up(print, pictures.x_mm, pictures.y_mm);
  pictures.worst = close_up(on_shirt(built, std::move(again), static_cast<std::uint32_t>(worst) + 1),
                            pictures.x_mm, pictures.y_mm);
  return out;
}

/// "1 shows", "about 59 show".
std::string shirts_text(const ShirtShare& share) {
  if (share.shirts == 0) return "none";
  return fmt::format("about {}", share.shirts);
}

/// What to do to the plates for a build.
std::string instruction(const BuildFigures& f, const std::string& light, const std::string& dark) {
  switch (f.kind) {
    case BuildKind::fade:
      return fmt::format("Fade the {} out as the {} comes in, edges butted", light, dark);
    case BuildKind::fade_trap:
      return fmt::format("Fade the {} out as the {} comes in, trapped by {:.2f} mm", light, dark,
                         f.overlap.v);
    case BuildKind::solid_under:
      return fmt::format("Lay the {} solid under the {}, knocked out under solid {} with {:.2f} mm overlap",
                         light, dark, dark, f.overlap.v);
    case BuildKind::solid_under_all:
      return fmt::format("Lay the {} solid under all of the {}", light, dark);
    case BuildKind::shirt_as_dark:
      return fmt::format("Leave the {} plate out and let the shirt be the dark", dark);
    case BuildKind::solid_tapering:
      return fmt::format(
          "Lay the {} solid under the {}, tapering off in deep shadow, {:.2f} mm overlap at hard edges",
          light, dark, f.overlap.v);
  }
  return {};
}

/// Of a build that is taken, whose shade is not refused.
std::string shade_sentence(double de00) {
  if (de00 < 1) return "shading stays within what an eye can tell";
  if (de00 < 2) return "shading is off by what shows only side by side";
  return "shading is off by what is seen";
}

}  // namespace

CompareSettings compare_settings(const Scene& scene, const Shading& shading, std::optional<Mm> overlap) {
  CompareSettings out;
  out.overlap = overlap;
  out.steepest_per_mm = shading.steepest_per_mm;
  out.wet_limit_cm3_m2 = scene.compare.wet_limit_cm3_m2.value_or(out.wet_limit_cm3_m2);
  out.ink_build_limit_um = scene.compare.ink_build_limit_um.value_or(out.ink_build_limit_um);
  return out;
}

double order_grams(const Prediction& prediction, const Scene& scene, int shirts, unsigned threads) {
  const std::vector<double> area = covered_mm2(prediction, threads);
  const std::vector<PrintingPlate>& plates = prediction.model().plates;
  // A screen that prints twice is filled once.
  std::map<std::pair<int, std::string>, double> grams_a_shirt;
  for (const ScenePass& pass : scene.passes) {
    const auto plate = std::find_if(plates.begin(), plates.end(),
                                    [&](const PrintingPlate& p) { return p.scene_plate == pass.plate; });
    grams_a_shirt[{pass.plate, pass.ink.id}] +=
        wet_grams(pass, area[static_cast<std::size_t>(plate - plates.begin())]);
  }
  double grams = 0;
  for (const auto& [screen, a_shirt] : grams_a_shirt) grams += ink_to_mix(a_shirt, shirts).middle_g();
  return grams;
}

double widest_mm(const ShirtRun& run) {
  const int worst = run.showing.worst;
  return worst < 0 ? 0 : static_cast<double>(run.showing.shirts[static_cast<std::size_t>(worst)].widest_mm);
}

CompareStart start_comparing(const Scene& scene, const Prediction& arrived, std::optional<Mm> overlap,
                             unsigned threads) {
  CompareStart out;
  out.roles = find_roles(scene, arrived);
  const PlateImage& light = arrived.covers()[static_cast<std::size_t>(out.roles.light)].image();
  const PlateImage& dark = arrived.covers()[static_cast<std::size_t>(out.roles.dark)].image();
  out.shading = shading_of(dark, arrived.ppi());
  out.settings = compare_settings(scene, out.shading, overlap);
  out.body = light_body(light, dark, arrived.ppi(), threads);
  out.intent = scene.compare.art.empty() ? ideal_ramp(arrived.model(), out.roles)
                                         : art_intent(scene.compare.art, out.body, dark, arrived.model());
  out.intent.weight = out.shading.weight;
  return out;
}

Comparison compare_builds(const Scene& scene, const Prediction& arrived, const CompareOptions& options) {
  const CompareStart start = start_comparing(scene, arrived, options.overlap, options.threads);
  stop_if_asked(options.progress, 0.05);
  const PrintModel& model = arrived.model();
  Comparison out;
  out.roles = start.roles;
  out.shading = start.shading;
  out.settings = start.settings;
  out.intent_from_art = start.intent.from_art;
  out.light = model.plates[static_cast<std::size_t>(out.roles.light)].name;
  out.dark = model.plates[static_cast<std::size_t>(out.roles.dark)].name;
  const auto called = [&](int plate) {
    const PrintingPlate& p = model.plates[static_cast<std::size_t>(plate)];
    const std::string& ink = scene.plates[static_cast<std::size_t>(p.scene_plate)].customer_ink;
    return ink.empty() ? p.name : ink;
  };
  out.light_called = called(out.roles.light);
  out.dark_called = called(out.roles.dark);
  out.shirts = options.shirts;
  out.pair_sigma = register_model(scene).pair_sigma;
  const std::vector<BuildKind> kinds = options.kinds.empty()
                                           ? std::vector<BuildKind>(all_builds().begin(), all_builds().end())
                                           : options.kinds;
  std::vector<BuildFigures> figures =
      evaluate_builds(scene, model, out.roles, start.intent, kinds, out.settings);
  const std::optional<BuildKind> by_closed_forms = taken(figures, choose_build(figures));
  const ArrivedPicture picture(arrived, options.threads);
  out.as_they_stand = print_as_they_stand(scene, arrived, out, options);
  for (std::size_t i = 0; i < figures.size(); ++i) {
    stop_if_asked(options.progress,
                  0.05 + 0.85 * static_cast<double>(i) / static_cast<double>(figures.size()));
    out.builds.push_back(print_build(scene, arrived, out, picture, start.body, figures[i], options));
  }
  figures.clear();
  for (const ComparedBuild& b : out.builds) figures.push_back(b.figures);
  out.choice = choose_build(figures);
  stop_if_asked(options.progress, 0.9);
  out.flips = find_flips(scene, out.roles, start.intent, kinds, out.settings, by_closed_forms);
  return out;
}

namespace {

/// "60 um against 40", or empty where both read alike.
std::string against(const std::string& other, const std::string& unit, const std::string& best) {
  return other == best ? std::string() : other + unit + " against " + best;
}

std::string figures_against(const Comparison& c, const BuildFigures& f, const BuildFigures& best,
                            Concern concern) {
  const char* unit = f.builds_layer ? "um" : "cm3/m2 wet";
  const auto whole = [](double x) { return fmt::format("{:.0f}", x); };
  const auto tenths = [](double x) { return fmt::format("{:.1f}", x); };
  const auto led_by = [](const char* words, const std::string& figures) {
    return figures.empty() ? figures : words + figures;
  };
  switch (concern) {
    case Concern::showing:
      return led_by("open edges are seen on ", against(whole(100 * f.showing_share) + " %", " of shirts",
                                                       whole(100 * best.showing_share) + " %"));
    case Concern::shade:
      return led_by("95 % of its tints are off by up to dE ",
                    against(tenths(f.ramp.p95_de00), "", tenths(best.ramp.p95_de00)));
    case Concern::drift:
      return led_by("its shades drift over the run by dE ",
                    against(tenths(f.drift_de00), "", tenths(best.drift_de00)));
    case Concern::ink:
      if (f.piled && !best.piled) return fmt::format("two solids pile up: {:.0f} {}", f.load, unit);
      return led_by("it lays ", against(whole(f.load), std::string(" ") + unit, whole(best.load)));
    case Concern::holding:
      return fmt::format(
          "the {} plate prints tints, and its mesh has {:.1f} threads per line where 3.5 are wanted", c.light,
          f.threads_per_line);
    case Concern::effort:
      break;
  }
  return fmt::format("{} screens and {} flashes against {} and {}", f.screens, f.flashes, best.screens,
                     best.flashes);
}

}  // namespace

std::string reason_sentence(const Comparison& c, std::size_t build) {
  const BuildFigures& f = c.builds[build].figures;
  const BuildFigures& best = c.builds[c.choice.best].figures;
  if (!f.refused.empty()) return refused_text(f);
  const std::string figures = figures_against(c, f, best, c.choice.loses_by[build]);
  return figures.empty()
             ? fmt::format("nearly as good: a little more of {}", concern_name(c.choice.loses_by[build]))
             : figures;
}

std::string decision_sentence(const Scene& scene, const Comparison& c) {
  const ComparedBuild& best = c.builds[c.choice.best];
  const BuildFigures& f = best.figures;
  std::string out =
      c.choice.none
          ? fmt::format(
                "None of these builds is to be recommended as it stands; the least bad is \"{}\" ({})",
                build_name(f.kind), refused_text(f))
          : instruction(f, printable(c.light_called, 60), printable(c.dark_called, 60));
  out += fmt::format(": of {} shirts {} show{} {}", best.run.showing.visible.of,
                     shirts_text(best.run.showing.visible), best.run.showing.visible.shirts == 1 ? "s" : "",
                     printable(what_can_show(scene, best.run), 120));
  // Against the halftones side by side, which is the other way to go about it; else against the runner-up.
  const ComparedBuild* other = c.choice.next != c.choice.best ? &c.builds[c.choice.next] : nullptr;
  for (const ComparedBuild& b : c.builds) {
    if (b.figures.kind == BuildKind::fade && &b != &best) other = &b;
  }
  if (other != nullptr)
    out += fmt::format(", against {} with \"{}\"", shirts_text(other->run.showing.visible),
                       build_name(other->figures.kind));
  if (c.choice.none) return out + ".";
  if (f.showing_share > 0.9) out += "; no build keeps it from showing, on this press";
  out += "; " + shade_sentence(f.ramp.mean_de00);
  out += fmt::format("; together at most {:.0f} {}{}", f.load,
                     f.builds_layer ? "um of ink" : "cm3/m2 of wet ink",
                     f.load > 0.9 * f.load_limit ? ", near the limit: mind the cure" : "");
  return out + ".";
}

std::string caution_text(const Comparison& c) {
  constexpr double kSmallShare = 0.05;  // of the print; less is what traps and tone curves change anyway
  const ComparedBuild& best = c.builds[c.choice.best];
  std::string out;
  const auto add = [&out](const std::string& words) { out += (out.empty() ? "" : " ") + words; };
  const ShirtShare& now = c.as_they_stand.run.showing.visible;
  const ShirtShare& then = best.run.showing.visible;
  if (now.shirts < then.shirts)
    add(fmt::format("As the plates stand {} of {} show.", shirts_text(now), now.of));
  if (best.figures.overlap.v > 0 && then.share > c.settings.accepted_share)
    add("The overlap is for the edge between these two alone: other edges, and what is narrower than it, "
        "still "
        "show.");
  if (!c.intent_from_art && best.picture.off_share() > kSmallShare) {
    add(fmt::format(
        "{:.0f} % of the print comes out in another colour than from the plates as they stand, since "
        "without the art the shading is taken to run evenly from light to dark: look at the "
        "pictures, or name the art in [compare].",
        100 * best.picture.off_share()));
  }
  return out;
}

}  // namespace kirtle
