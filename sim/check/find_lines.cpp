// Lines, gaps and type thinner than a screen holds.
#include "check/find.h"
#include "check/tiles.h"

#include <cmath>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kThinnestLine_mm = 0.35, kThinnestGap_mm = 0.5;
constexpr double kMuch_mm = 20;       // of what the screen cannot hold: sent back
constexpr double kInOnePlace_mm = 2;  // length; less is the tip of a taper
constexpr const char* kLineRule =
    "common practice, no source: lines 0.35 mm (1 pt), reversed 0.5 mm (1.4 pt)";

struct Thin {
  double length_mm = 0;  ///< of all that is thinner than the limit
  double width_mm = 0;   ///< mean in the worst place
  double there_mm = 0;   ///< length there
  double lost_mm = 0;    ///< length of all that the screen cannot hold
  PlateSpot at;
};

/// Width of the thinnest line that the screen holds at all: its smallest dot.
double holds_mm(const Facts& facts, const PlateFacts& plate) {
  return to_mm(facts.screens.lines[static_cast<std::size_t>(plate.passes.front())].smallest_dot).v;
}

const CoverSettings& cover_of(const Facts& facts, std::size_t plate) {
  return facts.model.plates[plate].cover;
}

/// Width of a gap that ink spread closes from both sides; of a soaked dose, that wicking leaves less than
/// half of its contrast: 2 Phi(width / 2 s.d.) - 1 = 1/2.
double closes_mm(const Facts& facts, std::size_t plate) {
  constexpr double kHalfContrast = 1.349;  // s.d. of the wicking
  const CoverSettings& cover = cover_of(facts, plate);
  return cover.field ? kHalfContrast * cover.wick.v : 2 * to_mm(cover.tone.spread).v;
}

bool in_type(const PlateSurvey& survey, double x, double y) {
  for (const TypeLine& t : survey.type)
    if (x >= t.x0 && x <= t.x1 && y >= t.y0 && y <= t.y1) return true;
  return false;
}

/// Lines or gaps thinner than the limit; lines of type are spoken of as type.
Thin thin_of(const Facts& facts, const PlateFacts& plate, bool gap, double limit_mm, double held_mm) {
  const double mm = kMmPerInch / facts.ppi;
  Tiles lack(plate.image->width, plate.image->height, facts.ppi, kTile_mm), length = lack, width = lack;
  Thin out;
  for (const detail::ThinPiece& p : plate.survey.strokes) {
    // Half a pixel is what a contour without anti-aliasing is known to; lines on the limit hold.
    if (p.gap != gap || p.width * mm >= limit_mm - 0.02) continue;
    const double x = 0.5 * (p.x0 + p.x1), y = 0.5 * (p.y0 + p.y1);
    if (!gap && in_type(plate.survey, x, y)) continue;
    const double l = std::hypot(p.x1 - p.x0, p.y1 - p.y0) * mm;
    const std::size_t tile = length.of(x, y);
    lack[tile] += l * (limit_mm - p.width * mm);
    length[tile] += l;
    width[tile] += l * p.width * mm;
    out.length_mm += l;
    if (p.width * mm < held_mm) out.lost_mm += l;
  }
  const std::size_t worst = lack.worst();
  out.there_mm = length[worst];
  if (out.there_mm > 0) out.width_mm = width[worst] / out.there_mm;
  out.at = lack.centre(worst);
  return out;
}

Findings find_thin(const Facts& facts, bool gap, double limit_mm, const char* noun, const char* remedy) {
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    if (plate.image->dots) continue;  // the gaps between dots are no lines
    const double held = gap ? closes_mm(facts, i) : holds_mm(facts, plate);
    const Thin thin = thin_of(facts, plate, gap, limit_mm, held);
    if (thin.length_mm < kLeast_mm || thin.there_mm < kInOnePlace_mm) continue;
    Finding f = about(facts, {i});
    f.severity = thin.lost_mm > kMuch_mm ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.at = thin.at;
    f.what = fmt::format(
        "{}: {} of {:.2f} mm ({:.1f} pt) near {}, under {:g} mm; {:.0f} mm of them in all{}", plate.name,
        noun, thin.width_mm, thin.width_mm / kMmPerPoint, at_text(thin.at), limit_mm, thin.length_mm,
        thin.lost_mm > kLeast_mm ? fmt::format(", {:.0f} mm under {:.2f} mm, which {}", thin.lost_mm, held,
                                               !gap                       ? "this mesh cannot hold"
                                               : cover_of(facts, i).field ? "wicking fills"
                                                                          : "ink spread closes")
                                 : std::string());
    f.number = thin.width_mm;
    f.limit = limit_mm;
    f.unit = "mm";
    f.remedy = remedy;
    f.provenance = kLineRule;
    f.weight = thin.length_mm;
    out.push_back(f);
  }
  return out;
}

}  // namespace

Findings find_thin_lines(const Facts& facts) {
  return find_thin(facts, false, kThinnestLine_mm, "lines",
                   "thicken them to 0.35 mm in the art, or print it larger");
}

Findings find_thin_gaps(const Facts& facts) {
  return find_thin(facts, true, kThinnestGap_mm, "reversed lines (gaps)",
                   "open them to 0.5 mm: ink closes them from both sides");
}

Findings find_thin_type(const Facts& facts) {
  const double mm = kMmPerInch / facts.ppi;
  Findings out;
  for (std::size_t i = 0; i < facts.plates.size(); ++i) {
    const PlateFacts& plate = facts.plates[i];
    if (plate.image->dots) continue;
    const TypeLine* worst = nullptr;
    int rows = 0, letters = 0;
    for (const TypeLine& t : plate.survey.type) {
      if (t.stroke * mm >= kThinnestLine_mm - 0.02) continue;
      ++rows;
      letters += t.letters;
      if (worst == nullptr || t.stroke < worst->stroke) worst = &t;
    }
    if (worst == nullptr) continue;
    Finding f = about(facts, {i});
    const double stroke = worst->stroke * mm;
    f.severity = stroke < holds_mm(facts, plate) ? FindingSeverity::sent_back : FindingSeverity::caution;
    f.at = PlateSpot{{0.5 * (worst->x0 + worst->x1) * mm}, {0.5 * (worst->y0 + worst->y1) * mm}};
    f.what = fmt::format(
        "{}: type {:.1f} mm high with strokes of {:.2f} mm ({:.1f} pt) at {}, under {:g} mm; {} row{} of "
        "such "
        "type, {} letters",
        plate.name, worst->height * mm, stroke, stroke / kMmPerPoint, at_text(*f.at), kThinnestLine_mm, rows,
        rows == 1 ? "" : "s", letters);
    f.number = stroke;
    f.limit = kThinnestLine_mm;
    f.unit = "mm";
    f.remedy =
        "set it larger or bolder, until its strokes are 0.35 mm; ask for the type, not a picture of it";
    f.provenance = kLineRule;
    f.weight = letters;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
