#include "plate/reshape/tones.h"

#include "plate/reshape/rows.h"

#include <numbers>
#include <sstream>
#include <stdexcept>

namespace kirtle {

namespace {

constexpr int kSteps = 200;  // nodes of a table, half a per cent each
constexpr double kHeldWhole =
    1.3;  // of the smallest dot's area: from here on all dots are held (screen/tone.h)

void check_table(const StepTable& table) {
  KIRTLE_CHECK(table.asked.size(), ==, table.printed.size());
  double asked = 0, film = 0;
  for (std::size_t i = 0; i < table.asked.size(); ++i) {
    if (table.asked[i] >= asked && table.asked[i] <= 1 && table.printed[i] >= film && table.printed[i] <= 1) {
      asked = table.asked[i];
      film = table.printed[i];
      continue;
    }
    std::ostringstream text;
    text << "step " << i + 1 << " of the table takes " << 100 * table.asked[i] << " % to "
         << 100 * table.printed[i] << " %; steps must rise within 0 to 100 % in both columns";
    throw std::domain_error(text.str());
  }
}

/// "12 %": whole per cents, for print shops.
std::string per_cent(double share) { return std::to_string(std::lround(100 * share)) + " %"; }

void say_clamped(Compensation& c) {
  if (c.clamps_low) c.clamped = "tints asked to print below " + per_cent(c.lowest_printed) + " print that";
  if (c.clamps_high) {
    if (!c.clamped.empty()) c.clamped += "; ";
    c.clamped += "tints asked to print above " + per_cent(c.highest_printed) + " print that";
  }
}

/// The largest film value whose holes do not close by spread alone.
double last_open(const HalftoneScreen& halftone, Um spread) {
  if (spread_tone(1 - 1e-9, halftone, spread) < 1) return 1;
  double open = 0, closed = 1;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (open + closed);
    (spread_tone(middle, halftone, spread) < 1 ? open : closed) = middle;
  }
  return open;
}

}  // namespace

Reshaped apply_steps(const PlateImage& plate, const StepTable& asked_to_film, double ppi, unsigned threads) {
  check_table(asked_to_film);
  PlateImage out = plate;
  std::vector<double> film(static_cast<std::size_t>(plate.max()) + 1);
  for (std::size_t v = 0; v < film.size(); ++v)
    film[v] = step_table_printed(asked_to_film, static_cast<double>(v) / plate.max());
  detail::for_bands(plate.height, threads, [&](int y0, int rows) {
    const DistanceRows d = detail::contours_of(plate, y0, rows, 0, detail::kEdgeReach);
    const std::size_t from = detail::index_of(plate, 0, y0);
    for (std::size_t k = 0; k < d.tint.size(); ++k) {
      if (d.tint[k] == 0) continue;
      detail::put_film(out, from + k, film[static_cast<std::size_t>(detail::code_at(plate, from + k))]);
    }
  });
  return detail::with_change(&plate, std::move(out), ppi, threads);
}

Compensation compensate(const ToneSettings& settings) {
  Compensation out;
  if (settings.curve != CurveAt::none) return out;
  const ToneCurve curve(settings);
  if (settings.steps) {
    // What a table prints at its ends is all that it says.
    const auto last = std::find_if(settings.steps->printed.begin(), settings.steps->printed.end(),
                                   [](double p) { return p >= 1; });
    if (last != settings.steps->printed.end()) {
      out.highest_film =
          settings.steps->asked[static_cast<std::size_t>(last - settings.steps->printed.begin())];
    }
  } else {
    const double dot = settings.smallest_dot.v / kUmPerInch * settings.halftone.lpi;
    const double least = std::min(kHeldWhole * std::numbers::pi / 4 * dot * dot, 0.5);
    out.lowest_film = least;
    out.highest_film = std::max(least, std::min(1 - least, last_open(settings.halftone, settings.spread)));
  }
  out.lowest_printed = curve.printed(out.lowest_film);
  out.highest_printed = curve.printed(out.highest_film);
  out.clamps_low = out.lowest_film > 0;
  out.clamps_high = out.highest_printed < 1;
  StepTable& table = out.asked_to_film;
  const auto put = [&](double asked, double film) {
    table.asked.push_back(asked);
    table.printed.push_back(film);
  };
  // None and solid stay; the least tint asked for is the smallest that prints.
  constexpr double kJump = 1e-6;
  put(out.clamps_low ? kJump : 0, out.lowest_film);
  if (out.clamps_low) put(out.lowest_printed, out.lowest_film);
  for (int i = 1; i < 4 * kSteps; ++i) {
    const double asked = i / (4.0 * kSteps);
    if (asked > out.lowest_printed && asked < out.highest_printed) put(asked, curve.film_for(asked));
  }
  put(out.highest_printed, out.highest_film);
  if (out.clamps_high) put(1 - kJump, out.highest_film);
  say_clamped(out);
  return out;
}

double prints_solid_from(const ToneCurve& curve, double printed) {
  detail::check_range("printed coverage that counts as solid", printed, 0, 1, true);
  return curve.film_for(printed);
}

}  // namespace kirtle
