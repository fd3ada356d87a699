#pragma once
// A run of shirts: where the press's register lets the shirt or the base show, on how many shirts, and how
// far off register the design may go.
#include "predict/prediction.h"
#include "predict/run_eye.h"
#include "press/register_run.h"
#include "verdict/showing.h"

#include <string>
#include <vector>

namespace kirtle {

/// The scene as one shirt of the run gets it: every pass where the press puts it on that shirt (from 1), the
/// shift that all share taken out (that is placement).
Scene scene_on_shirt(const Scene& scene, const RegisterRun& run, std::uint32_t shirt);

/// How far the printed edge of a soaked field lies outside its film contour [um], >= 0: where its dose,
/// blurred by the wicking, still makes half of the colour difference of the solid. Plausible; it follows from
/// the stack alone.
Um wicked_edge(const PrintModel& model, int plate);

/// The plates of the model as the search for edges sees them. A base, not to be seen beside the others, is
/// here every plate whose first pass is flashed and is not the last. The prediction must outlive them.
std::vector<EdgePlate> edge_plates(const Scene& scene, const Prediction& prediction);

struct ShirtRunSettings {
  int shirts = 144;  ///< 1..100000
  /// Arm's length (common practice, no source). The threshold, four times what is seen side by side, allows
  /// for the cloth's own texture: a placeholder.
  VisibleRule visible{{600}, 8};
  double accepted_share = 0.01;  ///< of shirts that may show, for "holds to"
  unsigned threads = 0;
  Progress progress;  ///< of the run
};

/// One kind of place where something shows: an edge between two plates.
struct ShowingKind {
  std::string plate_a, plate_b;
  std::string shows;     ///< "shirt" or the base plate's name
  double length_mm = 0;  ///< of contour in the whole design
  double least_overlap_mm = 0;
  int shirts_worst_here = 0;  ///< shirts whose widest gap is of this kind
};

struct ShirtRun {
  RunShowing showing;
  std::vector<ShowingKind> kinds;  ///< most shirts first
  double pair_sigma_mm = 0;
  double quoted_mm = 0;  ///< the press "holds +-" this: 2.5 sigma
  double stands_mm =
      0;  ///< the largest "holds +-" at which the design stays within the accepted share; may be infinite
  std::size_t edge_pairs = 0;
  double searching_s = 0, running_s = 0;
};

/// Throws InputError (press), Cancelled while searching. A cancelled run keeps the shirts done.
ShirtRun run_shirts(const Scene& scene, const Prediction& prediction, const RegisterRun& run,
                    const ShirtRunSettings& settings);

/// Whose shirts the eye is asked about.
enum class EyeOn { none, shown, all };

/// The run as the eye has it, against the print in register.
struct RunSeen {
  std::vector<int> numbers;        ///< of the shirts looked at, from 1, in order
  std::vector<SeenOnShirt> seen;   ///< one each
  ShirtShare differs;              ///< of `all`
  bool cancelled = false;          ///< fewer than asked for; those done are whole
  double ppi = 0, worked_out = 0;  ///< of the picture judged; share of it worked out for each shirt
  double preparing_s = 0, looking_s = 0;
};

/// Looks at the typical and the worst shirt of the run, or at all that it did.
RunSeen see_shirts(const Scene& scene, const Prediction& prediction, const RegisterRun& run,
                   const ShirtRun& shirts, EyeOn on, const EyeSettings& settings, const Progress& progress);

/// Offsets of the plates of the model, from those of the scene's passes: a plate lies where its first pass
/// does.
std::vector<RegisterOffset> plate_offsets(const Scene& scene, const PrintModel& model,
                                          const std::vector<RegisterOffset>& passes);

/// "the shirt (Black, cotton) or the base": what edges of the run can let show; "anything" if nothing can.
std::string what_can_show(const Scene& scene, const ShirtRun& run);

/// One line in shop words: "of 144 shirts about 3 show the shirt, ...".
std::string sentence_of(const Scene& scene, const ShirtRun& run, const ShirtRunSettings& settings);

}  // namespace kirtle
