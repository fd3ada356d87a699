#include "compare/evaluate.h"

#include "base/check.h"
#include "job/press_plan.h"
#include "light/delta_e_2000.h"
#include "predict/run_plates.h"
#include "press/gap_theory.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr double kThreadsPerLine = 3.5;  ///< common practice, no source
constexpr double kPiled = 1.9;           ///< solids on one spot that count as two

const PrintingPlate& plate_of(const PrintModel& model, int plate) {
  return model.plates[static_cast<std::size_t>(plate)];
}

void add_ink(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
             const CompareSettings& settings, BuildFigures& out) {
  out.builds_layer = builds_layer(scene, model, roles);
  out.load_limit = out.builds_layer ? settings.ink_build_limit_um : settings.wet_limit_cm3_m2;
  double solids = 0;
  for (int i = 0; i < kRampSteps; ++i) {
    const double light = out.ramp.light_printed[i], dark = out.ramp.dark_printed[i];
    solids = std::max(solids, light + dark);
    out.load = std::max(out.load, load_at(model, roles, out.builds_layer, light, dark));
  }
  out.piled = solids >= kPiled;
  if (out.load > out.load_limit) {
    out.refused.push_back({Concern::ink,
                           out.builds_layer
                               ? fmt::format("ink build of {:.0f} um is over the limit of {:.0f}: stiff, and "
                                             "slow to cure through",
                                             out.load, out.load_limit)
                               : fmt::format("wet load of {:.0f} cm3/m2 is over the limit of {:.0f}: it will "
                                             "not dry and cure in one pass",
                                             out.load, out.load_limit),
                           false});
  }
}

/// Whether any edge between the two plates can open, and on what share of shirts it does.
void add_edges(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
               const CompareSettings& settings, BuildFigures& out) {
  const Mm sigma = register_model(scene).pair_sigma;
  const Um light = edge_spread(model, roles.light), dark = edge_spread(model, roles.dark);
  const bool traps = out.kind != BuildKind::fade;
  out.edges_open = out.kind != BuildKind::shirt_as_dark;
  if (!out.edges_open) return;
  if (traps)
    out.overlap = settings.overlap.value_or(solved_overlap(sigma, settings.accepted_share, light, dark));
  const Lab shirt = ramp_colour(model, roles, 0, 0), light_solid = ramp_colour(model, roles, 1, 0),
            dark_solid = ramp_colour(model, roles, 0, 1);
  const double de = std::max(delta_e_2000(shirt, light_solid), delta_e_2000(shirt, dark_solid));
  const Mm seen_from = visible_width(de, settings.visible);
  if (!(sigma.v > 0)) return;
  const Mm trap = trap_with_spread(out.overlap, light, dark);
  out.any_gap_share = gap_share(GapPlace::round_outline, trap, sigma);
  if (std::isfinite(seen_from.v))
    out.showing_share = gap_share(GapPlace::round_outline, trap, sigma, seen_from);
}

/// The scene with its dark plate shifted by 1 and 1.96 sigma along the axes and between them, if dots of the
/// two plates meet in another way then; else none.
std::deque<PrintModel> shifted_models(const Scene& scene, const PrintModel& model,
                                      const CompareRoles& roles) {
  std::deque<PrintModel> out;
  const double sigma = register_model(scene).pair_sigma.v;
  if (!(sigma > 0) || !model.table.share_screen(roles.light, roles.dark)) return out;
  for (const double s : {1.0, 1.96}) {
    for (const auto& [x, y] : {std::pair{1.0, 0.0}, {0.0, 1.0}, {0.7071, 0.7071}}) {
      Scene moved = scene;
      for (ScenePass& pass : moved.passes) {
        if (pass.plate != plate_of(model, roles.dark).scene_plate) continue;
        pass.offset.dx.v += s * sigma * x;
        pass.offset.dy.v += s * sigma * y;
      }
      out.emplace_back(moved);
    }
  }
  return out;
}

/// Shade against itself in register when the plates part: tints of a gradient slide over each other, and dots
/// of one screen meet in another way.
double drift_of(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
                const CompareSettings& settings, const std::deque<PrintModel>& shifted,
                const RampSettings& cut, const FittedRamp& ramp) {
  if (!prints_dark(ramp.kind)) return 0;
  const double sigma = register_model(scene).pair_sigma.v;
  if (!(sigma > 0)) return 0;
  // A gradient feels one axis: 95 % of shirts stay within 1.96 sigma.
  const double slide = 1.96 * sigma * settings.steepest_per_mm;
  double worst = 0;
  const bool slides = fades(ramp.kind) || ramp.kind == BuildKind::solid_tapering;
  for (int i = 1; slides && i + 1 < kRampSteps; ++i) {
    for (const double by : {-slide, slide}) {
      const double film = std::clamp(ramp.dark_film[i] + by, 0.0, 1.0);
      const double light = plate_of(model, roles.light).tone.printed(light_film_for(ramp.kind, film, cut));
      worst =
          std::max(worst, delta_e_2000(ramp_colour(model, roles, light, ramp.dark_printed[i]), ramp.lab[i]));
    }
  }
  for (const PrintModel& moved : shifted) {
    for (int i = 1; i + 1 < kRampSteps; ++i) {
      const Lab lab = ramp_colour(moved, roles, ramp.light_printed[i], ramp.dark_printed[i]);
      worst = std::max(worst, delta_e_2000(lab, ramp.lab[i]));
    }
  }
  return worst;
}

/// Shades that a customer refuses.
void add_shades(BuildFigures& out) {
  if (out.ramp.p95_de00 > kRefusedDe00)
    out.refused.push_back({Concern::shade, fmt::format("shade off by dE {:.1f}, over {:.0f} is refused",
                                                       out.ramp.p95_de00, kRefusedDe00)});
  if (out.drift_de00 > kRefusedDe00)
    out.refused.push_back(
        {Concern::drift, fmt::format("shade drifts by dE {:.1f} over the run, over {:.0f} is refused",
                                     out.drift_de00, kRefusedDe00)});
}

/// 0 nothing is refused; 1 it prints, but its shade is; 2 it cannot be printed so.
int refused_rank(const BuildFigures& f) {
  const bool prints =
      std::all_of(f.refused.begin(), f.refused.end(), [](const Refusal& r) { return r.prints; });
  return f.refused.empty() ? 0 : prints ? 1 : 2;
}

/// What all builds of a scene share.
struct Shared {
  RampSettings cut;
  std::deque<PrintModel> shifted;
};

BuildFigures figures_of(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
                        const ShadeIntent& intent, BuildKind kind, const CompareSettings& settings,
                        const Shared& shared) {
  BuildFigures out;
  out.kind = kind;
  out.cut = shared.cut;
  out.ramp = fit_ramp(model, roles, kind, intent, shared.cut);
  add_edges(scene, model, roles, settings, out);
  out.drift_de00 = drift_of(scene, model, roles, settings, shared.shifted, out.cut, out.ramp);
  if (kind == BuildKind::solid_under)
    out.rim_de00 = delta_e_2000(ramp_colour(model, roles, 1, 1), ramp_colour(model, roles, 0, 1));
  add_ink(scene, model, roles, settings, out);
  const bool light_tints = kind != BuildKind::solid_under && kind != BuildKind::solid_under_all;
  const ScenePass& pass = first_pass_of(scene, plate_of(model, roles.light).scene_plate);
  if (light_tints) out.threads_per_line = pass.mesh.threads_per_cm * kCmPerInch / pass.halftone.lpi;
  Scene printed = scene;
  if (!prints_dark(kind)) {
    std::erase_if(printed.passes,
                  [&](const ScenePass& p) { return p.plate == plate_of(model, roles.dark).scene_plate; });
  }
  const PressEffort effort = press_effort(printed);
  out.screens = effort.screens;
  out.flashes = effort.flashes;
  out.stations = effort.stations.value_or(0);
  if (!effort.stations)
    out.refused.push_back({Concern::effort, "the press has too few stations for it", false});
  add_shades(out);
  set_points(out);
  return out;
}

}  // namespace

std::string_view concern_name(Concern concern) {
  constexpr std::array<std::string_view, kConcerns> kNames{
      "shirts that show",   "shade", "drift over the run", "ink load", "tints the mesh cannot hold",
      "screens and flashes"};
  return kNames[static_cast<std::size_t>(concern)];
}

Mm solved_overlap(Mm pair_sigma, double share, Um spread_light, Um spread_dark) {
  if (!(pair_sigma.v > 0)) return {0};
  const Mm needed = trap_for_share(GapPlace::round_outline, share, pair_sigma);
  return {std::max(0.0, needed.v - to_mm(spread_light).v - to_mm(spread_dark).v)};
}

Um edge_spread(const PrintModel& model, int plate) {
  return plate_of(model, plate).cover.field ? Um{0} : plate_of(model, plate).cover.tone.spread;
}

bool builds_layer(const Scene& scene, const PrintModel& model, const CompareRoles& roles) {
  return first_pass_of(scene, plate_of(model, roles.light).scene_plate).ink.family == InkFamily::plastisol;
}

double load_at(const PrintModel& model, const CompareRoles& roles, bool layer, double light, double dark) {
  std::vector<double> dose(model.plates.size(), 0.0);
  dose[static_cast<std::size_t>(roles.light)] = light;
  dose[static_cast<std::size_t>(roles.dark)] = dark;
  const Overprint o = model.table.stack().at(dose);
  return layer ? o.film_total.v : o.wet_total.v;
}

PressEffort press_effort(const Scene& scene) {
  PressEffort out;
  for (const ScenePass& p : scene.passes) out.flashes += p.flash_after ? 1 : 0;
  const PlacedPasses placed = place_scene(scene);
  out.screens = placed.plan ? placed.plan->screens : static_cast<int>(scene.passes.size());
  if (placed.plan) out.stations = placed.plan->stations;
  return out;
}

std::vector<BuildFigures> evaluate_builds(const Scene& scene, const PrintModel& model,
                                          const CompareRoles& roles, const ShadeIntent& intent,
                                          std::span<const BuildKind> kinds, const CompareSettings& settings) {
  Shared shared;
  shared.cut.solid_from = looks_solid_from(model, roles);
  shared.cut.taper_from = std::min(shared.cut.taper_from, 0.7 * shared.cut.solid_from);
  shared.shifted = shifted_models(scene, model, roles);
  std::vector<BuildFigures> out;
  for (const BuildKind kind : kinds)
    out.push_back(figures_of(scene, model, roles, intent, kind, settings, shared));
  return out;
}

BuildFigures evaluate_build(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
                            const ShadeIntent& intent, BuildKind kind, const CompareSettings& settings) {
  return evaluate_builds(scene, model, roles, intent, {&kind, 1}, settings).front();
}

void set_points(BuildFigures& f) {
  const auto over_one = [](double de) { return 4 * std::max(0.0, de - 1); };
  const auto at = [&f](Concern g) -> double& { return f.points[static_cast<std::size_t>(g)]; };
  at(Concern::showing) = 100 * f.showing_share;
  at(Concern::shade) = over_one(f.ramp.p95_de00) + (f.ramp.p95_de00 > kRefusedDe00 ? 20 : 0);
  at(Concern::drift) = over_one(f.drift_de00);
  at(Concern::ink) = 5 * f.load / f.load_limit + (f.piled ? 8 : 0);
  at(Concern::holding) = f.threads_per_line > 0 ? 5 * std::max(0.0, kThreadsPerLine - f.threads_per_line) : 0;
  at(Concern::effort) = 3 * f.screens + 2 * f.flashes;
  f.total = 0;
  for (const double p : f.points) f.total += p;
}

std::string refused_text(const BuildFigures& figures) {
  std::string out;
  for (const Refusal& r : figures.refused) out += (out.empty() ? "" : "; ") + r.why;
  return out;
}

BuildChoice choose_build(std::span<const BuildFigures> builds) {
  KIRTLE_CHECK(builds.size(), >, 0U);
  const auto better = [&](std::size_t a, std::size_t b) {
    const int ra = refused_rank(builds[a]), rb = refused_rank(builds[b]);
    return ra != rb ? ra < rb : builds[a].total < builds[b].total;
  };
  BuildChoice out;
  for (std::size_t i = 1; i < builds.size(); ++i) {
    if (better(i, out.best)) out.best = i;
  }
  out.none = !builds[out.best].refused.empty();
  bool found = false;
  for (std::size_t i = 0; i < builds.size(); ++i) {
    if (i == out.best) continue;
    if (!found || better(i, out.next)) out.next = i;
    found = true;
  }
  if (!found) out.next = out.best;
  for (const BuildFigures& b : builds) {
    int worst = 0;
    const auto more = [&](int g) { return b.points[g] - builds[out.best].points[g]; };
    for (int g = 1; g < kConcerns; ++g) {
      if (more(g) > more(worst)) worst = g;
    }
    out.loses_by.push_back(refused_rank(b) > refused_rank(builds[out.best]) ? b.refused.front().concern
                                                                            : static_cast<Concern>(worst));
  }
  out.because = out.loses_by[out.next];
  return out;
}

std::optional<BuildKind> taken(std::span<const BuildFigures> builds, const BuildChoice& choice) {
  if (choice.none) return std::nullopt;
  return builds[choice.best].kind;
}

}  // namespace kirtle
