#pragma once
// What each design of a scene comes to on one shirt.
//
// Colours are worked out once for each combination of coverages (area_tuples.h), so a shirt costs a few
// thousand colours, not a picture.
//   difference  CIEDE2000 between the print on this shirt and the scene as it is on its own shirt, both under
//               the scene's light, as they are (no adaptation to the shirt), at each place that the scene as
//               it is inks; mean and 95th percentile over area, each place weighing with the share that ink
//               covers
//   contrast    the same between the print and the bare cloth it lies on, where this design inks
// The sums are those over the pixels of the print: exact where combinations are kept apart (AreaTuples::step
// 1), else of combinations at most that step of 65536 apart taken together.
#include "range/area_tuples.h"
#include "range/design.h"

#include <cstdint>
#include <deque>
#include <string>
#include <vector>

namespace kirtle {

enum class RangeVerdict { works, care, no };
/// "works", "with care", "does not work".
std::string_view to_string(RangeVerdict verdict);

/// One thing that speaks against a design on a shirt.
struct RangeReason {
  std::string kind;   ///< "no-base", of check's findings, or our own: words that do not change
  std::string brief;  ///< a few words, for a small picture
  std::string what;   ///< the same with numbers and limits
};

struct RangeFigures {
  RangeVerdict verdict = RangeVerdict::works;
  std::vector<RangeReason> why;                    ///< what refuses it first; empty = nothing to say
  double difference_mean = 0, difference_p95 = 0;  ///< dE00
  double contrast = 0;                             ///< dE00, mean
  double lost_share = 0;  ///< of this design's inked area that can hardly be told from the cloth, 0..1
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;  ///< 3 * width * height; empty without a picture
};

/// Difference from which a print can hardly be told from the cloth below (our own choice): dE00.
constexpr double kLostIn = 5;
/// From here on another colour is seen (common practice, no source): mean dE00.
constexpr double kAnotherColour = 4;
/// Mean CIEDE2000 from which a print is another one than the customer saw: not to be taken without asking
/// (common practice, no source).
constexpr double kAnotherPrint = 15;

/// A scene's designs, ready for any shirt. Thread-safe once made. The designs must outlive it.
class RangeJudge {
 public:
  /// known: the look at the scene as it is, from which `designs` were made. picture_height 0 = no pictures.
  RangeJudge(const RangeDesigns& designs, const PlateCheck& known, int picture_height, unsigned threads);

  /// One entry a design.
  std::vector<RangeFigures> on(const Cloth& shirt) const;
  /// Kinds of finding that would send the scene's plates back on any shirt: how they are drawn.
  const std::vector<std::string>& plates_sent_back() const { return plates_sent_back_; }
  /// Cautions about inks and press that the scene as it is has on its own shirt. The shop prints it so: they
  /// are not held against it on others.
  const std::vector<std::string>& cautions_at_home() const { return cautions_at_home_; }
  /// The coarsest AreaTuples::step of its designs.
  int step() const;

 private:
  struct Ready {
    AreaTuples tuples;                ///< of the union of plates: the scene's, then those printed otherwise
    std::vector<std::size_t> plates;  ///< of the design's model, by place in the union
    std::vector<Lab> wanted;          ///< one a combination: the scene as it is on its own shirt
    std::vector<double> weight;       ///< share of the area that the scene as it is inks there
    std::vector<double> inked;        ///< that this design inks
    const PlateCheck* check = nullptr;
  };
  RangeFigures figures(std::size_t design, const Cloth& shirt) const;
  void judge(std::size_t design, const Scene& scene, const PrintModel& model, RangeFigures& out) const;
  static void shade(const PrintModel& model, std::vector<RangeReason>& no);

  const RangeDesigns& designs_;
  std::deque<PlateCheck> checks_;
  std::vector<Ready> ready_;
  std::vector<std::string> plates_sent_back_, cautions_at_home_;
  double lost_at_home_ = 0;
};

}  // namespace kirtle
