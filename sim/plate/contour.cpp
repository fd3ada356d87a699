#include "plate/contour.h"

#include "base/check.h"
#include "plate/clear_bits.h"
#include "plate/nearest_piece.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace kirtle {

using detail::ClearBits;
using detail::ContourPiece;
using detail::NearestPieces;

namespace {

constexpr int kLongestRun = 3;   // fractional pixels of an edge on either side of the one looked at
constexpr int kLongestThin = 5;  // pixels across a line whose core is not solid: at 45 degrees up to so many
static_assert(detail::kLongestAcross == std::max(2 * kLongestRun + 1, kLongestThin));
// Equivalent width in pixels of a line or gap without a solid core: up to the first it is lost, from the
// second on it is there whole. A pixel that is solid holds whatever its size, so nothing jumps. Placeholders:
// a plate says no more.
constexpr double kThinLost = 0.25, kThinHeld = 0.75;
constexpr double kLeastPeak = 0.45;
constexpr double kHalfSegment = 0.75;  // an edge pixel stands for this much contour on either side
// The same of even pieces where the contour turns, within two pixels, by more than an angle of this cosine.
// Chosen by trial, so that discs and rectangles that grow gain and lose no area.
constexpr double kCornerHalf = 0.9, kStraight = 0.6;

/// One plate's samples with the thresholds of none and solid.
template <class Sample>
class Finder {
 public:
  Finder(const PlateImage& plate, const Sample* samples, double spread, ContourPieces pieces,
         DistanceRows& out)
      : plate_(plate),
        samples_(samples),
        out_(out),
        near_({out.x0, out.y0, out.width, out.rows}, out.reach),
        spread_(spread),
        even_(pieces == ContourPieces::even),
        max_(plate.max()),
        lo_(max_ / 255),
        hi_(max_ - max_ / 255) {}

  void run() {
    for (int y = out_.y0; y < out_.y0 + out_.rows; ++y) find_tints(y);
    // What reaches into these rows: edges by the reach, thin runs by their own length and the spread.
    const int halo = contour_halo(spread_, out_.reach);
    const int from = std::max(0, out_.y0 - halo), to = std::min(plate_.height, out_.y0 + out_.rows + halo);
    const int left = std::max(0, out_.x0 - halo), right = std::min(plate_.width, out_.x0 + out_.width + halo);
    const ClearBits<Sample> bits(plate_, samples_, {left, from, right - left, to - from});
    for (int y = from; y < to; ++y) find_in_row(y, left, bits);
    for (int y = out_.y0; y < out_.y0 + out_.rows; ++y) put_distances(y);
    put_own_distances();
    // Thin runs last, since theirs are distances to the moved contour already.
    for (const Run& run : thin_) enter_own(run);
    for (const Run& run : thin_) enter_beside(run);
  }

 private:
  int at(int x, int y) const {
    x = std::clamp(x, 0, plate_.width - 1);
    y = std::clamp(y, 0, plate_.height - 1);
    return samples_[static_cast<std::size_t>(y) * plate_.width + x];
  }
  bool none(int v) const { return v <= lo_; }
  bool solid(int v) const { return v >= hi_; }

  bool on_plate(int y) const { return y >= 0 && y < plate_.height; }

  void find_tints(int y) {
    std::uint8_t* t = out_.tint.data() + static_cast<std::size_t>(y - out_.y0) * out_.width;
    if (!on_plate(y)) {
      std::fill_n(t, out_.width, std::uint8_t{0});
      return;
    }
    const Sample* v = pointer_to(out_.x0, y);
    for (int x = 0; x < out_.width; ++x) t[x] = v[x] > lo_ && v[x] < hi_;
  }

  void put_distances(int y) {
    float* d = row(y);
    const auto reach = static_cast<float>(out_.reach), spread = static_cast<float>(spread_);
    if (!on_plate(y)) {
      std::fill_n(d, out_.width, reach);
      return;
    }
    const Sample* v = pointer_to(out_.x0, y);
    if (!near_.touched(y)) {
      for (int x = 0; x < out_.width; ++x) d[x] = v[x] >= hi_ ? -reach : reach;
      return;
    }
    const float* squared = near_.row(y);
    const auto half = static_cast<Sample>((max_ + 1) / 2), hi = static_cast<Sample>(hi_);
    for (int x = 0; x < out_.width; ++x) {
      const float far = std::sqrt(squared[x]);
      const float near = (v[x] >= half ? -far : far) - spread;
      d[x] = far < reach ? near : v[x] >= hi ? -reach : reach;
    }
  }

  /// A pixel whose own piece is the nearest knows better which side it is on than its value does.
  void put_own_distances() {
    const auto reach = static_cast<float>(out_.reach), spread = static_cast<float>(spread_);
    near_.for_each_own([&](const NearestPieces::Own& own) {
      const float far = std::sqrt(own.squared);
      if (far < reach) out_.distance[own.at] = (own.inside ? -far : far) - spread;
    });
  }

  float* row(int y) { return out_.distance.data() + static_cast<std::size_t>(y - out_.y0) * out_.width; }
  bool in_box(int x, int y) const {
    return y >= out_.y0 && y < out_.y0 + out_.rows && x >= out_.x0 && x < out_.x0 + out_.width;
  }

  void find_in_row(int y, int left, const ClearBits<Sample>& bits) {
    for (std::size_t word = 0; word < bits.words(); ++word) {
      const auto at_word = bits.look(y, word);
      for (std::uint64_t rest = at_word.any(); rest != 0; rest &= rest - 1) {
        const int bit = std::countr_zero(rest);
        const int x = left + static_cast<int>(word) * 64 + bit;
        const int here = at(x, y);
        if (at_word.fractional >> bit & 1u) fractional(x, y, here);
        if (at_word.sharp_right >> bit & 1u) sharp(x, y, here, 0.5, 0);
        if (at_word.sharp_below >> bit & 1u) sharp(x, y, here, 0, 0.5);
      }
    }
  }

  /// True if at least `border` pixels lie between (x, y) and the plate's border.
  bool well_inside(int x, int y, int border) const {
    return x >= border && y >= border && x + border < plate_.width && y + border < plate_.height;
  }
  const Sample* pointer_to(int x, int y) const {
    return samples_ + static_cast<std::ptrdiff_t>(y) * plate_.width + x;
  }

  /// Slope of the ink at a pixel (Sobel), in code values.
  void slope(int x, int y, int& gx, int& gy) const {
    const auto from = [&](const auto& value_at) {
      const int a = value_at(-1, -1), b = value_at(0, -1), c = value_at(1, -1);
      const int d = value_at(-1, 0), f = value_at(1, 0);
      const int g = value_at(-1, 1), h = value_at(0, 1), i = value_at(1, 1);
      gx = (c + 2 * f + i) - (a + 2 * d + g);
      gy = (g + 2 * h + i) - (a + 2 * b + c);
    };
    if (well_inside(x, y, 1)) {
      const Sample* here = pointer_to(x, y);
      from([&](int i, int j) { return here[static_cast<std::ptrdiff_t>(j) * plate_.width + i]; });
    } else {
      from([&](int i, int j) { return at(x + i, y + j); });
    }
  }

  /// Outward unit normal of the ink at a pixel. False where there is no slope.
  bool normal(int x, int y, double& nx, double& ny) const {
    int gx = 0, gy = 0;
    slope(x, y, gx, gy);
    if (gx == 0 && gy == 0) return false;
    unit_normal(gx, gy, nx, ny);
    return true;
  }
  static void unit_normal(int gx, int gy, double& nx, double& ny) {
    const double sx = gx, sy = gy, length = std::sqrt(sx * sx + sy * sy);
    nx = -sx / length;
    ny = -sy / length;
  }

  /// Between a pixel of nothing and one of solid there is an edge half-way; where neighbouring lines show the
  /// same edge, on the straight line through their ends, so that the steps of a plate without anti-aliasing
  /// do not reach out.
  void sharp(int x, int y, int here, double dx, double dy) {
    const bool along_x = dx > 0, inward = none(here);  // inward: the ink lies towards larger x or y
    const int ix = inward && along_x ? x + 1 : x, iy = inward && !along_x ? y + 1 : y;
    for (const int lines : {2, 1}) {
      double position = 0, slope = 0;
      if (!fitted_end(ix, iy, along_x, inward ? -1 : 1, lines, position, slope)) continue;
      if (std::abs(slope) > 1) return;  // the other direction sees this edge better
      const double length = std::sqrt(1 + slope * slope), out = inward ? -1 : 1;
      const double across = out / length, along = -slope / length;
      if (along_x) {
        near_.enter({ix + out * position, static_cast<double>(iy), across, along, kHalfSegment});
      } else {
        near_.enter({static_cast<double>(ix), iy + out * position, along, across, kHalfSegment});
      }
      return;
    }
    double nx = 0, ny = 0;
    if (!normal(x, y, nx, ny)) {
      const double sign = solid(here) ? 1 : -1;
      nx = sign * 2 * dx;
      ny = sign * 2 * dy;
    }
    near_.enter({x + dx, y + dy, nx, ny, kHalfSegment});
  }

  /// The straight line through the ends of ink in 2 lines + 1 neighbouring rows (columns). position: where it
  /// passes the middle one, outward from the ink pixel (ix, iy), in pixels; slope: per row. False if a row is
  /// not clear.
  bool fitted_end(int ix, int iy, bool along_x, int step, int lines, double& position, double& slope) const {
    const int window = lines + 1;
    double sum = 0, moment = 0, weight = 0;
    for (int j = -lines; j <= lines; ++j) {
      const auto value = [&](int i) {
        return along_x ? at(ix + step * i, iy + j) : at(ix + j, iy + step * i);
      };
      if (!solid(value(-window)) || !none(value(window))) return false;
      double ink = 0;
      for (int i = 1 - window; i < window; ++i) ink += value(i);
      const double end = 0.5 - window + ink / max_;
      // Five points: half-way between a straight fit, which lies inside a curve, and the Savitzky-Golay
      // weights, which keep the curve's place but whose scatter reaches out where pieces overlap. Three are
      // taken as straight.
      sum += end * (lines == 2 ? (24 - 5 * j * j) / 70.0 : 1 / 3.0);
      moment += j * end;
      weight += j * j;
    }
    position = sum;
    slope = moment / weight;
    return true;
  }

  /// True if the contour turns sharply within two pixels.
  bool turns(int x, int y, double nx, double ny) const {
    for (const int side : {-2, 2}) {
      const int along_x = static_cast<int>(std::lround(-side * ny));
      const int along_y = static_cast<int>(std::lround(side * nx));
      double mx = 0, my = 0;
      if (normal(x + along_x, y + along_y, mx, my) && mx * nx + my * ny < kStraight) return true;
    }
    return false;
  }

  void fractional(int x, int y, int here) {
    int gx = 0, gy = 0;
    slope(x, y, gx, gy);
    if (gx != 0 || gy != 0) {
      const bool along_x = std::abs(gx) >= std::abs(gy);
      const int step = (along_x ? gx : gy) < 0 ? 1 : -1;  // towards nothing
      double ahead = 0;
      bool found = false;
      if (well_inside(x, y, kLongestRun + 1)) {
        const Sample* at_here = pointer_to(x, y);
        const std::ptrdiff_t stride = along_x ? step : static_cast<std::ptrdiff_t>(step) * plate_.width;
        found = edge_run([&](int i) -> int { return at_here[i * stride]; }, here, ahead);
      } else {
        found = edge_run([&](int i) { return along_x ? at(x + step * i, y) : at(x, y + step * i); }, here,
                         ahead);
      }
      if (found) return edge(x, y, gx, gy, along_x, step * ahead);
    }
    thin(x, y);
  }

  /// The way from solid over a pixel to nothing, value(i) being what lies i pixels on. ahead: from the pixel's
  /// centre to the place that keeps the area of that run. False if it is none.
  template <class Value>
  bool edge_run(const Value& value, int here, double& ahead) const {
    int run = here;  // coverage of the fractional pixels, in code values
    int out_steps = 1, previous = here;
    for (;; ++out_steps) {
      const int v = value(out_steps);
      if (none(v)) break;
      if (out_steps > kLongestRun || v > previous) return false;
      run += previous = v;
    }
    int in_steps = 1;
    previous = here;
    for (;; ++in_steps) {
      const int v = value(-in_steps);
      if (solid(v)) break;
      if (in_steps > kLongestRun || v < previous) return false;
      run += previous = v;
    }
    // The solid ends in_steps - 0.5 behind this pixel's centre; the run's area reaches out from there.
    ahead = static_cast<double>(run) / max_ - (in_steps - 0.5);
    return true;
  }

  void edge(int x, int y, int gx, int gy, bool along_x, double ahead) {
    ContourPiece piece{static_cast<double>(x), static_cast<double>(y), 0, 0, kHalfSegment};
    unit_normal(gx, gy, piece.nx, piece.ny);
    (along_x ? piece.x : piece.y) += ahead;
    if (even_ && std::abs(ahead) > 0.5) {
      // The normal is best where the contour passes: from here the piece is entered into this pixel alone.
      piece.half = 0;
      near_.enter_into(piece, x, y);
    } else {
      // Half-way to the pieces of the next rows (columns): longer ones would stand out of a curve.
      if (even_)
        piece.half = turns(x, y, piece.nx, piece.ny) ? kCornerHalf
                                                     : 0.5 / std::max(std::abs(piece.nx), std::abs(piece.ny));
      near_.enter(piece);
    }
    near_.own(piece, x, y);
    mark(x, y);
  }

  /// A line or gap across which every pixel is fractional, as one of its pixels sees it.
  struct Run {
    int x, y;         ///< that pixel
    int first, last;  ///< the run's ends, counted from that pixel
    bool along_x;     ///< the run crosses the line in this direction
    bool gap;         ///< solid on both sides
    double from, to;  ///< the moved line or gap along the run; 0 = that pixel's near border, 1 = its far one
    double held;  ///< share of it that the stencil holds; a faint line breaks up and goes, a faint gap fills
  };

  /// True if no more than kLongestThin fractional pixels lie in this row or column around here.
  bool short_run(int x, int y, bool along_x) const {
    int length = 1;
    for (const int step : {-1, 1}) {
      for (int i = step;; i += step) {
        const int v = along_x ? at(x + i, y) : at(x, y + i);
        if (none(v) || solid(v)) break;
        if (++length > kLongestThin) return false;
      }
    }
    return true;
  }

  void thin(int x, int y) {
    if (!short_run(x, y, true) && !short_run(x, y, false)) return;
    // The direction across: the main axis of the slopes around.
    std::int64_t sum_xx = 0, sum_yy = 0, sum_xy = 0;
    const auto add = [&](const auto& value_at) {
      for (int j = -2; j <= 2; ++j) {
        for (int i = -2; i <= 2; ++i) {
          const std::int64_t gx = value_at(i + 1, j) - value_at(i - 1, j);
          const std::int64_t gy = value_at(i, j + 1) - value_at(i, j - 1);
          sum_xx += gx * gx;
          sum_yy += gy * gy;
          sum_xy += gx * gy;
        }
      }
    };
    if (well_inside(x, y, 3)) {
      const Sample* here = pointer_to(x, y);
      add([&](int i, int j) { return here[static_cast<std::ptrdiff_t>(j) * plate_.width + i]; });
    } else {
      add([&](int i, int j) { return at(x + i, y + j); });
    }
    const auto xx = static_cast<double>(sum_xx), yy = static_cast<double>(sum_yy),
               xy = static_cast<double>(sum_xy);
    const bool along_x = xx >= yy;
    const auto value = [&](int s) { return along_x ? at(x + s, y) : at(x, y + s); };
    int first = 0, last = 0;
    while (!none(value(first - 1)) && !solid(value(first - 1))) {
      if (--first < -kLongestThin) return;
    }
    while (!none(value(last + 1)) && !solid(value(last + 1))) {
      if (++last > kLongestThin) return;
    }
    const int length = last - first + 1;
    const bool gap = solid(value(first - 1));
    if (length > kLongestThin || gap != solid(value(last + 1))) return;
    double area = 0, moment = 0, peak = 0;
    for (int s = first; s <= last; ++s) {
      const double ink = static_cast<double>(value(s)) / max_, part = gap ? 1 - ink : ink;
      area += part;
      moment += part * (s + 0.5);
      peak = std::max(peak, part);
    }
    // A line this wide would fill some pixel at least so far; a flatter run is a narrow tint.
    if (peak < kLeastPeak * std::min(area, 1.0)) return;
    // Share of the normal that lies along the run, from the tensor's main axis.
    const double turn = 0.5 * std::atan2(2 * xy, xx - yy);
    const double along = std::max(std::abs(along_x ? std::cos(turn) : std::sin(turn)), 0.5);
    const double half = std::max(0.0, 0.5 * area + (gap ? -spread_ : spread_) / along);
    const double held = std::clamp((area * along - kThinLost) / (kThinHeld - kThinLost), 0.0, 1.0);
    thin_.push_back({x, y, first, last, along_x, gap, moment / area - half, moment / area + half, held});
    mark(x, y);
  }

  void mark(int x, int y) {
    if (in_box(x, y)) out_.tint[static_cast<std::size_t>(y - out_.y0) * out_.width + (x - out_.x0)] = 0;
  }

  /// Share of the pixel `s` steps along the run that the moved line or gap takes.
  static double part(const Run& run, int s) {
    return run.held * std::max(0.0, std::min(s + 1.0, run.to) - std::max(static_cast<double>(s), run.from));
  }

  void enter_own(const Run& run) {
    if (!in_box(run.x, run.y)) return;
    const double taken = part(run, 0);
    row(run.y)[run.x - out_.x0] = static_cast<float>(run.gap ? taken - 0.5 : 0.5 - taken);
  }

  /// What the moved line takes of the pixels beside its run (a grown gap: what it leaves of them).
  void enter_beside(const Run& run) {
    const int begin = static_cast<int>(std::floor(run.from)), end = static_cast<int>(std::ceil(run.to));
    for (int s = begin; s < end; ++s) {
      if (s >= run.first && s <= run.last) continue;
      const int x = run.along_x ? run.x + s : run.x, y = run.along_x ? run.y : run.y + s;
      if (!in_box(x, y) || y < 0 || y >= plate_.height) continue;
      float& d = row(y)[x - out_.x0];
      const auto moved = static_cast<float>(part(run, s) - 0.5);
      d = run.gap ? std::max(d, moved) : std::min(d, -moved);
    }
  }

  const PlateImage& plate_;
  const Sample* samples_;
  DistanceRows& out_;
  NearestPieces near_;
  const double spread_;
  const bool even_;
  const int max_, lo_, hi_;
  std::vector<Run> thin_;
};

}  // namespace

int contour_halo(double spread, double reach) {
  return static_cast<int>(std::ceil(reach) + std::ceil(0.5 * std::abs(spread))) + kLongestThin + 4;
}

DistanceRows contour_distance(const PlateImage& plate, const PixelBox& box, double spread, double reach,
                              ContourPieces pieces) {
  KIRTLE_CHECK(reach, >=, 2.0);
  KIRTLE_CHECK(reach, <=, 64.0);
  KIRTLE_CHECK(std::abs(spread), <=, reach - 2);
  KIRTLE_CHECK(box.x0, >=, 0);
  KIRTLE_CHECK(box.x0 + box.width, <=, plate.width);
  DistanceRows out{box.width, box.y0, box.rows, reach, {}, {}, box.x0};
  const std::size_t n = static_cast<std::size_t>(box.rows) * static_cast<std::size_t>(box.width);
  out.distance.resize(n);
  out.tint.resize(n);
  if (plate.bits == 8) {
    Finder<std::uint8_t>(plate, plate.ink8.data(), spread, pieces, out).run();
  } else {
    Finder<std::uint16_t>(plate, plate.ink16.data(), spread, pieces, out).run();
  }
  return out;
}

DistanceRows contour_distance(const PlateImage& plate, int y0, int rows, double spread, double reach,
                              ContourPieces pieces) {
  return contour_distance(plate, {0, y0, plate.width, rows}, spread, reach, pieces);
}

}  // namespace kirtle
