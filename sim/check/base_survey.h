#pragma once
// How a base lies under its tops: where it sticks out, where its choke ate thin strokes. Internal to check.
#include "check/plate_survey.h"

#include <span>
#include <vector>

namespace kirtle::check {

/// A plate printed after the base.
struct BaseTopPlate {
  const PlateImage* image = nullptr;
  const std::vector<detail::ThinPiece>* strokes = nullptr;  ///< its lines and gaps, from the top
  double spread_mm = 0;                                     ///< outward movement of its printed edges
  bool needs_base = true;                                   ///< false: black and the like do without
};

/// Edges of the base that have an edge of the tops within kBaseReach_mm; all lengths in mm.
struct BaseEdges {
  double length = 0;
  double median_choke = 0;  ///< of printed edges; negative: the base sticks out
  double out_length = 0;    ///< where it sticks out by kBaseOut_mm or more
  double out_mean = 0;      ///< by how much there
  PlateSpot out_at;
};

/// Strokes up to kWidestStroke_mm of one top.
struct StrokesOnBase {
  double length = 0;
  double eaten = 0;       ///< where the base is gone below, or narrower and too thin to hold
  double base_width = 0;  ///< mean of what is left there, mm; 0 = gone
  PlateSpot eaten_at;
};

/// Base with no top and no tint of one within kBaseReach_mm: it prints as it is.
struct BareBase {
  double mm2 = 0;         ///< all of it
  double most_share = 0;  ///< of the square that holds most of it, 0..1
  PlateSpot at;
};

struct BaseSurvey {
  BaseEdges edges;
  BareBase bare;
  std::vector<StrokesOnBase> strokes;  ///< one a top
};

constexpr double kBaseReach_mm = 0.6;
constexpr double kBaseOut_mm = 0.05;
/// Thinnest base line that holds under a stroke; a line narrower than its stroke by less than kBaseSlack_mm
/// is as wide as it.
constexpr double kThinnestBase_mm = 0.35, kBaseSlack_mm = 0.1;

BaseSurvey survey_base(const PlateImage& base, double base_spread_mm, std::span<const BaseTopPlate> tops,
                       double ppi, unsigned threads);

}  // namespace kirtle::check
