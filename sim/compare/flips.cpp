#include "compare/flips.h"

#include "job/press_plan.h"
#include "press/register_run.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// What is tried, nearest to the present first.
struct Trial {
  std::string at;
  Scene scene;
  CompareSettings settings;
};

class FlipSearch {
 public:
  FlipSearch(const CompareRoles& roles, const ShadeIntent& intent, std::span<const BuildKind> kinds,
             std::optional<BuildKind> now)
      : roles_(roles), intent_(intent), kinds_(kinds), now_(now) {}

  void look(const std::string& what, const std::string& now, const std::vector<Trial>& trials) {
    for (const Trial& trial : trials) {
      const PrintModel model(trial.scene);
      // An intent that is the ideal ramp belongs to the inks and the shirt; one from the art stays.
      ShadeIntent intent = intent_;
      if (!intent.from_art) {
        intent = ideal_ramp(model, roles_);
        intent.weight = intent_.weight;
      }
      const std::vector<BuildFigures> builds =
          evaluate_builds(trial.scene, model, roles_, intent, kinds_, trial.settings);
      const BuildChoice choice = choose_build(builds);
      const std::optional<BuildKind> then = taken(builds, choice);
      if (then == now_) continue;
      std::optional<Concern> because;
      for (std::size_t i = 0; i < builds.size(); ++i) {
        if (builds[i].kind == now_) because = then ? choice.loses_by[i] : builds[i].refused.front().concern;
      }
      found_.push_back({what, now, trial.at, then, because});
      return;
    }
  }
  std::vector<Flip> take() { return std::move(found_); }

 private:
  CompareRoles roles_;
  const ShadeIntent& intent_;
  std::span<const BuildKind> kinds_;
  std::optional<BuildKind> now_;
  std::vector<Flip> found_;
};

/// Values sorted by how far they are from the present one.
std::vector<double> nearest_first(std::vector<double> values, double now) {
  std::stable_sort(values.begin(), values.end(),
                   [now](double a, double b) { return std::abs(a - now) < std::abs(b - now); });
  std::erase_if(values, [now](double v) { return std::abs(v - now) < 1e-9; });
  return values;
}

}  // namespace

std::string_view flips_tried() {
  return "press +-0.1 to 0.65 mm, the other shirts, the dark's film +-30 %, 45 to 65 lines per inch, "
         "distinct "
         "angles, ink limit +-30 %.";
}

Scene with_dark_film(const Scene& scene, int dark_scene_plate, double factor) {
  Scene out = scene;
  for (ScenePass& pass : out.passes) {
    if (pass.plate != dark_scene_plate) continue;
    // wet_deposit is of one stroke; further strokes add to it in the same proportion.
    ScenePass single = pass;
    single.strokes = 1;
    pass.wet_deposit = Um{wet_deposit_of(single).v * factor};
  }
  return out;
}

Scene with_line_count(const Scene& scene, double lpi) {
  Scene out = scene;
  for (ScenePass& pass : out.passes) pass.halftone.lpi = lpi;
  return out;
}

Scene with_distinct_angles(const Scene& scene) {
  Scene out = scene;
  for (ScenePass& pass : out.passes)
    pass.halftone.angle_deg = std::fmod(scene.passes.front().halftone.angle_deg + 30.0 * pass.plate, 180.0);
  return out;
}

std::vector<Flip> find_flips(const Scene& scene, const CompareRoles& roles, const ShadeIntent& intent,
                             std::span<const BuildKind> kinds, const CompareSettings& settings,
                             std::optional<BuildKind> now) {
  FlipSearch search(roles, intent, kinds, now);
  const std::vector<PrintingPlate> plates = printing_plates(scene);
  const int dark = plates[static_cast<std::size_t>(roles.dark)].scene_plate;
  const double holds = holds_of_sigma(register_model(scene).pair_sigma).v;

  std::vector<Trial> trials;
  for (const double mm : nearest_first({0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.65}, holds)) {
    trials.push_back({fmt::format("+-{:.2f} mm", mm), scene, settings});
    trials.back().scene.press.holds = Mm{mm};
  }
  search.look("press holds", fmt::format("+-{:.2f} mm", holds), trials);

  trials.clear();
  for (const Cloth& shirt : scene.other_shirts) {
    trials.push_back({shirt.name, scene, settings});
    trials.back().scene.shirt = shirt;
  }
  search.look("shirt", scene.shirt.name, trials);

  trials.clear();
  for (const double f : {0.85, 1.15, 0.7, 1.3})
    trials.push_back({fmt::format("{:+.0f} %", 100 * (f - 1)), with_dark_film(scene, dark, f), settings});
  search.look("film of the dark ink", "as it is", trials);

  trials.clear();
  const double lpi = first_pass_of(scene, dark).halftone.lpi;
  for (const double l : nearest_first({45, 50, 55, 60, 65}, lpi))
    trials.push_back({fmt::format("{:.0f} lines per inch", l), with_line_count(scene, l), settings});
  search.look("line count", fmt::format("{:.0f} lines per inch", lpi), trials);

  trials.assign(1, {"30 degrees apart", with_distinct_angles(scene), settings});
  const int light = plates[static_cast<std::size_t>(roles.light)].scene_plate;
  const double apart = std::abs(first_pass_of(scene, dark).halftone.angle_deg -
                                first_pass_of(scene, light).halftone.angle_deg);
  search.look("angles", fmt::format("{:g} degrees apart", apart), trials);

  trials.clear();
  const bool plastisol =
      first_pass_of(scene, plates[static_cast<std::size_t>(roles.light)].scene_plate).ink.family ==
      InkFamily::plastisol;
  const double limit = plastisol ? settings.ink_build_limit_um : settings.wet_limit_cm3_m2;
  const char* unit = plastisol ? "um" : "cm3/m2";
  for (const double f : {0.9, 1.1, 0.8, 1.2, 0.7, 1.3}) {
    trials.push_back({fmt::format("{:.0f} {}", f * limit, unit), scene, settings});
    (plastisol ? trials.back().settings.ink_build_limit_um : trials.back().settings.wet_limit_cm3_m2) =
        f * limit;
  }
  search.look(plastisol ? "limit of ink build" : "limit of wet load", fmt::format("{:.0f} {}", limit, unit),
              trials);
  return search.take();
}

}  // namespace kirtle
