#pragma once
// What hangs on which head: passes, flashes and cool-downs placed on a press in one revolution or two, or
// refused with what would help.
#include "base/diagnostics.h"
#include "press/register.h"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// What a press offers a job.
struct PressLimits {
  std::string name;
  int heads = 0;
  int flashes = 0;               ///< flash units at hand
  bool flash_takes_head = true;  ///< false: units swing in beside the heads, and shirts cool on their pallet
  Mm pallet_width{0}, pallet_height{0};  ///< 0 = not stated, not checked
  Mm image_width{0}, image_height{0};    ///< largest image; 0 = not stated, not checked
  int revolutions = 1;                   ///< how often a shirt may go round, 1 or 2
};
PressLimits press_limits(const PressPreset& preset, int revolutions);

/// One pass of the job, in print order.
struct PressPass {
  int screen =
      0;  ///< passes of one plate, mesh and ink share a number: one screen prints them in two revolutions
  bool flash_after = false;
  bool cool_down = false;  ///< one empty station after the flash
};

enum class StationUse { ink, flash, cool_down, empty };

/// One head of the press, for the ticket.
struct HeadPlan {
  StationUse use = StationUse::empty;
  std::vector<int>
      pass;  ///< per revolution: the pass that it prints, -1 = lifted; of one size with revolutions
};

/// One stop of a shirt on its way round.
struct PressStep {
  int revolution = 1;
  int head = 0;  ///< from 1; 0 = a flash swung in, or a wait, on the pallet
  StationUse use = StationUse::ink;
  int pass = 0;  ///< printed here, or just flashed
};

struct PressPlan {
  std::vector<HeadPlan> heads;   ///< all heads of the press, in order; the empty ones last
  std::vector<PressStep> steps;  ///< in the order a shirt meets them
  int revolutions = 1;
  int stations = 0;     ///< heads in use: screens, flash units and cool-downs
  int screens = 0;      ///< screens to burn; a plate that prints twice in one revolution needs two
  int flash_units = 0;  ///< flash units to set up
  int flashes = 0;      ///< flashes that a shirt gets
};

/// Either a plan or the reasons against one, each with a remedy that was tried out.
struct PlacedPasses {
  std::optional<PressPlan> plan;
  Diagnostics refusals;  ///< errors; throw_if_errors() makes them an InputError
};

/// One revolution where it fits, else two if they are allowed: the split with the fewest heads.
///   passes  1..64
///   place   where the job stands, for the refusals
/// Limits: every head keeps its screen for the whole job. The way round to the second revolution counts as a
/// cool-down. Throws InternalError if passes is empty or heads, flashes or revolutions are out of range.
PlacedPasses place_passes(std::span<const PressPass> passes, const PressLimits& limits, const Place& place);

/// Refuses a print that is larger than the pallet or the press's largest image. Nothing is added if it fits.
void check_image_fits(Mm width, Mm height, const PressLimits& limits, const Place& place,
                      Diagnostics& refusals);

}  // namespace kirtle
