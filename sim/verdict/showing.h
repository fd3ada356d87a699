#pragma once
// Where a run of shirts shows what the print in register does not: per shirt, per place, and how far off
// register the design may go before it does.
#include "base/progress.h"
#include "verdict/edge_pairs.h"

#include <cstdint>
#include <functional>
#include <limits>
#include <span>
#include <vector>

namespace kirtle {

/// The one definition of a visible gap. A gap of width g whose colour differs from its neighbours by dE00 is
/// seen at a distance D if dE00 * min(1, g / (0.29 mm per m of D)) > threshold: 0.29 mm/m is one minute of
/// arc, under which a line fades in proportion to its width. The threshold is a placeholder: from 2 a
/// difference is seen side by side (common practice, no source).
struct VisibleRule {
  Mm distance{1000};     ///< eye to print, > 0
  double threshold = 2;  ///< dE00, > 0
};

/// One minute of arc at a distance: tan(1/60 deg) D.
Mm minute_of_arc(Mm distance);
/// Width above which a gap of this colour difference is seen; infinite if it never is.
Mm visible_width(double de00, const VisibleRule& rule);

/// What one shirt shows.
struct ShirtShowing {
  bool gap = false,
       visible = false;           ///< any gap wider than ShowingSettings::gap; seen gaps of the least length
  float widest_mm = 0;            ///< of all gaps, seen or not
  float x_mm = 0, y_mm = 0;       ///< where that is
  std::int32_t widest_pair = -1;  ///< which pair that is, -1 = none
  float length_mm = 0, area_mm2 = 0;  ///< of contour with a visible gap, and of those gaps
  /// All offsets times this much, and the first gap opens (wider than ShowingSettings::gap), or the least
  /// length is seen; infinite if that never happens. Less than 1 if it has already. A gap that opens counts
  /// as open at every larger factor.
  float gap_from = std::numeric_limits<float>::infinity();
  float visible_from = std::numeric_limits<float>::infinity();
};

/// A share of shirts, with the interval that a sample of this size leaves.
struct ShirtShare {
  int shirts = 0, of = 0;
  double share = 0, low = 0, high = 0;  ///< 0..1
};
/// Source: score interval, Wilson 1927, JASA 22(158):209, doi:10.1080/01621459.1927.10502953.
/// z: standard normal quantile, 1.96 = 95 %. of >= 0; of = 0 gives 0..1.
ShirtShare wilson_share(int shirts, int of, double z = 1.959963984540054);

struct ShowingSettings {
  VisibleRule visible;
  Mm gap{0};  ///< a gap counts as one above this width, >= 0
  /// A shirt counts as showing once, in one square of `place` by `place`, so much contour has a gap that is
  /// seen: specks shorter than this go unnoticed on cloth, wherever else there are more. >= 0; 0 = any.
  /// Placeholders, no source.
  Mm least_length{2};
  Mm place{5};     ///< > 0
  Mm map_cell{5};  ///< side of a cell of the map, > 0
};

/// In how many shirts each cell of the print shows something that is seen.
struct ShowingMap {
  int columns = 0, rows = 0;
  double cell_mm = 0;
  std::vector<std::uint32_t> shirts;  ///< row by row
};

/// A point of the curve of defects against tolerance.
struct TolerancePoint {
  double factor = 1;  ///< all offsets of the run times this
  ShirtShare gap, visible;
};

struct RunShowing {
  std::vector<ShirtShowing> shirts;  ///< in the run's order, from its first
  bool cancelled = false;            ///< fewer shirts than asked for; those done are whole
  ShirtShare gap, visible;
  int typical = -1, worst = -1;  ///< index into shirts: median and last: those that show after those that do
                                 ///< not, then by visible area, then widest gap
  ShowingMap map;

  TolerancePoint at_factor(double factor) const;
  /// The largest factor at which under `share` (0..1) of the shirts show something seen; infinite if that
  /// never happens. Times the tolerance that the run was made with, it is what the design stands.
  double stands_factor(double share) const;
};

class Showing {
 public:
  /// pairs: of find_edge_pairs. de00(pair): colour difference, >= 0, of what the gap shows to what lies
  /// beside it. width_mm, height_mm: of the print; offsets turn about its middle. Throws InternalError.
  Showing(std::vector<EdgePair> pairs, const std::function<double(const EdgePair&)>& de00, double width_mm,
          double height_mm, const ShowingSettings& settings);

  const std::vector<EdgePair>& pairs() const { return pairs_; }  ///< by rising overlap

  /// Width of the gap at a pair, 0 if none [mm]. offsets: one a plate.
  double gap_at(const EdgePair& pair, std::span<const RegisterOffset> offsets) const;

  /// One shirt. offsets: one a plate of the search, in its order.
  ShirtShowing shirt(std::span<const RegisterOffset> offsets) const;

  /// Shirts 0 .. shirts - 1 of a run. offsets_of(i) is called from several threads. The result does not
  /// depend on `threads` (0 = default_threads()). If progress says stop, the shirts done are kept: see
  /// RunShowing::cancelled; Cancelled is not thrown.
  RunShowing run(int shirts, const std::function<std::vector<RegisterOffset>(int shirt)>& offsets_of,
                 unsigned threads = 0, const Progress& progress = {}) const;

 private:
  struct Shifts;
  ShirtShowing look(std::span<const RegisterOffset> offsets, std::vector<std::uint32_t>* cells) const;

  std::vector<EdgePair> pairs_;
  std::vector<float> visible_mm_;  ///< of each pair; infinite = never seen
  double width_mm_, height_mm_;
  ShowingSettings settings_;
  int plates_ = 0;
  int columns_ = 0, rows_ = 0;
};

}  // namespace kirtle
