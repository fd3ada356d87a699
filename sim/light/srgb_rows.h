#pragma once
// Rows of XYZ to sRGB codes: equal neighbours once, the others many at a time.
#include "light/colour_runs.h"
#include "light/srgb.h"

#include <cstdint>
#include <span>

namespace kirtle {

class SrgbRows {
 public:
  /// white: of the viewing light, Y = 100. any_processor: by the code that runs everywhere (for tests: the
  /// codes are the same).
  explicit SrgbRows(const XYZ& white, bool any_processor = false);

  /// xyz: X, Y, Z of each pixel on the scale of 100; codes: as many. Never over 0.51 code from the exact
  /// value; what is outside sRGB, or within 1e-5 of its border, is SrgbEncoder's. Every pixel counts towards
  /// the report, which may be null. Same codes on any processor. Throws InternalError if a value is not
  /// finite.
  void encode8(std::span<const float> xyz, std::span<std::uint8_t> codes, ClipReport* report) const;
  void encode8(const ColourRuns& colours, std::span<std::uint8_t> codes, ClipReport* report) const;
  /// The same at 16 bits, each colour by SrgbEncoder.
  void encode16(std::span<const float> xyz, std::span<std::uint16_t> codes, ClipReport* report) const;
  void encode16(const ColourRuns& colours, std::span<std::uint16_t> codes, ClipReport* report) const;

 private:
  template <class ForEachBegin>
  void encode_runs8(std::span<const float> xyz, std::span<std::uint8_t> codes, ClipReport* report,
                    const ForEachBegin& for_each_begin) const;
  template <class ForEachBegin>
  void encode_runs16(std::span<const float> xyz, std::span<std::uint16_t> codes, ClipReport* report,
                     const ForEachBegin& for_each_begin) const;

  SrgbEncoder one_;
  bool avx2_;
  float to_rgb_[9];  ///< XYZ on the scale of 100 to linear sRGB
};

}  // namespace kirtle
