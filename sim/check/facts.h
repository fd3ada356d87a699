#pragma once
// What findings look at, gathered once: the scene, its plates measured, what lies on what, colours of solids.
// Internal to check.
#include "check/base_survey.h"
#include "check/check_scene.h"
#include "check/overlap_survey.h"
#include "check/plate_survey.h"
#include "predict/prediction.h"
#include "predict/screen_advice.h"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle::check {

/// One printing plate, numbered as in the model.
struct PlateFacts {
  std::string name;
  const PlateImage* image = nullptr;
  std::vector<int> passes;  ///< indices into Scene::passes, in order
  PlateSurvey survey;
  HeldTones held;
  double wet_cm3_m2 = 0;  ///< of all its passes
  bool base = false;      ///< a pale layer flashed before other plates print on it
  Lab alone;              ///< its solid on the scene's shirt
  Lab on_undyed;          ///< the same on the shirt without its dye
};

/// A shirt that the job prints on.
struct ShirtFacts {
  const Cloth* cloth = nullptr;
  Lab bare;
  std::optional<Lab> discharged;  ///< under the scene's strongest discharge pass, its pigment left out
  double dyed_polyester = 0;      ///< share of the area, 0..1
};

struct Facts {
  const Scene& scene;
  const CheckSettings& settings;
  const PrintModel& model;
  double ppi = 0;
  double wet_limit = kWetLimit, build_limit = kBuildLimit;
  std::vector<PlateFacts> plates{};
  std::vector<WetGroup> wet_groups{};
  std::vector<std::vector<int>> wet_passes{};  ///< of the same groups: indices into Scene::passes
  std::vector<SurveyPlate> surveyed{};         ///< what the overlap was looked for with
  OverlapSurvey overlap{};
  std::vector<std::pair<std::size_t, BaseSurvey>> bases{};  ///< by plate that is a base
  ScreenAdvice screens{};
  std::vector<ShirtFacts> shirts{};  ///< the scene's first

  const ScenePass& pass(int index) const { return scene.passes[static_cast<std::size_t>(index)]; }
  const ScenePass& first_pass(const PlateFacts& plate) const { return pass(plate.passes.front()); }
  /// Pass numbers as people count them.
  std::vector<int> numbers(const PlateFacts& plate) const;
  std::vector<std::size_t> plates_of(std::uint32_t mask) const;
  /// Colour where these plates print solid, on the scene's shirt.
  Lab colour(std::uint32_t mask) const;
  /// Does a solid lie below another for nothing: is their pile much nearer to the upper alone than to the
  /// lower (our own choice: five times, or dE00 under 4)?
  bool hides(std::size_t upper, std::size_t lower) const;
  /// Plates with a pass after the base's last, as its BaseSurvey has them. Plates of dots (1 bit) are left
  /// out: their edges are the dots'.
  std::vector<std::size_t> tops_of(std::size_t base) const;
};

/// Smallest areas and lengths that are spoken of: less is a fringe (our own choice).
constexpr double kLeast_mm2 = 10;
constexpr double kLeast_mm = 5;
/// base_need of inks whose strokes want a base, and that show a dark shirt (our own choice).
constexpr double kNeedsBase = 0.3;

/// images: of the model's plates. known: facts about some of the same images, whose look at them is taken
/// over where nothing that it depends on differs; nullptr = look.
Facts gather(const Scene& scene, const CheckSettings& settings, const PrintModel& model,
             std::span<const PlateImage* const> images, double ppi, const Facts* known = nullptr);

}  // namespace kirtle::check
