// Stations and sizes of the press.
#include "check/find.h"
#include "job/press_plan.h"

#include <algorithm>

namespace kirtle::check {

namespace {

Findings from(const Facts& facts, const Diagnostics& refusals, const char* unit) {
  Findings out;
  for (const Diagnostic& d : refusals.all()) {
    Finding f;
    f.severity = facts.scene.press.named ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.what = d.message;
    f.unit = unit;
    f.remedy = d.remedy;
    f.provenance =
        "counted; the press is as " +
        std::string(facts.scene.press.named ? "the scene says" : "assumed, since the scene names none");
    out.push_back(f);
  }
  return out;
}

}  // namespace

Findings find_stations_short(const Facts& facts) {
  const PlacedPasses placed = place_scene(facts.scene);
  if (placed.plan) return {};
  Findings out = from(facts, placed.refusals, "stations");
  PressLimits wide = press_limits(facts.scene);
  const int heads = wide.heads;
  wide.heads = 30;  // the most that a record can have
  wide.flashes = 10;
  wide.revolutions = 1;
  const PlacedPasses needed = place_passes(press_passes(facts.scene), wide, {});
  for (Finding& f : out) {
    f.limit = heads;
    f.number = needed.plan ? needed.plan->stations : 0;
  }
  return out;
}

Findings find_too_large(const Facts& facts) {
  double left = 1e9, top = 1e9, right = 0, bottom = 0;
  for (const PlateFacts& plate : facts.plates) {
    const PlateSurvey& s = plate.survey;
    if (s.empty) continue;
    left = std::min(left, s.ink_from.x.v);
    top = std::min(top, s.ink_from.y.v);
    right = std::max(right, s.ink_to.x.v);
    bottom = std::max(bottom, s.ink_to.y.v);
  }
  if (!(right > left)) return {};
  Diagnostics refusals;
  const PressLimits limits = press_limits(facts.scene);
  check_image_fits({right - left}, {bottom - top}, limits, facts.scene.press.place, refusals);
  Findings out = from(facts, refusals, "mm");
  for (Finding& f : out) {
    f.at = PlateSpot{{left}, {top}};
    const bool wide = limits.image_width.v > 0 && right - left > limits.image_width.v;
    f.number = wide ? right - left : bottom - top;
    f.limit = wide ? limits.image_width.v : limits.image_height.v;
  }
  return out;
}

}  // namespace kirtle::check
