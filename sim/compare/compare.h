#pragma once
// The decision: every build of a scene's light and dark, printed on the same simulated press, and which to
// take.
#include "base/progress.h"
#include "compare/build_plates.h"
#include "compare/evaluate.h"
#include "compare/flips.h"
#include "compare/picture_change.h"
#include "compare/shading.h"
#include "predict/shirt_run.h"
#include "proof/page.h"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct CompareOptions {
  std::vector<BuildKind> kinds;  ///< empty = all
  std::optional<Mm> overlap;     ///< trap and rim; none = solved
  int shirts = 144;
  bool pictures = true;
  unsigned threads = 0;
  Progress progress;
};

/// How a build looks, four times as large, where the run's worst shirt shows most: in register and on that
/// shirt.
struct BuildPictures {
  std::shared_ptr<const PagePicture> in_register, worst;
  double x_mm = 0, y_mm = 0, side_mm = 0;  ///< of the close-up
};

struct ComparedBuild {
  BuildFigures figures;
  ShirtRun run;           ///< on this build's own plates
  PictureChange picture;  ///< against the plates as they arrived
  std::vector<PlateChange> changes;
  double grams = 0;  ///< of ink for the order, loading of screens included
  BuildPictures pictures;
};

/// The plates as they arrived, on the same press. How far their shades are off is not said: they have no ramp
/// of a build to go by.
struct AsTheyStand {
  ShirtRun run;
  double load = 0;  ///< most ink where light and dark meet, as in BuildFigures
  int screens = 0, flashes = 0;
  double grams = 0;
};

struct Comparison {
  CompareRoles roles;
  std::string light, dark;                ///< plates' names
  std::string light_called, dark_called;  ///< as the customer calls their inks, else the plates' names
  bool intent_from_art = false;
  Shading shading;
  CompareSettings settings;
  AsTheyStand as_they_stand;
  std::vector<ComparedBuild> builds;
  BuildChoice choice;
  std::vector<Flip> flips;
  Mm pair_sigma{0};
  int shirts = 0;
};

/// The widest gap of the run's worst shirt, mm; 0 if none opens.
double widest_mm(const ShirtRun& run);

/// What builds are judged against, from the plates as they arrived.
struct CompareStart {
  CompareRoles roles;
  Shading shading;
  CompareSettings settings;
  PlateImage body;  ///< where the light is to lie
  ShadeIntent intent;
};
/// overlap: trap and rim; none = solved. Throws InputError (roles, art).
CompareStart start_comparing(const Scene& scene, const Prediction& arrived, std::optional<Mm> overlap,
                             unsigned threads);

/// Throws InputError (roles, press, art), Cancelled.
Comparison compare_builds(const Scene& scene, const Prediction& arrived, const CompareOptions& options);

/// Limits of the scene's [compare], the overlap of the options, the steepness of the shading.
CompareSettings compare_settings(const Scene& scene, const Shading& shading, std::optional<Mm> overlap);

/// Grams of ink to mix for an order, all screens: the middle of what the press ticket says
/// (predict/ink_used.h).
double order_grams(const Prediction& prediction, const Scene& scene, int shirts, unsigned threads);

/// The first line of the report, in shop words.
std::string decision_sentence(const Scene& scene, const Comparison& comparison);
/// What else is to be known before a build is taken: what the plates as they stand do better, and what the
/// build makes of the picture. Empty if nothing is.
std::string caution_text(const Comparison& comparison);
/// One sentence on why a build is not taken: what is refused about it, else where it loses most.
std::string reason_sentence(const Comparison& comparison, std::size_t build);

}  // namespace kirtle
