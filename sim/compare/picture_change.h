#pragma once
// What a build makes of the picture: its print in register beside the print of the plates as they arrived.
#include "predict/prediction.h"

#include <vector>

namespace kirtle {

struct PictureChange {
  double printed_mm2 = 0;  ///< where one of the two is not the bare shirt
  double off_mm2 = 0;      ///< of that, where they are apart by more than a customer takes (kRefusedDe00)
  double p95_de00 = 0;     ///< 95 % of what is printed stays within
  double off_share() const { return printed_mm2 > 0 ? off_mm2 / printed_mm2 : 0; }
};

/// The print of the plates as they arrived, in means of about half a millimetre, so that an edge moved by a
/// trap is not taken for another picture.
class ArrivedPicture {
 public:
  ArrivedPicture(const Prediction& arrived, unsigned threads);
  /// build: a print of the same size.
  PictureChange change_to(const Prediction& build, unsigned threads) const;

 private:
  double scale_ = 1;
  double pixel_mm2_ = 0;
  std::vector<XYZf> xyz_;
};

}  // namespace kirtle
