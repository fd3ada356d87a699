#include "intake/survey.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kPaper = 0.02, kSolid = 0.98;        // mean of a border that is one or the other
constexpr std::size_t kPixelsTogether = 120'000'000;  // plates of one file read in one pass

double border_mean(const PlateImage& image) {
  double sum = 0;
  std::size_t count = 0;
  const auto add = [&](int x, int y) {
    sum += image.film(x, y);
    ++count;
  };
  for (int x = 0; x < image.width; ++x) {
    add(x, 0);
    if (image.height > 1) add(x, image.height - 1);
  }
  for (int y = 1; y + 1 < image.height; ++y) {
    add(0, y);
    if (image.width > 1) add(image.width - 1, y);
  }
  return sum / static_cast<double>(count);
}

void turn_round(PlateImage& image) {
  for (std::uint8_t& v : image.ink8) v = static_cast<std::uint8_t>(255 - v);
  for (std::uint16_t& v : image.ink16) v = static_cast<std::uint16_t>(65535 - v);
}

SmallPicture small_picture(const PlateImage& image, int side) {
  SmallPicture out;
  const double scale = std::min(1.0, static_cast<double>(side) / std::max(image.width, image.height));
  out.width = std::max(1, static_cast<int>(std::lround(image.width * scale)));
  out.height = std::max(1, static_cast<int>(std::lround(image.height * scale)));
  out.grey.reserve(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  const auto from = [](int i, int n, int all) {
    return static_cast<int>(static_cast<long long>(i) * all / n);
  };
  for (int y = 0; y < out.height; ++y) {
    const int y0 = from(y, out.height, image.height),
              y1 = std::max(y0 + 1, from(y + 1, out.height, image.height));
    for (int x = 0; x < out.width; ++x) {
      const int x0 = from(x, out.width, image.width),
                x1 = std::max(x0 + 1, from(x + 1, out.width, image.width));
      double sum = 0;
      for (int j = y0; j < y1; ++j)
        for (int i = x0; i < x1; ++i) sum += image.film(i, j);
      const double mean = sum / (static_cast<double>(x1 - x0) * (y1 - y0));
      out.grey.push_back(static_cast<std::uint8_t>(std::lround(255 * (1 - mean))));
    }
  }
  return out;
}

/// Shares and tones do not depend on the resolution; lengths do, and are left out where it is not known.
PlateHoldings measured(const PlateImage& image, double ppi, unsigned threads) {
  if (ppi > 0) return measure_plate(image, ppi, threads);
  PlateHoldings h = measure_plate(image, 300, threads);
  h.thinnest_line = h.thinnest_gap = h.smallest_dot = std::nullopt;
  h.thinnest_line_at = h.thinnest_gap_at = h.smallest_dot_at = h.ink_from = h.ink_to = {};
  return h;
}

void look_at(PlateImage& image, const SurveySettings& settings, SurveyedPlate& plate) {
  plate.border_ink = border_mean(image);
  if (plate.entry.kind != SampleKind::grey) {
    plate.polarity_by = PolarityBy::format;
  } else if (settings.polarity) {
    plate.polarity = *settings.polarity;
    plate.polarity_by = PolarityBy::given;
  } else {
    const bool paper = plate.border_ink <= kPaper, solid = plate.border_ink >= kSolid;
    plate.polarity_by = paper || solid ? PolarityBy::border : PolarityBy::nothing;
    plate.polarity = solid ? Polarity::light_is_ink : Polarity::dark_is_ink;
    if (solid) {
      turn_round(image);
      plate.border_ink = 1 - plate.border_ink;
    }
  }
  plate.holdings = measured(image, plate.ppi, settings.threads);
  if (settings.picture_side > 0) plate.picture = small_picture(image, settings.picture_side);
}

/// Reads and looks at the plates of one file, a few at a time.
void read_file(std::vector<SurveyedPlate>& plates, const SurveySettings& settings, Survey& out) {
  for (std::size_t from = 0; from < plates.size();) {
    std::vector<PlateEntry> together;
    std::size_t pixels = 0, to = from;
    for (; to < plates.size(); ++to) {
      const PlateEntry& e = plates[to].entry;
      pixels += static_cast<std::size_t>(e.width) * static_cast<std::size_t>(e.height);
      if (to > from && pixels > kPixelsTogether) break;
      together.push_back(e);
    }
    Diagnostics notes;
    std::vector<PlateImage> images =
        read_plates(together, settings.polarity.value_or(Polarity::dark_is_ink), notes);
    // That a plate is mostly ink is judged here, once its polarity is known.
    Diagnostics kept;
    for (const Diagnostic& d : notes.all()) {
      if (d.severity == Severity::notice) kept.notice(d.place, d.message, d.remedy);
      if (d.severity == Severity::warning && d.message.find("is the polarity right?") == std::string::npos)
        kept.warning(d.place, d.message, d.remedy);
    }
    out.notes.append_new(kept);
    for (std::size_t i = 0; i < images.size(); ++i) {
      look_at(images[i], settings, plates[from + i]);
      images[i] = {};
    }
    from = to;
  }
}

}  // namespace

bool mostly_ink(const SurveyedPlate& plate) {
  return plate.holdings && (plate.holdings->coverage > kMostlyInk || plate.border_ink > kMostlyInk);
}

Survey survey_files(const std::vector<std::filesystem::path>& files, const SurveySettings& settings) {
  Survey out;
  for (const std::filesystem::path& file : files) {
    try {
      std::vector<SurveyedPlate> plates;
      const std::vector<PlateEntry> entries = list_plates(file, out.notes);
      for (const PlateEntry& entry : entries) {
        SurveyedPlate plate;
        plate.entry = entry;
        plate.in_file = static_cast<int>(entries.size());
        plate.ppi = settings.ppi > 0 ? settings.ppi : entry.ppi;
        if (entry.kind != SampleKind::grey) plate.polarity_by = PolarityBy::format;
        plates.push_back(std::move(plate));
      }
      if (settings.measure || settings.picture_side > 0) read_file(plates, settings, out);
      for (SurveyedPlate& plate : plates) out.plates.push_back(std::move(plate));
    } catch (const InputError& e) {
      out.faults.append(e.diagnostics());
    }
  }
  return out;
}

}  // namespace kirtle
