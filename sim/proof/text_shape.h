#pragma once
// Text set by Pango, for page.cpp and page_paint.cpp. Not for users of the page kit.
#include "proof/page.h"

#include <memory>
#include <pango/pangocairo.h>

namespace kirtle {

constexpr double kPointsPerMm = 72.0 / 25.4;

struct ReleaseLayout {
  void operator()(PangoLayout* layout) const;
};
using TextLayout = std::unique_ptr<PangoLayout, ReleaseLayout>;

/// Text as it is painted: in points, fonts unhinted, so that PDF and PNG break lines alike. height_mm < 0: as
/// high as it likes. The fit says what came of it.
TextLayout lay_text(const std::string& clean, const TextStyle& style, double width_mm, double height_mm,
                    TextFit& fit);

}  // namespace kirtle
