#pragma once
// sRGB (IEC 61966-2-1): encoding, matrix, hex, and a clip that keeps the hue. Printed colours leave sRGB
// often; what does is brought in along constant CIELAB hue and lightness, never channel by channel, and says
// so.
#include "light/adapt.h"
#include "light/colour.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace kirtle {

/// Linear light, 0..1 inside the sRGB gamut.
struct LinearRgb {
  double r = 0, g = 0, b = 0;
  bool operator==(const LinearRgb&) const = default;
};
using Rgb8 = std::array<std::uint8_t, 3>;
using Rgb16 = std::array<std::uint16_t, 3>;

/// Encoded value of linear light and back; 0..1 to 0..1, the straight piece continued below 0.
/// Source: IEC 61966-2-1 (thresholds 0.0031308 and 0.04045).
double srgb_encode(double linear);
double srgb_decode(double encoded);

/// XYZ seen under `white` to linear sRGB through Bradford, and back. `white` itself gives 1, 1, 1 (to 1e-12).
/// No clip. Source: matrix of IEC 61966-2-1; adapt.h.
LinearRgb linear_srgb_from_xyz(const XYZ& xyz, const XYZ& white);
XYZ xyz_from_linear_srgb(const LinearRgb& rgb, const XYZ& white);

/// How far outside 0..1 a linear channel may be and still count as inside: the rounding of a float pixel. It
/// is then cut to 0..1, less than 1 code of 16 bits at black.
constexpr double kSrgbInside = 1e-6;

struct SrgbColour {
  LinearRgb linear;      ///< each 0..1
  bool clipped = false;  ///< the colour asked for is outside sRGB
  double clip_de00 = 0;  ///< CIEDE2000 between asked and given under the viewing white; 0 unless clipped
};

/// The sRGB colour of same CIELAB hue and lightness (under `white`) with the chroma asked for or, if that is
/// outside, the largest one such that all lower ones are inside. L* outside 0..100 goes to the nearest end.
/// Limits: CIELAB hue is not quite constant to the eye in blue (towards violet); white Y > 0.
/// Throws InternalError if xyz is not finite.
SrgbColour srgb_from_xyz(const XYZ& xyz, const XYZ& white);

/// Rounded codes of linear light already inside 0..1.
Rgb8 srgb_codes8(const LinearRgb& inside);
/// "#rrggbb".
std::string hex_text(const Rgb8& rgb);
/// Reads "#rrggbb", either case. nullopt for anything else, so that the reader can say where it stands.
std::optional<Rgb8> rgb8_from_hex(std::string_view text);
/// The XYZ, under `white`, of the colour that sRGB shows for these codes.
XYZ xyz_from_srgb8(const Rgb8& rgb, const XYZ& white);

/// Counts of one thread; merge them when all are done.
struct ClipReport {
  std::size_t colours = 0;
  std::size_t clipped = 0;
  double largest_de00 = 0;
  void merge(const ClipReport& other);
};

/// The same for whole pictures: no pow inside the gamut. Never over 0.51 code from the exact value, at 8 and
/// 16 bits. Const use from several threads is safe.
class SrgbEncoder {
 public:
  /// white: of the viewing light, Y = 100.
  explicit SrgbEncoder(const XYZ& white);
  /// report may be null. Throws InternalError if xyz is not finite.
  Rgb8 encode8(const XYZ& xyz, ClipReport* report = nullptr) const;
  Rgb16 encode16(const XYZ& xyz, ClipReport* report = nullptr) const;

 private:
  LinearRgb inside(const XYZ& xyz, ClipReport* report) const;
  XYZ white_;
  Matrix3 to_rgb_;
  const double* root_table_;  ///< shared, lives as long as the program
};

}  // namespace kirtle
