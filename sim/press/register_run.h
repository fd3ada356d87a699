#pragma once
// Where every plate of every shirt of a run lands.
#include "press/register.h"

#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// One pass of the run, as far as register goes.
struct RegisterPass {
  int screen = 0;           ///< passes through one and the same screen share its set-up error
  RegisterOffset setup;     ///< known error of that screen, fixed for the run
  double flash_shrink = 0;  ///< the flash after this pass shortens the cloth by this share, 0..0.05
};

/// A pallet on which every pass from `from_pass` on lands `offset` away from those before: one that is loose,
/// or not level. (A pallet that is off by the same at every pass moves the whole print, which is placement.)
struct PalletBias {
  int pallet = 1;     ///< from 1
  int from_pass = 1;  ///< index of the first pass that lands off; 1 = all but the first print
  Mm dx{0}, dy{0};
};

/// How a press moves plates about. All sigmas are 1 standard deviation of a normal distribution.
struct RegisterModel {
  std::uint64_t seed = 1;
  Mm pair_sigma{0};                 ///< shirt to shirt, between a pair of plates, per axis; a plate: / sqrt 2
  double turn_sigma_deg = 0;        ///< shirt to shirt, of a plate
  Mm setup_sigma{0};                ///< drawn once for each screen, between a pair, per axis; 0 = as given
  double setup_turn_sigma_deg = 0;  ///< drawn once for each screen; 0 = as given
  int pallets = 1;
  std::vector<PalletBias> pallet_biases;
  std::vector<RegisterPass> passes;  ///< in print order
};

/// sigma of a press that "holds +- x": x / 2.5, so that 98.8 % of pairs stay within, per axis (common
/// practice, no source).
constexpr Mm sigma_of_holds(Mm holds) { return {holds.v / 2.5}; }
constexpr Mm holds_of_sigma(Mm sigma) { return {2.5 * sigma.v}; }
/// The most that a press may be said to hold: half an inch is no register any more.
constexpr Mm kMostHolds{12.5};

/// A preset's shirt-to-shirt figures and pallets. Set-up is taken as the passes give it; with `draw_setup`
/// what the set-up leaves is drawn from the preset's own sigmas besides.
RegisterModel register_model(const PressPreset& preset, std::vector<RegisterPass> passes, std::uint64_t seed,
                             bool draw_setup);

/// The same, with the press's own quoted figure: "holds +- x" stands for everything that moves, so set-up is
/// taken as given and nothing turns.
RegisterModel register_model(const PressPreset& preset, Mm holds, std::vector<RegisterPass> passes,
                             std::uint64_t seed);

/// A run of shirts, numbered from 1. Holds no state that changes: any shirt may be asked for, in any order,
/// on any thread, with the same bytes.
class RegisterRun {
 public:
  /// Throws std::domain_error, naming the figure, if a sigma is negative or not finite, a shrink is outside
  /// 0..0.05, pallets < 1, or a bias names a pallet or pass that is not there.
  explicit RegisterRun(RegisterModel model);

  const RegisterModel& model() const { return model_; }
  int passes() const { return static_cast<int>(model_.passes.size()); }

  /// The pallet that a shirt lies on, 1..pallets.
  int pallet_of(std::uint32_t shirt) const;

  /// Where the plate of that pass (from 0) lands on that shirt (from 1): set-up, shrink before it, pallet,
  /// and the shirt's own shift and turn. The centre of shrink is the centre of the print. Position is on the
  /// cloth as it lay under the first pass.
  RegisterOffset offset_of(std::uint32_t shirt, int pass) const;
  std::vector<RegisterOffset> offsets_of(std::uint32_t shirt) const;

  /// The same without pallet and shirt: set-up given and drawn, and shrink. What one sample print shows.
  const RegisterOffset& fixed_of(int pass) const;

 private:
  RegisterModel model_;
  std::vector<RegisterOffset> fixed_;  ///< set-up given and drawn, and shrink, of each pass
};

/// The shift that all plates share, their mean: placement of the print on the shirt, not misregister.
struct Placement {
  Mm dx{0}, dy{0};
};
Placement placement_of(std::span<const RegisterOffset> offsets);

/// The same offsets with the shared shift taken out. Shifts between pairs stay as they are.
std::vector<RegisterOffset> without_placement(std::vector<RegisterOffset> offsets);

}  // namespace kirtle
