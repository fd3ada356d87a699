#include "predict/screen_advice.h"

#include "job/press_plan.h"
#include "predict/prediction.h"
#include "screen/deposit.h"
#include "screen/noise_print.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <tuple>

namespace kirtle {

namespace {

constexpr const char* kPractice = "common practice, no source";
constexpr const char* kThreadsRule =
    "common practice, no source: 3.5 to 5 threads to a line; a mesh maker's page lists 2.5, 3.75 and 5";
constexpr const char* kBeatRule =
    "bands: difference of the frequencies (Amidror 2009, doi:10.1007/978-1-84882-181-1, from memory); "
    "their limit: common practice, no source";
constexpr double kTurns[] = {22.5, 7.5, 15, 30, 37.5, 52.5, 67.5, 82.5};

std::string short_number(double x) { return fmt::format("{:.3g}", x); }

/// First tone of 400 steps at which half of it prints, 0 if the lightest does.
double tone_held(const std::function<double(double)>& printed) {
  constexpr int kSteps = 400;
  for (int i = 1; i < kSteps; ++i) {
    const double film = static_cast<double>(i) / kSteps;
    if (printed(film) >= 0.5 * film) return i == 1 ? 0 : film;
  }
  return 1;
}

/// Lightest tint whose dots hold, and darkest whose holes stay open, for the stencil; the spread closes holes
/// too.
std::pair<double, double> tints_held(const ToneSettings& tone, const Mesh& mesh) {
  if (tone.steps || tone.curve == CurveAt::output) return {0, 1};
  double lightest = 0, darkest = 1;
  if (tone.halftone.shape == DotShape::noise) {
    const auto stencil = noise_print(tone.halftone.dot, Um{0}, tone.smallest_dot);
    lightest = tone_held([&](double film) { return stencil->printed(film); });
    darkest = 1 - tone_held([&](double hole) { return 1 - stencil->printed(1 - hole); });
  } else {
    lightest = smallest_tint_held(mesh, tone.halftone);
    darkest = 1 - lightest;
  }
  const auto closed = [&](double film) { return spread_tone(film, tone.halftone, tone.spread) > 0.999; };
  while (darkest > 0.005 && closed(darkest)) darkest -= 0.0025;
  return {lightest, std::max(darkest, 0.0)};
}

ScreenLine line_of(const Scene& scene, std::size_t index) {
  const ScenePass& pass = scene.passes[index];
  ScreenLine line;
  line.pass = static_cast<int>(index) + 1;
  line.plate = scene.plates[static_cast<std::size_t>(pass.plate)].name;
  line.ink = pass.ink.name;
  line.mesh = pass.mesh;
  line.halftone = pass.halftone;
  const bool noise = pass.halftone.shape == DotShape::noise;
  line.threads_per_line =
      noise ? std::numeric_limits<double>::infinity() : threads_per_line(pass.mesh, pass.halftone.lpi);
  const ToneSettings tone = tone_settings_of(pass);
  line.smallest_dot = tone.smallest_dot;
  std::tie(line.smallest_tint, line.largest_tint) = tints_held(tone, pass.mesh);
  line.spread = tone.spread;
  line.field = is_field(pass.ink);
  line.measured = tone.steps.has_value();
  line.curve = tone.curve;
  const ToneCurve curve(tone);
  line.fifty_prints = curve.printed(0.5);
  line.film_for_fifty = curve.film_for(0.5);
  for (std::size_t i = 0; i < kStepTones.size(); ++i) line.prints[i] = curve.printed(kStepTones[i]);
  line.wet = wet_deposit_of(pass);
  line.strokes = pass.strokes;
  line.agent = pass.ink.agent_g_cm3 > 0;
  return line;
}

std::string joined(const std::vector<std::string>& words, const char* between) {
  return fmt::format("{}", fmt::join(words, between));
}

std::string mesh_words(const Mesh& mesh) {
  return fmt::format("{:.3g}/cm ({:.3g}/in)", mesh.threads_per_cm,
                     threads_per_inch_from_per_cm(mesh.threads_per_cm));
}

/// The coarsest mesh finer than the screen's, the most lines fewer, or the larger dot of noise with which
/// light tints hold. No finer mesh under an ink with agent: it would lay less, and less dye would go.
std::string remedy_for_lost_tints(const ScreenLine& line, std::span<const Mesh> meshes) {
  std::vector<std::string> ways;
  const bool noise = line.halftone.shape == DotShape::noise;
  const auto holds = [&](const Mesh& mesh, const HalftoneScreen& halftone) {
    if (noise)
      return held_share_of_area(std::pow(halftone.dot.v / smallest_dot(mesh).v, 2) / std::acos(0.0) * 2) >= 1;
    return smallest_tint_held(mesh, halftone) <= kLightestTintToHold;
  };
  const Mesh* coarsest = nullptr;
  for (const Mesh& mesh : meshes) {
    if (!line.agent && mesh.threads_per_cm > line.mesh.threads_per_cm && holds(mesh, line.halftone) &&
        (coarsest == nullptr || mesh.threads_per_cm < coarsest->threads_per_cm))
      coarsest = &mesh;
  }
  if (coarsest != nullptr) ways.push_back("use mesh " + mesh_words(*coarsest));
  HalftoneScreen other = line.halftone;
  if (noise) {
    for (other.dot.v = 10 * std::ceil(other.dot.v / 10); other.dot.v <= 1000 && !holds(line.mesh, other);)
      other.dot.v += 10;
    if (other.dot.v <= 1000) ways.push_back(fmt::format("use dots of {:g} um", other.dot.v));
  } else {
    for (other.lpi = std::floor(other.lpi); other.lpi >= 20 && !holds(line.mesh, other);) other.lpi -= 1;
    if (other.lpi >= 20) ways.push_back(fmt::format("use {:g} lines per inch", other.lpi));
  }
  ways.push_back(fmt::format("keep tints out of what is under {:.0f} % on film", 100 * line.smallest_tint));
  return joined(ways, ", or ");
}

void look_at_tints(const ScreenLine& line, std::span<const Mesh> meshes, std::vector<ScreenFinding>& out) {
  if (line.smallest_tint > kLightestTintToHold) {
    out.push_back({ScreenConcern::light_tints_lost, line.pass, line.plate,
                   fmt::format("mesh {} holds dots from {:.0f} um: tints under {:.0f} % on film drop out",
                               mesh_words(line.mesh), line.smallest_dot.v, 100 * line.smallest_tint),
                   line.smallest_tint, kLightestTintToHold, remedy_for_lost_tints(line, meshes), kPractice});
  }
  if (line.largest_tint < 1 - kLightestTintToHold - 1e-9) {
    const bool by_spread = line.largest_tint < 1 - line.smallest_tint - 1e-9;
    out.push_back(
        {ScreenConcern::holes_fill, line.pass, line.plate,
         fmt::format("tints over {:.0f} % on film fill in solid{}", 100 * line.largest_tint,
                     by_spread ? fmt::format(", by {:.0f} um of ink spread", line.spread.v) : std::string()),
         line.largest_tint, 1 - kLightestTintToHold,
         by_spread
             ? fmt::format("take the gain out of the film (50 % wants {:.0f} % on film), or use fewer lines",
                           100 * line.film_for_fifty)
             : std::string("as for the light tints, or keep shadows solid"),
         kPractice});
  }
}

/// One screen as it hangs, with the pass that first uses it.
struct Hung {
  ScreenOnPress screen;
  int pass = 0;
};

std::vector<Hung> hung_screens(const Scene& scene) {
  std::vector<Hung> out;
  const std::vector<PressPass> passes = press_passes(scene);
  for (std::size_t i = 0; i < passes.size(); ++i) {
    if (passes[i].screen != static_cast<int>(i)) continue;
    const ScenePass& pass = scene.passes[i];
    const std::string& plate = scene.plates[static_cast<std::size_t>(pass.plate)].name;
    const bool again =
        std::any_of(out.begin(), out.end(), [&](const Hung& h) { return h.screen.name == plate; });
    out.push_back({{again ? fmt::format("{} (pass {})", plate, i + 1) : plate, pass.mesh, pass.halftone,
                    pass.ink.agent_g_cm3 > 0},
                   static_cast<int>(i) + 1});
  }
  return out;
}

/// The widest band that is warned of among those that one screen is part of, with its mesh, the knit and the
/// other screens; 0 if there is none.
double widest_own_band(const std::vector<ScreenOnPress>& screens, std::size_t at,
                       const std::optional<Knit>& knit) {
  double widest = 0;
  for (std::size_t other = 0; other < screens.size(); ++other) {
    std::vector<ScreenOnPress> pair{screens[at]};
    if (other != at) pair.push_back(screens[other]);
    for (const Beat& beat : find_beats(pair, knit)) {
      if (!beat.warn) break;
      if (beat.first == screens[at].name || beat.second == screens[at].name)
        widest = std::max(widest, beat.period.v);
    }
  }
  return widest;
}

/// The angle, or else the fewer lines, with which the screen is clear of all bands; or that which leaves the
/// narrowest, if that is worth it against those of `width` mm.
std::string remedy_for_bands(const std::vector<Hung>& hung, std::size_t at, const std::optional<Knit>& knit,
                             double width) {
  constexpr double kWorthIt = 0.8;  // of the bands' width
  std::vector<ScreenOnPress> screens;
  for (const Hung& h : hung) screens.push_back(h.screen);
  const HalftoneScreen before = screens[at].halftone;
  double least = kWorthIt * std::min(width, widest_own_band(screens, at, knit));
  std::string best;
  const auto is_clear = [&](double lpi, double angle) {
    screens[at].halftone.lpi = lpi;
    screens[at].halftone.angle_deg = angle;
    const double left = widest_own_band(screens, at, knit);
    if (!(left < least)) return false;
    least = left;
    best = lpi == before.lpi ? "turn the screen to " + short_number(angle) + " degrees"
                             : fmt::format("use {:g} lines per inch at {} degrees", lpi, short_number(angle));
    if (left > 0) best += fmt::format(", which leaves bands of {:.1f} mm", left);
    return left == 0;
  };
  for (const double angle : kTurns)
    if (is_clear(before.lpi, angle)) return best;
  for (double lpi = std::floor(before.lpi) - 1; lpi >= std::max(25.0, before.lpi - 15); lpi -= 1) {
    for (const double angle : {before.angle_deg, 22.5, 7.5})
      if (is_clear(lpi, angle)) return best;
  }
  return best;
}

ScreenConcern concern_of(BeatKind kind) {
  switch (kind) {
    case BeatKind::mesh_and_screen:
      return ScreenConcern::mesh_moire;
    case BeatKind::two_screens:
      return ScreenConcern::screens_moire;
    case BeatKind::knit_and_screen:
      return ScreenConcern::knit_moire;
  }
  return ScreenConcern::mesh_moire;
}

/// The widest warned band between each two things that beat.
void look_at_bands(const Scene& scene, std::span<const Mesh> meshes, std::vector<ScreenFinding>& out) {
  const std::vector<Hung> hung = hung_screens(scene);
  std::vector<ScreenOnPress> screens;
  for (const Hung& h : hung) screens.push_back(h.screen);
  std::optional<Knit> knit;
  if (scene.shirt.knit) knit = Knit{scene.shirt.knit->wales_per_cm, scene.shirt.knit->courses_per_cm};
  const std::vector<MeshVerdict> verdicts = judge_meshes(screens, meshes);
  std::vector<std::tuple<BeatKind, std::string, std::string>> told;
  const BeatLimits limits;
  for (const Beat& beat : find_beats(screens, knit, limits)) {
    if (!beat.warn) break;
    const std::tuple key{beat.kind, beat.first, beat.second};
    if (std::find(told.begin(), told.end(), key) != told.end()) continue;
    told.push_back(key);
    const std::string& name = beat.kind == BeatKind::two_screens ? beat.second : beat.first;
    const auto h =
        std::find_if(hung.begin(), hung.end(), [&](const Hung& x) { return x.screen.name == name; });
    const auto at = static_cast<std::size_t>(h - hung.begin());
    std::string remedy = remedy_for_bands(hung, at, knit, beat.period.v);
    if (beat.kind == BeatKind::mesh_and_screen) {
      for (const std::string& way : verdicts[at].advice) {
        if (way.starts_with("use mesh")) remedy += (remedy.empty() ? "" : ", or ") + way;
      }
    }
    if (beat.kind == BeatKind::two_screens)
      remedy += std::string(remedy.empty() ? "" : ", or ") + "give both plates one angle and line count";
    if (remedy.empty())
      remedy = "no usual angle or line count clears it: look for the bands on a test print on this cloth";
    out.push_back(
        {concern_of(beat.kind), h->pass,
         scene.plates[static_cast<std::size_t>(scene.passes[static_cast<std::size_t>(h->pass - 1)].plate)]
             .name,
         sentence_of(beat), beat.period.v, beat.skew ? limits.skew.v : limits.rows.v, remedy, kBeatRule});
  }
}

}  // namespace

ScreenAdvice advise_on_screens(const Scene& scene, std::span<const Mesh> meshes) {
  ScreenAdvice out;
  for (std::size_t i = 0; i < scene.passes.size(); ++i) out.lines.push_back(line_of(scene, i));
  const std::vector<Hung> hung = hung_screens(scene);
  for (const Hung& h : hung) {
    const MeshVerdict v = judge_meshes(std::span(&h.screen, 1), meshes).front();
    if (!v.too_few_threads) continue;
    std::vector<std::string> ways;
    for (const std::string& way : v.advice)
      if (way.starts_with("use mesh") || way.find("lines per inch") != std::string::npos) ways.push_back(way);
    out.findings.push_back(
        {ScreenConcern::few_threads, h.pass, out.lines[static_cast<std::size_t>(h.pass - 1)].plate,
         fmt::format("{:.1f} threads of mesh {} to a line of {:g} per inch: the mesh eats dots "
                     "by its own pattern",
                     v.threads_per_line, mesh_words(h.screen.mesh), h.screen.halftone.lpi),
         v.threads_per_line, kFewestThreadsPerLine, joined(ways, ", or "), kThreadsRule});
  }
  for (const Hung& h : hung)
    look_at_tints(out.lines[static_cast<std::size_t>(h.pass - 1)], meshes, out.findings);
  look_at_bands(scene, meshes, out.findings);
  return out;
}

std::string_view to_string(ScreenConcern concern) {
  switch (concern) {
    case ScreenConcern::few_threads:
      return "few threads";
    case ScreenConcern::light_tints_lost:
      return "light tints lost";
    case ScreenConcern::holes_fill:
      return "holes fill";
    case ScreenConcern::mesh_moire:
      return "moire of mesh and dots";
    case ScreenConcern::screens_moire:
      return "moire of two screens";
    case ScreenConcern::knit_moire:
      return "moire of knit and dots";
  }
  return "";
}

}  // namespace kirtle
