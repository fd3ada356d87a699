// Tints of a plate under the loupe whose dots are counted, period by period.
#include "base/simd.h"
#include "print/loupe_points.h"
#include "screen/threshold_row.h"

#include <algorithm>
#include <climits>
#include <cmath>

namespace kirtle {

namespace {

// A tint's pixel until its dots are counted: what it is with the dot's ink and without, dots lost and holes
// filled.
constexpr std::uint8_t kInkAnyway = 4, kInkIfDot = 8;

}  // namespace

PeriodStep LoupePlate::period_step(double pitch_mm) const {
  // Differences on the plate at its top left corner: they do not depend on the rectangle.
  double x0 = 0, y0 = 0, x1 = 0, y1 = 0, x2 = 0, y2 = 0;
  const double px = pitch_mm / kMmPerInch * cover_.ppi(), mm = kMmPerInch / cover_.ppi();
  cover_.source_of(0, 0, x0, y0);
  cover_.source_of(px, 0, x1, y1);
  cover_.source_of(0, px, x2, y2);
  return {dots_.u((x1 - x0) * mm, (y1 - y0) * mm), dots_.u((x2 - x0) * mm, (y2 - y0) * mm),
          dots_.v((x1 - x0) * mm, (y1 - y0) * mm), dots_.v((x2 - x0) * mm, (y2 - y0) * mm)};
}

namespace {

/// Places of one row on the screen, in periods.
template <class Places>
KIRTLE_WIDE void places_of_row(const Places& places, const PrintedDots& dots, int y, int x0, std::size_t n,
                               double* __restrict u, double* __restrict v) {
  for (std::size_t i = 0; i < n; ++i) {
    const auto at = places(x0 + static_cast<int>(i), y);
    u[i] = dots.u(at.x_mm, at.y_mm);
    v[i] = dots.v(at.x_mm, at.y_mm);
  }
}

}  // namespace

/// False, and nothing done, if there is no tint.
bool LoupePlate::counted_states(const PlateBand& band, const Places& places,
                                std::span<std::uint8_t> out) const {
  const DeviceRect& rect = places.rect;
  const int more = period_margin(places.raster.pitch_mm);
  const int wide = rect.width + 2 * more, tall = rect.height + 2 * more;
  // The plate, with whole periods about the rectangle; and where in each row tints lie.
  std::vector<double> film(static_cast<std::size_t>(wide) * static_cast<std::size_t>(tall));
  struct Part {
    int from = INT_MAX, to = INT_MIN;
    void join(const Part& other) {
      from = std::min(from, other.from);
      to = std::max(to, other.to);
    }
  };
  std::vector<Part> tints(static_cast<std::size_t>(tall));
  Points points(cover_, band);
  bool any = false;
  for (int row = 0; row < tall; ++row) {
    double* to = film.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(wide);
    points.row(places, row - more, -more, rect.width + more, to);
    const auto is_tint = [](double value) { return value > DotCells::kNoTint; };
    double *first = std::find_if(to, to + wide, is_tint), *last = to + wide;
    if (first == last) continue;
    while (!is_tint(last[-1])) --last;
    tints[static_cast<std::size_t>(row)] = {static_cast<int>(first - to), static_cast<int>(last - to)};
    any = true;
  }
  if (!any) return false;
  const auto index_of = [&](int x, int y) {
    const Places::Place at = places(x, y);
    return PeriodIndex(dots_.u(at.x_mm, at.y_mm), dots_.v(at.x_mm, at.y_mm));
  };
  PeriodRange range{INT_MAX, INT_MAX, INT_MIN, INT_MIN};
  for (const int x : {-more, rect.width + more - 1}) {
    for (const int y : {-more, rect.height + more - 1}) {
      const PeriodIndex dot = index_of(x, y);
      range = {std::min(range.u0, dot.u), std::min(range.v0, dot.v), std::max(range.u1, dot.u),
               std::max(range.v1, dot.v)};
    }
  }
  const PeriodStep step = period_step(places.raster.pitch_mm);
  DotCells cells(wide, tall, range, step, dots_.shape());
  // Periods that the rectangle's edge cuts; those wholly inside are read with it. Two pixels deep, so that no
  // corner of a period slips through.
  for (int x = 0; x < rect.width; ++x) {
    for (const int y : {0, 1, rect.height - 2, rect.height - 1}) cells.ask(cells.period(index_of(x, y)));
  }
  for (int y = 0; y < rect.height; ++y) {
    for (const int x : {0, 1, rect.width - 2, rect.width - 1}) cells.ask(cells.period(index_of(x, y)));
  }
  const ThresholdRange rough = rough_thresholds(dots_.shape());
  const double near = cells.near_tone() + kThresholdError;
  std::vector<double> u(static_cast<std::size_t>(wide)), v(u.size()), tone(u.size()), threshold(u.size());
  std::vector<std::uint32_t> period(u.size());
  double last_film = -1, last_tone = 0;
  for (int row = 0; row < tall; ++row) {
    // Periods with a tint reach this far.
    Part part;
    for (int other = std::max(0, row - more); other < std::min(tall, row + more + 1); ++other)
      part.join(tints[static_cast<std::size_t>(other)]);
    const bool inside = row >= more && row < more + rect.height;
    const double* films = film.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(wide);
    if (inside) {
      std::uint8_t* to =
          out.data() + static_cast<std::size_t>(row - more) * static_cast<std::size_t>(rect.width);
      for (int x = 0; x < rect.width; ++x)
        to[x] = films[x + more] > DotCells::kNoTint ? kDeviceTint | kInkIfDot
                : films[x + more] == Points::kInk   ? kDeviceInk
                                                    : 0;
    }
    if (part.from > part.to) continue;
    const int from = std::max(0, part.from - more), to = std::min(wide, part.to + more);
    const auto n = static_cast<std::size_t>(to - from);
    const auto of_row = [n](std::vector<double>& all) { return std::span(all).first(n); };
    places_of_row(places, dots_, row - more, from - more, n, u.data(), v.data());
    for (std::size_t i = 0; i < n; ++i) {
      const double value = films[from + static_cast<int>(i)];
      if (value != last_film) {
        last_film = value;
        last_tone = value > DotCells::kNoTint ? dots_.tone(value) : DotCells::kNoTint;
      }
      tone[i] = last_tone;
    }
    dot_thresholds(dots_.shape(), of_row(u), of_row(v), of_row(threshold));
    if (rough.from <= rough.to) {
      for (std::size_t i = 0; i < n; ++i) {
        if (rough.holds(threshold[i]) && std::abs(threshold[i] - tone[i]) < near)
          threshold[i] = dots_.threshold(u[i], v[i]);
      }
    }
    cells.periods(of_row(u), of_row(v), std::span(period).first(n));
    cells.row({from, row, std::span(period).first(n), of_row(u), of_row(v), of_row(tone), of_row(threshold)},
              inside ? more : 0, inside ? more + rect.width : 0);
    if (!inside) continue;
    const int first = std::max(from, more), last = std::min(to, more + rect.width);
    if (first >= last) continue;
    const auto skipped = static_cast<std::size_t>(first - from),
               count = static_cast<std::size_t>(last - first);
    lose_dots({films + first, count}, std::span(u).subspan(skipped, count),
              std::span(v).subspan(skipped, count),
              out.data() + static_cast<std::size_t>(row - more) * static_cast<std::size_t>(rect.width) +
                  (first - more));
  }
  cells.settle();
  for (int y = 0; y < rect.height; ++y) {
    const std::uint8_t* ink = cells.inked(more, y + more);
    std::uint8_t* to = out.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(rect.width);
    for (int x = 0; x < rect.width; ++x) {
      const int is_ink = to[x] & (ink[x] != 0 ? kInkIfDot : kInkAnyway);
      const int state = kDeviceTint | (is_ink != 0 ? kDeviceInk : 0);
      to[x] = static_cast<std::uint8_t>((to[x] & kDeviceTint) != 0 ? state : to[x]);
    }
  }
  return true;
}

/// Device pixels of tints whose dots or holes may be lost: what they are with the dot's ink and without.
void LoupePlate::lose_dots(std::span<const double> film, std::span<const double> u, std::span<const double> v,
                           std::uint8_t* row) const {
  double last_film = DotCells::kNoTint;
  PrintedDots::Held held;
  for (std::size_t i = 0; i < film.size(); ++i) {
    if (film[i] != last_film) {
      last_film = film[i];
      held = last_film > DotCells::kNoTint ? dots_.held(last_film) : PrintedDots::Held{};
    }
    if (held.all()) continue;
    const PrintedDots::Held chances = dots_.chances(u[i], v[i]);
    const int anyway = PrintedDots::with_losses(false, held, chances) ? kInkAnyway : 0,
              if_dot = PrintedDots::with_losses(true, held, chances) ? kInkIfDot : 0;
    row[i] = static_cast<std::uint8_t>(kDeviceTint | anyway | if_dot);
  }
}

}  // namespace kirtle
