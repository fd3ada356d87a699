#pragma once
// The predicted print as a picture file.
#include "base/progress.h"
#include "light/icc_output.h"
#include "light/srgb.h"
#include "predict/prediction.h"
#include "print/loupe.h"

#include <filesystem>
#include <optional>

namespace kirtle {

struct PictureSettings {
  double scale = 1;  ///< 0 < scale <= 1 of plate resolution; under the loupe, of device resolution
  int bits = 8;      ///< 8 or 16
  std::optional<std::filesystem::path> profile;  ///< ICC profile of the output; none = sRGB, embedded
  Intent intent = Intent::relative;
  unsigned threads = 0;  ///< 0 = default_threads(); the bytes do not depend on it
  Progress progress;
  std::optional<LoupeWindow> loupe;  ///< this part of the print, dot by dot; within the print
  LoupeSettings loupe_settings;
};

/// What was written and what it could not hold.
struct PictureReport {
  int width = 0, height = 0;
  double ppi = 0;
  std::string colour_space;  ///< the profile's description
  std::size_t pixels_outside = 0;
  double largest_de00 = 0;                ///< CIEDE2000 of the colour furthest outside
  double computing_s = 0, writing_s = 0;  ///< wall time
};

/// Renders and writes, rows as they come; the target appears only when whole. Throws InputError (target,
/// profile), Cancelled, std::runtime_error (disk).
PictureReport write_print(const Scene& scene, const Prediction& prediction,
                          const std::filesystem::path& target, const PictureSettings& settings);

}  // namespace kirtle
