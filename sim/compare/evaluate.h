#pragma once
// What a build costs: every figure that speaks for it or against it, from closed forms and the print model
// alone. No plate is needed, so that a whole range of presses, shirts and inks can be gone through.
#include "compare/ramp.h"
#include "job/scene.h"
#include "verdict/showing.h"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace kirtle {

/// What a build is judged by, in the order of the report.
enum class Concern { showing, shade, drift, ink, holding, effort };
constexpr int kConcerns = 6;
/// A shade that is off, or drifts, by more is refused (common practice, no source).
constexpr double kRefusedDe00 = 4;
/// "shirts that show", "shade", ...
std::string_view concern_name(Concern concern);

struct CompareSettings {
  double accepted_share = 0.01;     ///< of shirts on which an edge may open, 0..1
  std::optional<Mm> overlap;        ///< trap and rim; none = solved: see solved_overlap()
  VisibleRule visible{{600}, 8};    ///< as in a run
  double wet_limit_cm3_m2 = 70;     ///< wet load of water base and discharge (placeholder, no source)
  double ink_build_limit_um = 200;  ///< of plastisol: stiff above (common practice, no source)
  double steepest_per_mm = 0.2;     ///< how fast the shading changes where it is steep, film per mm
};

/// Why a build is not to be taken as it stands.
struct Refusal {
  Concern concern = Concern::shade;
  std::string why;     ///< in shop words, with the number and its limit
  bool prints = true;  ///< false: it cannot even be printed so (ink that will not cure, too few stations)
};

/// Plates against each other, of one build.
struct BuildFigures {
  BuildKind kind = BuildKind::fade;
  FittedRamp ramp;
  RampSettings cut;                 ///< from where the dark counts as solid
  Mm overlap{0};                    ///< trap or rim on film; 0 where nothing is trapped
  bool edges_open = true;           ///< false: no edge of this build can show the shirt
  double showing_share = 0;         ///< of shirts on which the shirt is seen at an edge, 0..1 (closed form)
  double any_gap_share = 0;         ///< the same, seen or not
  double drift_de00 = 0;            ///< 95 % of shirts stay within: shade against itself in register
  double rim_de00 = 0;              ///< of the rim left under the dark's edge to the dark beside it
  bool builds_layer = false;        ///< judged by ink build [um], else by wet load [cm3/m2]
  double load = 0, load_limit = 0;  ///< most ink where light and dark meet
  bool piled = false;               ///< two solids lie on each other
  double threads_per_line = 0;      ///< of the light's mesh if it prints tints; 0 = it prints solids only
  int screens = 0, flashes = 0, stations = 0;
  std::array<double, kConcerns> points{};  ///< against it; see set_points()
  double total = 0;
  std::vector<Refusal> refused;  ///< what cannot be printed first; empty = it may be taken
};

/// All that is refused about a build, one after the other; empty if nothing is.
std::string refused_text(const BuildFigures& figures);

/// Most ink where light and dark print so much (0..1 each), nothing else there: um of film if it builds a
/// layer, else cm3/m2 wet.
double load_at(const PrintModel& model, const CompareRoles& roles, bool builds_layer, double light,
               double dark);
/// Is the light plate's ink one that builds a layer?
bool builds_layer(const Scene& scene, const PrintModel& model, const CompareRoles& roles);

/// What plates ask of the scene's press.
struct PressEffort {
  int screens = 0, flashes = 0;
  std::optional<int> stations;  ///< none = they do not fit; screens are then the passes
};
PressEffort press_effort(const Scene& scene);

/// The overlap on film that keeps the share of shirts with an open edge at `share`: for a smooth outline,
/// sigma sqrt(-2 ln share) less the spread of both edges (3.03 sigma at 1 %), at least 0 [mm]. Source: closed
/// form, press/gap_theory.h.
Mm solved_overlap(Mm pair_sigma, double share, Um spread_light, Um spread_dark);

/// Ink spread of a plate's edges; 0 for a soaked dose, whose wicking is not counted on to close a gap.
Um edge_spread(const PrintModel& model, int plate);

/// One build of the scene. Throws InputError (press, scene).
BuildFigures evaluate_build(const Scene& scene, const PrintModel& model, const CompareRoles& roles,
                            const ShadeIntent& intent, BuildKind kind, const CompareSettings& settings);

/// Several, and points worked out.
std::vector<BuildFigures> evaluate_builds(const Scene& scene, const PrintModel& model,
                                          const CompareRoles& roles, const ShadeIntent& intent,
                                          std::span<const BuildKind> kinds, const CompareSettings& settings);

/// Points against a build. The weights are ours, common practice in kind, no source:
///   showing   1 for every 100th of the shirts
///   shade     4 for every dE00 over 1 that 95 % of the tints stay within; 20 more above 4
///   drift     the same 4 for every dE00 over 1
///   ink       5 at the load limit, in proportion; 8 more for two solids piled up
///   holding   5 for every thread per line that a light printed as tints lacks to 3.5
///   effort    3 a screen, 2 a flash
void set_points(BuildFigures& figures);

/// Which to take, and why: of the builds with nothing refused the one with the least points. If every build
/// has something refused, `none` is to be taken as it stands, and `best` is the least bad: one that can be
/// printed before one that cannot, then the least points.
struct BuildChoice {
  std::size_t best = 0;
  bool none = false;
  std::size_t next = 0;                ///< the runner-up; equal to best if there is but one
  Concern because = Concern::showing;  ///< where the runner-up loses most against it
  /// Where each build loses most against the best: what is refused about it, where the best is better in
  /// that.
  std::vector<Concern> loses_by;
};
BuildChoice choose_build(std::span<const BuildFigures> builds);

/// The build that the choice recommends; none if it recommends none.
std::optional<BuildKind> taken(std::span<const BuildFigures> builds, const BuildChoice& choice);

}  // namespace kirtle
