#pragma once
// What fits on which shirt: sizes, the largest print at a place, how far below the collar, and what to offer
// where one size of print does not fit all shirts. Every figure here is common practice without a source,
// from memory; shops and makers differ, so pages that use them say so.
#include "job/read_order.h"

#include <string>
#include <vector>

namespace kirtle {

/// A shirt lying flat.
struct ShirtMeasures {
  double chest_in = 0;   ///< side to side below the sleeves
  double length_in = 0;  ///< high point of the shoulder to hem
};
ShirtMeasures measures_of(ShirtSize size);

struct PrintSize {
  double width_in = 0, height_in = 0;
};
/// The largest print that shops put there.
PrintSize most_print(ShirtSize size, PrintLocation location);
/// The usual one, for youth sizes or adult ones.
PrintSize usual_print(bool youth, PrintLocation location);

/// Between the collar's lower edge and the top of the print; on a sleeve between the print and the hem.
struct DropRange {
  double low_in = 0, high_in = 0, usual_in = 0;
};
DropRange drop_range(bool youth, PrintLocation location);

/// One set of screens: the print's width, and the sizes that it is for.
struct ScreenSet {
  double width_in = 0;
  std::vector<ShirtSize> sizes;
};

struct FitReport {
  std::vector<ShirtSize> fits, too_small;  ///< of the sizes asked about, for the print as ordered
  /// Two sets that fit all: the smaller first. Empty if one fits all, or if no size takes it as ordered.
  std::vector<ScreenSet> offered;
  /// The largest width that every size takes, to a half inch.
  double one_set_width_in = 0;
};
/// width_in, height_in: the print as ordered, > 0. sizes: none twice.
FitReport fit_print(double width_in, double height_in, PrintLocation location,
                    const std::vector<ShirtSize>& sizes);

/// "YS, YM and YL".
std::string sizes_text(const std::vector<ShirtSize>& sizes);

}  // namespace kirtle
