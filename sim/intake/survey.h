#pragma once
// Files looked over plate by plate: what each holds, which way its greys run, whether it looks like a plate.
#include "base/diagnostics.h"
#include "plate/holdings.h"
#include "plate/io/plate_file.h"

#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

namespace kirtle {

struct SurveySettings {
  double ppi = 0;  ///< 10..5000: stands in for what files do not say, and over what they say; 0 = not given
  std::optional<Polarity> polarity;  ///< of greys; else each one's border is looked at
  bool measure = true;               ///< false: headers alone
  int picture_side = 0;              ///< pixels of the longer side of the small pictures; 0 = none
  unsigned threads = 0;              ///< 0 = default_threads()
};

/// How it is known which way a plate's numbers run.
enum class PolarityBy {
  format,   ///< spot and separated samples say it
  given,    ///< SurveySettings::polarity
  border,   ///< guessed: the border is all paper, or all solid
  nothing,  ///< guessed dark: the border is neither
  unread,   ///< a grey whose pixels were not looked at
};

/// A plate made small, 8 bit, black = ink.
struct SmallPicture {
  int width = 0, height = 0;
  std::vector<std::uint8_t> grey;
};

struct SurveyedPlate {
  PlateEntry entry;
  int in_file = 1;                            ///< plates of the same file
  double ppi = 0;                             ///< 0 = not known
  Polarity polarity = Polarity::dark_is_ink;  ///< of a grey
  PolarityBy polarity_by = PolarityBy::unread;
  std::optional<PlateHoldings>
      holdings;           ///< with measure; without a resolution all lengths in it are left out
  double border_ink = 0;  ///< mean film coverage of the outermost pixels, 0..1
  SmallPicture picture;
};

/// Where more than this of a plate or of its outermost pixels is ink, it may not be a plate that prints.
/// Common practice, no source.
constexpr double kMostlyInk = 0.6;
bool mostly_ink(const SurveyedPlate& plate);

struct Survey {
  std::vector<SurveyedPlate> plates;  ///< in the order of the files
  Diagnostics notes;                  ///< warnings and notices
  Diagnostics faults;                 ///< of files that cannot be read; the others are listed all the same
};

Survey survey_files(const std::vector<std::filesystem::path>& files, const SurveySettings& settings);

}  // namespace kirtle
