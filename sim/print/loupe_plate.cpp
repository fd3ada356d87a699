#include "print/loupe_plate.h"

#include "base/check.h"
#include "base/wide.h"
#include "screen/dot_cells.h"
#include "screen/threshold_row.h"

#include <algorithm>
#include <climits>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kLeastSigma = 0.05;  // device pixels: less blurs nothing
constexpr double kBlurReach = 3.5;    // standard deviations
// Device pixels a period: with fewer there is nothing to count, with more the beat is under .2 % uncounted.
constexpr double kCoarsePeriod = 3, kFinePeriod = 64;
constexpr double kMostStretch = 1.02;  // of a period by register, with room
// A tint's pixel until its dots are counted: what it is with the dot's ink and without, dots lost and holes
// filled.
constexpr std::uint8_t kInkAnyway = 4, kInkIfDot = 8;

ToneSettings dots_of(const CoverSettings& settings) {
  ToneSettings tone = settings.tone;
  if (settings.field) tone.spread = {0};  // what spreads is not more ink
  return tone;
}

/// Half of a Gaussian, centre first, area means over pixels, summing to 1 with its mirror.
std::vector<float> half_gaussian(double sigma, int half) {
  std::vector<double> w;
  double sum = 0;
  const double s = sigma * std::numbers::sqrt2;
  for (int i = 0; i <= half; ++i) {
    w.push_back(std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s));
    sum += i == 0 ? w.back() : 2 * w.back();
  }
  std::vector<float> out;
  for (const double v : w) out.push_back(static_cast<float>(v / sum));
  return out;
}

/// Blurs (width + 2 half) x (height + 2 half) samples down to width x height. Taps always in the same order.
void blur(std::vector<float>& in, int half, const std::vector<float>& kernel, const DeviceRect& rect,
          std::span<float> out) {
  const std::size_t width = static_cast<std::size_t>(rect.width),
                    wide = width + 2 * static_cast<std::size_t>(half);
  std::vector<float> column(wide);
  for (int y = 0; y < rect.height; ++y) {
    const float* centre = in.data() + static_cast<std::size_t>(y + half) * wide;
    for (std::size_t x = 0; x < wide; ++x) column[x] = kernel[0] * centre[x];
    for (int k = 1; k <= half; ++k) {
      const float w = kernel[static_cast<std::size_t>(k)];
      const float *above = centre - static_cast<std::size_t>(k) * wide,
                  *below = centre + static_cast<std::size_t>(k) * wide;
      for (std::size_t x = 0; x < wide; ++x) column[x] += w * (above[x] + below[x]);
    }
    float* to = out.data() + static_cast<std::size_t>(y) * width;
    const float* from = column.data() + half;
    for (std::size_t x = 0; x < width; ++x) to[x] = kernel[0] * from[x];
    for (int k = 1; k <= half; ++k) {
      const float w = kernel[static_cast<std::size_t>(k)];
      for (std::size_t x = 0; x < width; ++x) to[x] += w * (from[x - k] + from[x + k]);
    }
  }
}

}  // namespace

/// Device pixels of a rectangle on the plate and on its screen.
struct LoupePlate::Places {
  struct Place {
    double sx, sy;      ///< plate pixels, whole numbers at their centres
    double x_mm, y_mm;  ///< on the plate
  };
  Place operator()(int x, int y) const {
    Place p{};
    cover.source_of((raster.x_mm + (rect.x + x) * raster.pitch_mm) * px_per_mm - 0.5,
                    (raster.y_mm + (rect.y + y) * raster.pitch_mm) * px_per_mm - 0.5, p.sx, p.sy);
    p.x_mm = (p.sx + 0.5) * mm_per_px;
    p.y_mm = (p.sy + 0.5) * mm_per_px;
    return p;
  }

  const PlateCover& cover;
  const DeviceRaster& raster;
  const DeviceRect& rect;
  double px_per_mm = cover.ppi() / kMmPerInch, mm_per_px = kMmPerInch / cover.ppi();
};

/// What the plate has at its own places, asked row by row: the four pixels about a place are read once for
/// all device pixels between them.
class LoupePlate::Points {
 public:
  static constexpr double kPaper = DotCells::kNoTint, kInk = DotCells::kNoTint - 1;

  Points(const PlateCover& cover, const PlateBand& band) : cover_(cover), band_(band), rows_(band.rows) {}

  /// The film's tone within a tint, else kPaper or kInk by the contour: of pixels from .. to - 1 of a row.
  void row(const Places& places, int y, int from, int to, double* out) {
    double step = 0;  // plate pixels a device pixel
    {
      const Places::Place a = places(0, y), b = places(1, y);
      step = b.sx - a.sx;
    }
    for (int x = from; x < to;) {
      const Places::Place first = places(x, y);
      const int ix = floor_of(first.sx), iy = floor_of(first.sy);
      const std::int32_t square = band_.square(ix, iy);
      if (square == PlateBand::kBandMixed) {
        *out++ = at(first.sx, first.sy);
        ++x;
        continue;
      }
      int last = ix;  // of the squares alike
      const int most = ix + static_cast<int>((to - x) * step) + 1;
      while (last < most && band_.square(last + 1, iy) == square) ++last;
      int n = std::clamp(static_cast<int>((last + 1 - first.sx) / step), 1, to - x);
      for (; n > 1; n = (n + 1) / 2) {
        const Places::Place end = places(x + n - 1, y);
        if (floor_of(end.sx) <= last && floor_of(end.sy) == iy) break;
        if (n == 2) {
          n = 1;
          break;
        }
      }
      const double film = square == PlateBand::kBandPaper ? kPaper
                          : square == PlateBand::kBandInk ? kInk
                                                          : cover_.image().film(ix, iy);
      std::fill_n(out, n, film);
      out += n;
      x += n;
    }
  }

 private:
  static int floor_of(double x) {
    const int whole = static_cast<int>(x);
    return static_cast<double>(whole) > x ? whole - 1 : whole;
  }

  double at(double sx, double sy) {
    const int ix = floor_of(sx), iy = floor_of(sy);
    if (ix != ix_ || iy != iy_) read(ix, iy);
    if (same_) return tint_[0] ? film_[0] : distance_[0] < 0 ? kInk : kPaper;
    const double fx = sx - ix, fy = sy - iy;
    const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
    const int nearest = (fx >= 0.5 ? 1 : 0) + (fy >= 0.5 ? 2 : 0);
    double film = 0, weight = 0, distance = 0;
    for (int k = 0; k < 4; ++k) {
      film += w[k] * film_[k];
      if (counts_[k]) weight += w[k];
      distance += w[k] * distance_[k];
    }
    if (!tint_[nearest]) return distance < 0 ? kInk : kPaper;
    return film / weight;
  }

  void read(int ix, int iy) {
    const PlateImage& image = cover_.image();
    ix_ = ix;
    iy_ = iy;
    for (int k = 0; k < 4; ++k) {
      const int px = ix + k % 2, py = iy + k / 2;
      film_[k] = 0;
      distance_[k] = cover_.reach_px();
      tint_[k] = false;
      counts_[k] = true;
      if (px < 0 || px >= image.width || py < 0 || py >= image.height) continue;
      const std::size_t i = static_cast<std::size_t>(py - rows_.y0) * static_cast<std::size_t>(rows_.width) +
                            static_cast<std::size_t>(px);
      const double value = image.film(px, py);
      tint_[k] = rows_.tint[i] != 0;
      counts_[k] = tint_[k] || value == 0 || value == 1;  // not the fraction of an edge
      if (counts_[k]) film_[k] = value;
      distance_[k] = tint_[k] ? 0 : static_cast<double>(rows_.distance[i]);
    }
    same_ = true;
    for (int k = 1; k < 4; ++k)
      same_ =
          same_ && tint_[k] == tint_[0] && (tint_[0] ? film_[k] == film_[0] : distance_[k] == distance_[0]);
  }

  const PlateCover& cover_;
  const PlateBand& band_;
  const DistanceRows& rows_;
  int ix_ = -2000000000, iy_ = 0;  // none yet
  double film_[4] = {}, distance_[4] = {};
  bool tint_[4] = {}, counts_[4] = {};
  bool same_ = false;
};

LoupePlate::LoupePlate(const PlateCover& cover, std::uint32_t seed, DotRaster dots)
    : cover_(cover), dots_(dots_of(cover.settings()), seed), raster_(dots) {}

int LoupePlate::margin(double pitch_mm) const {
  const double sigma = cover_.field() ? cover_.settings().wick.v / pitch_mm : 0;
  return sigma > kLeastSigma ? static_cast<int>(std::ceil(kBlurReach * sigma)) : 0;
}

int LoupePlate::period_margin(double pitch_mm) const {
  const double period = kMmPerInch / cover_.settings().tone.halftone.lpi / pitch_mm;
  const bool counted =
      raster_ == DotRaster::counted && dots_.regular() && period >= kCoarsePeriod && period <= kFinePeriod;
  return counted ? static_cast<int>(std::ceil(period * std::numbers::sqrt2 * kMostStretch)) + 1 : 0;
}

PlateBand LoupePlate::band(const DeviceRaster& raster, const DeviceRect& rect) const {
  const double px_per_mm = cover_.ppi() / kMmPerInch;
  const int more = period_margin(raster.pitch_mm);
  double low = 1e30, high = -1e30, left = 1e30, right = -1e30;
  for (const int x : {rect.x - more, rect.x + rect.width - 1 + more}) {
    for (const int y : {rect.y - more, rect.y + rect.height - 1 + more}) {
      double sx = 0, sy = 0;
      cover_.source_of((raster.x_mm + x * raster.pitch_mm) * px_per_mm - 0.5,
                       (raster.y_mm + y * raster.pitch_mm) * px_per_mm - 0.5, sx, sy);
      low = std::min(low, sy);
      high = std::max(high, sy);
      left = std::min(left, sx);
      right = std::max(right, sx);
    }
  }
  const int from = static_cast<int>(std::floor(low)) - 1;
  PlateBand out{contour_distance(cover_.image(), from, static_cast<int>(std::ceil(high)) + 2 - from,
                                 cover_.spread_px(), cover_.reach_px()),
                {},
                0,
                0};
  find_squares(left, right, out);
  return out;
}

void LoupePlate::find_squares(double left, double right, PlateBand& band) const {
  const PlateImage& image = cover_.image();
  const DistanceRows& rows = band.rows;
  band.x0 = static_cast<int>(std::floor(left));
  band.columns = static_cast<int>(std::floor(right)) + 1 - band.x0;
  const auto columns = static_cast<std::size_t>(band.columns);
  band.squares.resize(columns * static_cast<std::size_t>(rows.rows - 1));
  std::vector<std::int32_t> above, below(columns + 1);
  for (int row = 0; row < rows.rows; ++row) {
    const int y = rows.y0 + row;
    std::swap(above, below);
    below.assign(columns + 1, PlateBand::kBandPaper);
    const int x0 = std::max(band.x0, 0), x1 = std::min(band.x0 + band.columns + 1, image.width);
    for (int x = x0; x < x1 && y >= 0 && y < image.height; ++x) {
      const auto i =
          static_cast<std::size_t>(row) * static_cast<std::size_t>(rows.width) + static_cast<std::size_t>(x);
      const auto value =
          static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) + static_cast<std::size_t>(x);
      below[static_cast<std::size_t>(x - band.x0)] =
          rows.tint[i] != 0
              ? PlateBand::kBandTint + (image.bits == 8 ? image.ink8[value] : image.ink16[value])
          : rows.distance[i] < 0 ? PlateBand::kBandInk
                                 : PlateBand::kBandPaper;
    }
    if (row == 0) continue;
    std::int32_t* to = band.squares.data() + static_cast<std::size_t>(row - 1) * columns;
    for (std::size_t c = 0; c < columns; ++c) {
      const bool same = above[c] == above[c + 1] && above[c] == below[c] && above[c] == below[c + 1];
      to[c] = same ? above[c] : PlateBand::kBandMixed;
    }
  }
}

void LoupePlate::states(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                        std::span<std::uint8_t> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const Places places{cover_, raster, rect};
  if (period_margin(raster.pitch_mm) > 0 && counted_states(band, places, out)) return;
  Points points(cover_, band);
  std::vector<double> film(static_cast<std::size_t>(rect.width));
  std::uint8_t* to = out.data();
  for (int y = 0; y < rect.height; ++y) {
    points.row(places, y, 0, rect.width, film.data());
    for (int x = 0; x < rect.width; ++x) {
      const double value = film[static_cast<std::size_t>(x)];
      if (value > DotCells::kNoTint) {
        const Places::Place at = places(x, y);
        const bool ink = dots_.inked(at.x_mm, at.y_mm, value);
        *to++ = ink ? kDeviceInk | kDeviceTint : kDeviceTint;
      } else {
        *to++ = value == Points::kInk ? kDeviceInk : 0;
      }
    }
  }
}

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
  DotCells cells(wide, tall, range, step, dots_.exact_moments());
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

void LoupePlate::doses(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
                       std::span<float> out) const {
  KIRTLE_CHECK(out.size(), ==, rect.pixels());
  const int half = margin(raster.pitch_mm);
  const DeviceRect wide{rect.x - half, rect.y - half, rect.width + 2 * half, rect.height + 2 * half};
  std::vector<std::uint8_t> state(wide.pixels());
  states(band, raster, wide, state);
  std::vector<float> ink(state.size());
  std::transform(state.begin(), state.end(), ink.begin(),
                 [](std::uint8_t s) { return (s & kDeviceInk) != 0 ? 1.0F : 0.0F; });
  if (half == 0) {
    std::copy(ink.begin(), ink.end(), out.begin());
    return;
  }
  blur(ink, half, half_gaussian(cover_.settings().wick.v / raster.pitch_mm, half), rect, out);
}

}  // namespace kirtle
