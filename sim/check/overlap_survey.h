#pragma once
// Which plates lie on which, and how much wet ink that makes, over the whole print. Internal to check.
//
// Counted by squares of 2 mm, and only where they are at least half of one: the rim that a trap leaves on
// purpose is narrower.
#include "plate/holdings.h"

#include <cstdint>
#include <vector>

namespace kirtle::check {

/// One plate, as the survey needs it.
struct SurveyPlate {
  const PlateImage* image = nullptr;
  double solid_from = 0.88;     ///< film from which it prints solid
  std::vector<double> printed;  ///< 256 values: printed dose by film
  double wet_cm3_m2 = 0;        ///< laid by all its passes of water base and discharge where solid
  bool operator==(const SurveyPlate&) const = default;
};

/// Passes that print without a flash between them: plates by index.
using WetGroup = std::vector<std::size_t>;

/// Something that lies over a limit.
struct OverArea {
  double mm2 = 0;   ///< in squares at least half of which it is
  double most = 0;  ///< mean of the worst square
  PlateSpot at;
  std::uint32_t plates = 0;  ///< solid in most of that square, bit by plate
};

/// Plates that print solid together (and no other does).
struct SolidPile {
  std::uint32_t plates = 0;  ///< bit by plate
  double mm2 = 0;            ///< all of it
  double most_share = 0;     ///< of the square that holds most of it
  PlateSpot at;
};

/// Two plates solid on each other, others may lie there too.
struct SolidPair {
  std::size_t lower = 0, upper = 0;  ///< lower < upper
  double mm2 = 0;                    ///< in squares at least half of which it is
  double most_share = 0;
  PlateSpot at;
};

struct OverlapSurvey {
  std::vector<OverArea> wet_overlap;  ///< one a wet group: film added up, 0..plates
  OverArea wet_load;                  ///< cm3/m2
  std::vector<SolidPile> piles;       ///< most area first
  std::vector<SolidPair> pairs;
};

constexpr double kOverlapTile_mm = 2;

/// Plates in print order, at most 32, all of one size. overlap_limit: film added up (2 = 200 %).
OverlapSurvey survey_overlap(const std::vector<SurveyPlate>& plates, const std::vector<WetGroup>& groups,
                             double ppi, double overlap_limit, double load_limit_cm3_m2, unsigned threads);

}  // namespace kirtle::check
