#pragma once
// Out of XYZ into the device values of an ICC profile, through lcms2. For sRGB prefer SrgbEncoder (srgb.h):
// it keeps the hue of what leaves the gamut, while matrix profiles here clip channel by channel.
#include "light/colour.h"

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace kirtle {

/// Rendering intents of ICC.1.
enum class Intent { perceptual, relative, saturation, absolute };

struct IccSettings {
  XYZ source_white;  ///< of the viewing light, Y = 100; carried to the D50 of ICC by Bradford
  Intent intent = Intent::relative;
  /// Maps black to the device's black. Not used by absolute; always on for perceptual and saturation with a
  /// version 4 profile, as ICC.1 fixes the black of their reference medium.
  bool black_point_compensation = true;
};

/// What one thread's colours lost; merge when all are done. "Given" is what the profile says the device will
/// show (colorimetric, without black point compensation, before rounding to codes) under D50.
struct GamutReport {
  std::size_t colours = 0;
  std::size_t outside = 0;  ///< more than kOutsideDe00 away
  double largest_de00 = 0;  ///< CIEDE2000
  Lab worst_asked, worst_given;
  void merge(const GamutReport& other);
};
/// Over a table profile's own interpolation error, under a plain difference. Common practice, no source. A
/// perceptual or saturation intent and black point compensation move colours on purpose, and count too.
constexpr double kOutsideDe00 = 1.0;

/// Source: ICC.1:2022; lcms2, float pipeline without optimisation. Const use from several threads is safe.
class IccOutput {
 public:
  /// Throws InputError naming the file, what is wrong and the remedy: missing, no ICC profile, cut short,
  /// damaged, or not a display, output or colour-space profile of grey, RGB or CMYK.
  static IccOutput from_file(const std::filesystem::path& file, const IccSettings& settings);
  /// The same for a profile in memory; name stands in messages.
  static IccOutput from_bytes(std::span<const std::byte> profile, std::string_view name,
                              const IccSettings& settings);
  /// sRGB (IEC 61966-2-1), made here; the same bytes every time.
  static IccOutput srgb(const IccSettings& settings);

  IccOutput(IccOutput&&) noexcept;
  IccOutput& operator=(IccOutput&&) noexcept;
  ~IccOutput();

  std::size_t channels() const;  ///< 1 grey, 3 RGB, 4 CMYK
  std::span<const std::byte> profile_bytes() const;
  const std::string& description() const;  ///< printable; may be empty

  /// One row: xyz is 3 floats a pixel (X Y Z, white Y = 100), device channels() codes a pixel. Grey and RGB:
  /// full code is full light. CMYK: full code is full ink. report may be null (faster). Throws InternalError
  /// if the sizes do not belong together or an XYZ is not finite.
  void convert8(std::span<const float> xyz, std::span<std::uint8_t> device, GamutReport* report) const;
  void convert16(std::span<const float> xyz, std::span<std::uint16_t> device, GamutReport* report) const;

 private:
  struct Impl;
  explicit IccOutput(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace kirtle
