#include "plate/contour.h"

#include "base/check.h"
#include "plate/clear_bits.h"
#include "plate/nearest_piece.h"
#include "plate/thin_runs.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace kirtle {

using detail::ClearBits;
using detail::ContourPiece;
using detail::NearestPieces;
using detail::PlateSamples;
using detail::thin_run;
using detail::ThinRun;

struct ContourScratch::Buffers {
  NearestPieces near;
  detail::ClearRows clear;
  std::vector<ThinRun> thin;
};
ContourScratch::ContourScratch() : buffers_(std::make_unique<Buffers>()) {}
ContourScratch::~ContourScratch() = default;
ContourScratch::ContourScratch(ContourScratch&&) noexcept = default;

namespace {

constexpr int kLongestRun = 3;  // fractional pixels of an edge on either side of the one looked at
static_assert(detail::kLongestAcross == std::max(2 * kLongestRun + 1, detail::kLongestThin));
constexpr double kHalfSegment = 0.75;  // an edge pixel stands for this much contour on either side
// The same of even pieces where the contour turns, within two pixels, by more than an angle of this cosine.
// Chosen by trial, so that discs and rectangles that grow gain and lose no area.
constexpr double kCornerHalf = 0.9, kStraight = 0.6;

template <class Sample>
class Finder {
 public:
  Finder(const PlateSamples<Sample>& plate, double spread, ContourPieces pieces,
         ContourScratch::Buffers& buffers, DistanceFill fill, DistanceRows& out)
      : plate_(plate),
        out_(out),
        near_(buffers.near),
        clear_(buffers.clear),
        thin_(buffers.thin),
        spread_(spread),
        even_(pieces == ContourPieces::even),
        near_only_(fill == DistanceFill::near) {}

  void run() {
    near_.start({out_.x0, out_.y0, out_.width, out_.rows}, out_.reach, 0, plate_.height());
    thin_.clear();
    // What reaches into these rows: edges by the reach, thin runs by their own length and the spread.
    const int halo = contour_halo(spread_, out_.reach);
    // A box may lie wholly beyond the plate: then there are no rows to look at.
    const int from = std::clamp(out_.y0 - halo, 0, plate_.height());
    const int to = std::clamp(out_.y0 + out_.rows + halo, from, plate_.height());
    // Whole groups of sixteen columns, which are looked at together.
    constexpr int kGroup = 16;
    const int left = std::max(0, out_.x0 - halo) / kGroup * kGroup;
    const int right = std::min(plate_.width(), (out_.x0 + out_.width + halo + kGroup - 1) / kGroup * kGroup);
    const ClearBits<Sample> bits(plate_, {left, from, right - left, to - from}, clear_);
    for (int y = from; y < to; ++y) find_in_row(y, left, bits);
    // A pixel of a thin run is cut as if by a contour, so that those next to it are asked for their distance.
    for (const ThinRun& run : thin_) touch_around(run);
    for (int y = out_.y0; y < out_.y0 + out_.rows; ++y) put_row(y);
    out_.near.swap(near_.near());
    put_own_distances();
    // Thin runs last, since theirs are distances to the moved contour already.
    for (const ThinRun& run : thin_) enter_own(run);
    for (const ThinRun& run : thin_) enter_beside(run);
  }

 private:
  bool on_plate(int y) const { return y >= 0 && y < plate_.height(); }
  bool in_box(int x, int y) const {
    return y >= out_.y0 && y < out_.y0 + out_.rows && x >= out_.x0 && x < out_.x0 + out_.width;
  }
  std::size_t place(int x, int y) const {
    return static_cast<std::size_t>(y - out_.y0) * static_cast<std::size_t>(out_.width) +
           static_cast<std::size_t>(x - out_.x0);
  }
  /// All pixels that enter_own() and enter_beside() change, and those around them, are near something.
  void touch_around(const ThinRun& run) {
    const int begin = std::min(0, static_cast<int>(std::floor(run.from))) - 1,
              end = std::max(1, static_cast<int>(std::ceil(run.to))) + 1;
    for (int across = -1; across <= 1; ++across) {
      if (run.along_x) {
        near_.touch(run.x + begin, run.x + end - 1, run.y + across);
      } else {
        for (int s = begin; s < end; ++s) near_.touch(run.x - 1, run.x + 1, run.y + s);
        return;
      }
    }
  }

  void put_row(int y) {
    float* d = out_.distance.data() + place(out_.x0, y);
    std::uint8_t* t = out_.tint.data() + place(out_.x0, y);
    // Held here, since a store of bytes may be to anything, for all that a compiler knows.
    const int width = out_.width;
    const auto reach = static_cast<float>(out_.reach), spread = static_cast<float>(spread_);
    if (!on_plate(y)) {
      std::fill_n(d, width, reach);
      std::fill_n(t, width, std::uint8_t{0});
      return;
    }
    const Sample* v = plate_.pointer_to(out_.x0, y);
    const auto lo = static_cast<Sample>(plate_.highest_none()),
               hi = static_cast<Sample>(plate_.least_solid());
    const auto put_far = [&](int begin, int end) {
      for (int x = begin; x < end; ++x) t[x] = v[x] > lo && v[x] < hi;
      for (int x = begin; x < end; ++x) d[x] = v[x] >= hi ? -reach : reach;
    };
    if (!near_only_) put_far(0, width);
    const float* squared = near_.row(y);
    const std::size_t blocks = near_blocks(out_.x0, width);
    const std::uint8_t* near = near_.near().data() + static_cast<std::size_t>(y - out_.y0) * blocks;
    const auto half = static_cast<Sample>((plate_.max() + 1) / 2);
    for (std::size_t block = 0; block < blocks; ++block) {
      if (near[block] == 0) continue;
      const auto [begin, end] = near_columns(out_.x0, width, block);
      if (near_only_) put_far(begin, end);
      for (int x = begin; x < end; ++x) {
        const float far = std::sqrt(squared[x]);
        const float moved = (v[x] >= half ? -far : far) - spread;
        d[x] = far < reach ? moved : d[x];
      }
    }
  }

  /// A pixel whose own piece is the nearest knows better which side it is on than its value does.
  void put_own_distances() {
    const auto reach = static_cast<float>(out_.reach), spread = static_cast<float>(spread_);
    near_.for_each_own([&](const NearestPieces::Own& own, bool nearest) {
      out_.tint[own.at] = 0;
      const float far = std::sqrt(own.squared);
      if (nearest && far < reach) out_.distance[own.at] = (own.inside ? -far : far) - spread;
    });
  }

  void find_in_row(int y, int left, const ClearBits<Sample>& bits) {
    for (std::size_t word = 0; word < bits.words(); ++word) {
      const auto at_word = bits.look(y, word);
      for (std::uint64_t rest = at_word.any(); rest != 0; rest &= rest - 1) {
        const int bit = std::countr_zero(rest);
        const int x = left + static_cast<int>(word) * 64 + bit;
        const int here = *plate_.pointer_to(x, y);
        if (at_word.fractional >> bit & 1u) fractional(x, y, here);
        if (at_word.sharp_right >> bit & 1u) sharp(x, y, here, 0.5, 0);
        if (at_word.sharp_below >> bit & 1u) sharp(x, y, here, 0, 0.5);
      }
    }
  }

  /// Between a pixel of nothing and one of solid there is an edge half-way; where neighbouring lines show the
  /// same edge, on the straight line through their ends, so that the steps of a plate without anti-aliasing
  /// do not reach out.
  void sharp(int x, int y, int here, double dx, double dy) {
    const bool along_x = dx > 0, inward = plate_.none(here);  // inward: the ink lies towards larger x or y
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
    if (!plate_.normal(x, y, nx, ny)) {
      const double sign = plate_.solid(here) ? 1 : -1;
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
        return along_x ? plate_.at(ix + step * i, iy + j) : plate_.at(ix + j, iy + step * i);
      };
      if (!plate_.solid(value(-window)) || !plate_.none(value(window))) return false;
      double ink = 0;
      for (int i = 1 - window; i < window; ++i) ink += value(i);
      const double end = 0.5 - window + ink / plate_.max();
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
      if (plate_.normal(x + along_x, y + along_y, mx, my) && mx * nx + my * ny < kStraight) return true;
    }
    return false;
  }

  void fractional(int x, int y, int here) {
    int gx = 0, gy = 0;
    plate_.slope(x, y, gx, gy);
    if (gx != 0 || gy != 0) {
      const bool along_x = std::abs(gx) >= std::abs(gy);
      const int step = (along_x ? gx : gy) < 0 ? 1 : -1;  // towards nothing
      double ahead = 0;
      bool found = false;
      if (plate_.well_inside(x, y, kLongestRun + 1)) {
        const Sample* at_here = plate_.pointer_to(x, y);
        const std::ptrdiff_t stride = along_x ? step : static_cast<std::ptrdiff_t>(step) * plate_.width();
        found = edge_run([&](int i) -> int { return at_here[i * stride]; }, here, ahead);
      } else {
        found =
            edge_run([&](int i) { return along_x ? plate_.at(x + step * i, y) : plate_.at(x, y + step * i); },
                     here, ahead);
      }
      if (found) return edge(x, y, gx, gy, along_x, step * ahead);
    }
    if (const std::optional<ThinRun> run = thin_run(plate_, x, y, spread_)) thin_.push_back(*run);
  }

  /// The way from solid over a pixel to nothing, value(i) being what lies i pixels on. ahead: from the
  /// pixel's centre to the place that keeps the area of that run. False if it is none.
  template <class Value>
  bool edge_run(const Value& value, int here, double& ahead) const {
    int run = here;  // coverage of the fractional pixels, in code values
    int out_steps = 1, previous = here;
    for (;; ++out_steps) {
      const int v = value(out_steps);
      if (plate_.none(v)) break;
      if (out_steps > kLongestRun || v > previous) return false;
      run += previous = v;
    }
    int in_steps = 1;
    previous = here;
    for (;; ++in_steps) {
      const int v = value(-in_steps);
      if (plate_.solid(v)) break;
      if (in_steps > kLongestRun || v < previous) return false;
      run += previous = v;
    }
    // The solid ends in_steps - 0.5 behind this pixel's centre; the run's area reaches out from there.
    ahead = static_cast<double>(run) / plate_.max() - (in_steps - 0.5);
    return true;
  }

  void edge(int x, int y, int gx, int gy, bool along_x, double ahead) {
    ContourPiece piece{static_cast<double>(x), static_cast<double>(y), 0, 0, kHalfSegment};
    plate_.unit_normal(gx, gy, piece.nx, piece.ny);
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
  }

  void enter_own(const ThinRun& run) {
    if (!in_box(run.x, run.y)) return;
    out_.tint[place(run.x, run.y)] = 0;
    const double taken = run.part(0);
    out_.distance[place(run.x, run.y)] = static_cast<float>(run.gap ? taken - 0.5 : 0.5 - taken);
  }

  /// What the moved line takes of the pixels beside its run (a grown gap: what it leaves of them).
  void enter_beside(const ThinRun& run) {
    const int begin = static_cast<int>(std::floor(run.from)), end = static_cast<int>(std::ceil(run.to));
    for (int s = begin; s < end; ++s) {
      if (s >= run.first && s <= run.last) continue;
      const int x = run.along_x ? run.x + s : run.x, y = run.along_x ? run.y : run.y + s;
      if (!in_box(x, y) || !on_plate(y)) continue;
      float& d = out_.distance[place(x, y)];
      const auto moved = static_cast<float>(run.part(s) - 0.5);
      d = run.gap ? std::max(d, moved) : std::min(d, -moved);
    }
  }

  const PlateSamples<Sample> plate_;
  DistanceRows& out_;
  NearestPieces& near_;
  detail::ClearRows& clear_;
  std::vector<ThinRun>& thin_;
  const double spread_;
  const bool even_, near_only_;
};

}  // namespace

int contour_halo(double spread, double reach) {
  return static_cast<int>(std::ceil(reach) + std::ceil(0.5 * std::abs(spread))) + detail::kLongestThin + 4;
}

void contour_distance(const PlateImage& plate, const PixelBox& box, double spread, double reach,
                      ContourPieces pieces, ContourScratch& scratch, DistanceRows& out, DistanceFill fill) {
  KIRTLE_CHECK(reach, >=, 2.0);
  KIRTLE_CHECK(reach, <=, 64.0);
  KIRTLE_CHECK(std::abs(spread), <=, reach - 2);
  KIRTLE_CHECK(box.x0, >=, 0);
  KIRTLE_CHECK(box.x0 + box.width, <=, plate.width);
  out.width = box.width;
  out.rows = box.rows;
  out.x0 = box.x0;
  out.y0 = box.y0;
  out.reach = reach;
  const std::size_t n = static_cast<std::size_t>(box.rows) * static_cast<std::size_t>(box.width);
  out.distance.resize(n);
  out.tint.resize(n);
  if (plate.bits == 8) {
    Finder(PlateSamples(plate, plate.ink8.data()), spread, pieces, scratch.buffers(), fill, out).run();
  } else {
    Finder(PlateSamples(plate, plate.ink16.data()), spread, pieces, scratch.buffers(), fill, out).run();
  }
}

DistanceRows contour_distance(const PlateImage& plate, const PixelBox& box, double spread, double reach,
                              ContourPieces pieces) {
  ContourScratch scratch;
  DistanceRows out;
  contour_distance(plate, box, spread, reach, pieces, scratch, out);
  return out;
}

DistanceRows contour_distance(const PlateImage& plate, int y0, int rows, double spread, double reach,
                              ContourPieces pieces) {
  return contour_distance(plate, {0, y0, plate.width, rows}, spread, reach, pieces);
}

}  // namespace kirtle
