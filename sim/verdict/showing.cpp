#include "verdict/showing.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <unordered_map>

namespace kirtle {

namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr int kBatch = 64;  // shirts between two words of progress

/// Affine map of one plate: where a point of the print moves to, less where it was.
struct Shift {
  double dx = 0, dy = 0, xx = 0, xy = 0, yx = 0, yy = 0;
  double x(double px, double py) const { return dx + xx * px + xy * py; }
  double y(double px, double py) const { return dy + yx * px + yy * py; }
};

Shift shift_of(const RegisterOffset& offset, double width_mm, double height_mm) {
  const Moved origin = moved_by(offset, 0, 0, width_mm, height_mm),
              right = moved_by(offset, 1, 0, width_mm, height_mm),
              down = moved_by(offset, 0, 1, width_mm, height_mm);
  return {origin.dx_mm,
          origin.dy_mm,
          right.dx_mm - origin.dx_mm,
          down.dx_mm - origin.dx_mm,
          right.dy_mm - origin.dy_mm,
          down.dy_mm - origin.dy_mm};
}

}  // namespace

/// All plates of one shirt.
struct Showing::Shifts {
  std::vector<Shift> plates;

  /// How far plate p moves along (nx, ny) at the pair.
  double along(int p, const EdgePair& e, double nx, double ny) const {
    const Shift& s = plates[static_cast<std::size_t>(p)];
    const auto x = static_cast<double>(e.x_mm), y = static_cast<double>(e.y_mm);
    return s.x(x, y) * nx + s.y(x, y) * ny;
  }
};

Mm minute_of_arc(Mm distance) { return {distance.v * std::tan(std::numbers::pi / 180 / 60)}; }

Mm visible_width(double de00, const VisibleRule& rule) {
  KIRTLE_CHECK(rule.distance.v, >, 0.0);
  KIRTLE_CHECK(rule.threshold, >, 0.0);
  if (!(de00 > rule.threshold)) return {kNever};
  return {rule.threshold / de00 * minute_of_arc(rule.distance).v};
}

ShirtShare wilson_share(int shirts, int of, double z) {
  KIRTLE_CHECK(shirts, >=, 0);
  KIRTLE_CHECK(shirts, <=, of);
  if (of == 0) return {0, 0, 0, 0, 1};
  const double n = of, p = shirts / n, z2 = z * z;
  const double centre = (p + z2 / (2 * n)) / (1 + z2 / n);
  const double half = z / (1 + z2 / n) * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n));
  // The ends are exact at none and at all; rounding must not move them.
  return {shirts, of, p, shirts == 0 ? 0 : std::max(0.0, centre - half),
          shirts == of ? 1 : std::min(1.0, centre + half)};
}

Showing::Showing(std::vector<EdgePair> pairs, const std::function<double(const EdgePair&)>& de00,
                 double width_mm, double height_mm, const ShowingSettings& settings)
    : pairs_(std::move(pairs)), width_mm_(width_mm), height_mm_(height_mm), settings_(settings) {
  KIRTLE_CHECK(width_mm, >, 0.0);
  KIRTLE_CHECK(height_mm, >, 0.0);
  KIRTLE_CHECK(settings.map_cell.v, >, 0.0);
  KIRTLE_CHECK(settings.gap.v, >=, 0.0);
  KIRTLE_CHECK(settings.least_length.v, >=, 0.0);
  KIRTLE_CHECK(settings.place.v, >, 0.0);
  // By rising overlap, so that a shirt's search ends where its largest shift does.
  std::stable_sort(pairs_.begin(), pairs_.end(),
                   [](const EdgePair& a, const EdgePair& b) { return a.t_mm < b.t_mm; });
  for (const EdgePair& pair : pairs_) {
    visible_mm_.push_back(static_cast<float>(visible_width(de00(pair), settings.visible).v));
    plates_ = std::max({plates_, pair.plate_a + 1, pair.plate_b + 1});
    for (const EdgeBound& bound : pair.also) plates_ = std::max(plates_, bound.plate + 1);
  }
  columns_ = std::max(1, static_cast<int>(std::ceil(width_mm / settings.map_cell.v)));
  rows_ = std::max(1, static_cast<int>(std::ceil(height_mm / settings.map_cell.v)));
}

namespace {

/// A gap bounded by two edges: as the offsets grow by a factor f its width is f * moved - overlap.
struct Opening {
  double moved = 0, overlap = 0;
};

/// The factor at which so much contour is open: keeps the stretches that open first, as few as reach the
/// length.
class Reached {
 public:
  explicit Reached(double length) : needed_(length) {}

  double factor() const { return length_ >= needed_ && !first_.empty() ? first_.front().first : kNever; }
  void add(double factor, double length) {
    if (!(factor < this->factor())) return;
    first_.emplace_back(factor, length);
    std::push_heap(first_.begin(), first_.end());
    length_ += length;
    while (first_.size() > 1 && length_ - first_.front().second >= needed_) {
      length_ -= first_.front().second;
      std::pop_heap(first_.begin(), first_.end());
      first_.pop_back();
    }
  }

 private:
  double needed_, length_ = 0;
  std::vector<std::pair<double, double>> first_;  ///< factor and length, the last to open in front
};

/// The same for every square of the print: the smallest factor at which any of them is reached.
class Places {
 public:
  Places(double length, double side) : length_(length), side_(side) {}

  std::uint64_t key_of(const EdgePair& e) const {
    const auto at = [this](float mm) {
      return static_cast<std::uint64_t>(std::max(0.0, static_cast<double>(mm) / side_));
    };
    return at(e.y_mm) << 32 | at(e.x_mm);
  }
  double factor() const { return factor_; }
  void add(double factor, const EdgePair& e) {
    if (!(factor < factor_)) return;
    Reached& here = reached_.try_emplace(key_of(e), length_).first->second;
    here.add(factor, static_cast<double>(e.length_mm));
    factor_ = std::min(factor_, here.factor());
  }

 private:
  double length_, side_, factor_ = kNever;
  std::unordered_map<std::uint64_t, Reached> reached_;
};

/// All openings of a pair at one side of its corner: the gap is as wide as the least of them.
struct Openings {
  Opening list[12];
  int count = 0;
  void add(double moved, double overlap) { list[count++] = {moved, overlap}; }
};

bool is_corner(const EdgePair& e) { return e.s1x != e.nx || e.s1y != e.ny || e.s2x != e.nx || e.s2y != e.ny; }

template <class Shifts>
Openings openings_of(const Shifts& shifts, const EdgePair& e, int side) {
  Openings out;
  const auto nx = static_cast<double>(e.nx), ny = static_cast<double>(e.ny), t = static_cast<double>(e.t_mm);
  const auto seen_along = [&](double x, double y) {
    out.add(shifts.along(e.plate_b, e, x, y) - shifts.along(e.plate_a, e, x, y), t * (nx * x + ny * y));
  };
  const double a = shifts.along(e.plate_a, e, nx, ny), b = shifts.along(e.plate_b, e, nx, ny);
  out.add(b - a, t);
  if (e.bx != e.nx || e.by != e.ny) seen_along(static_cast<double>(e.bx), static_cast<double>(e.by));
  if (is_corner(e)) {
    seen_along(static_cast<double>(side ? e.s2x : e.s1x), static_cast<double>(side ? e.s2y : e.s1y));
  }
  if (e.also[0].plate < 0) return out;
  double inner[3] = {a, 0, 0}, inner_depth[3] = {0, 0, 0}, outer[3] = {b, 0, 0}, outer_depth[3] = {t, 0, 0};
  int inners = 1, outers = 1;
  for (const EdgeBound& bound : e.also) {
    if (bound.plate < 0) break;
    const double moved = shifts.along(bound.plate, e, nx, ny), depth = static_cast<double>(bound.depth_mm);
    if (bound.outer) {
      outer[outers] = moved;
      outer_depth[outers++] = depth;
    } else {
      inner[inners] = moved;
      inner_depth[inners++] = depth;
    }
  }
  for (int i = 0; i < inners; ++i) {
    for (int o = 0; o < outers; ++o) {
      if (i + o > 0) out.add(outer[o] - inner[i], outer_depth[o] - inner_depth[i]);
    }
  }
  return out;
}

double width_of(const Openings& openings, double widest) {
  double width = widest;
  for (int i = 0; i < openings.count; ++i) {
    width = std::min(width, openings.list[i].moved - openings.list[i].overlap);
  }
  return std::max(width, 0.0);
}

/// Factor above which the gap is wider than `width`.
double factor_for(const Openings& openings, double width, double widest) {
  if (!(width < widest)) return kNever;
  double from = 0, until = kNever;
  for (int i = 0; i < openings.count; ++i) {
    const double moved = openings.list[i].moved, need = width + openings.list[i].overlap;
    if (moved > 0) {
      from = std::max(from, need / moved);
    } else if (need >= 0) {
      return kNever;
    } else if (moved < 0) {
      until = std::min(until, need / moved);
    }
  }
  return from < until ? from : kNever;
}

}  // namespace

double Showing::gap_at(const EdgePair& pair, std::span<const RegisterOffset> offsets) const {
  Shifts shifts;
  for (const RegisterOffset& o : offsets) shifts.plates.push_back(shift_of(o, width_mm_, height_mm_));
  const auto widest = static_cast<double>(pair.widest_mm);
  const double width = width_of(openings_of(shifts, pair, 0), widest);
  return is_corner(pair) ? std::max(width, width_of(openings_of(shifts, pair, 1), widest)) : width;
}

ShirtShowing Showing::look(std::span<const RegisterOffset> offsets, std::vector<std::uint32_t>* cells) const {
  KIRTLE_CHECK(offsets.size(), >=, static_cast<std::size_t>(plates_));
  Shifts shifts;
  for (const RegisterOffset& o : offsets) shifts.plates.push_back(shift_of(o, width_mm_, height_mm_));
  // No pair of plates moves apart by more than this anywhere: an affine map is at its largest in a corner.
  double most = 0;
  for (std::size_t i = 0; i < shifts.plates.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      for (int corner = 0; corner < 4; ++corner) {
        const double x = corner % 2 ? width_mm_ : 0, y = corner / 2 ? height_mm_ : 0;
        const Shift &p = shifts.plates[i], &q = shifts.plates[j];
        most = std::max(most, std::hypot(p.x(x, y) - q.x(x, y), p.y(x, y) - q.y(x, y)));
      }
    }
  }
  most *= 1 + 1e-5;  // normals are floats
  ShirtShowing out;
  double widest = 0, length = 0, area = 0, gap_from = kNever;
  Places seen(settings_.least_length.v, settings_.place.v);
  std::unordered_map<std::uint64_t, double> seen_length;
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    const EdgePair& e = pairs_[i];
    const auto t = static_cast<double>(e.t_mm);
    // Beyond here nothing opens at the run's offsets, nor at a smaller factor than is known already.
    if (t > most * std::max({1.0, gap_from, seen.factor()})) break;
    const auto cap = static_cast<double>(e.widest_mm), visible = static_cast<double>(visible_mm_[i]);
    double width = 0, visible_from = kNever;
    for (int side = 0; side < (is_corner(e) ? 2 : 1); ++side) {
      const Openings openings = openings_of(shifts, e, side);
      gap_from = std::min(gap_from, factor_for(openings, settings_.gap.v, cap));
      visible_from = std::min(visible_from, factor_for(openings, visible, cap));
      width = std::max(width, width_of(openings, cap));
    }
    if (visible_from < kNever) seen.add(visible_from, e);
    if (width > widest) {
      widest = width;
      out.x_mm = e.x_mm;
      out.y_mm = e.y_mm;
      out.widest_pair = static_cast<std::int32_t>(i);
    }
    if (width > settings_.gap.v) out.gap = true;
    if (!(width > visible)) continue;
    length += static_cast<double>(e.length_mm);
    double& here = seen_length[seen.key_of(e)];
    here += static_cast<double>(e.length_mm);
    out.visible = out.visible || here >= settings_.least_length.v;
    area += static_cast<double>(e.length_mm) * width;
    if (cells) {
      const int column =
          std::min(static_cast<int>(static_cast<double>(e.x_mm) / settings_.map_cell.v), columns_ - 1);
      const int row =
          std::min(static_cast<int>(static_cast<double>(e.y_mm) / settings_.map_cell.v), rows_ - 1);
      cells->push_back(static_cast<std::uint32_t>(row * columns_ + column));
    }
  }
  if (cells && !out.visible) cells->clear();
  out.widest_mm = static_cast<float>(widest);
  out.length_mm = static_cast<float>(length);
  out.area_mm2 = static_cast<float>(area);
  out.gap_from = static_cast<float>(gap_from);
  out.visible_from = static_cast<float>(seen.factor());
  return out;
}

ShirtShowing Showing::shirt(std::span<const RegisterOffset> offsets) const { return look(offsets, nullptr); }

RunShowing Showing::run(int shirts, const std::function<std::vector<RegisterOffset>(int)>& offsets_of,
                        unsigned threads, const Progress& progress) const {
  KIRTLE_CHECK(shirts, >=, 0);
  if (threads == 0) threads = default_threads();
  RunShowing out;
  out.map = {
      columns_, rows_, settings_.map_cell.v,
      std::vector<std::uint32_t>(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_))};
  // Whole numbers, one map a thread: the order of adding does not matter.
  std::vector<std::vector<std::uint32_t>> maps(threads, std::vector<std::uint32_t>(out.map.shirts.size()));
  std::vector<std::vector<std::uint32_t>> cells(threads);
  out.shirts.resize(static_cast<std::size_t>(shirts));
  int done = 0;
  while (done < shirts && !out.cancelled) {
    const int count = std::min(kBatch, shirts - done);
    parallel_for(static_cast<std::size_t>(count), threads, [&](std::size_t item, unsigned worker) {
      const int number = done + static_cast<int>(item);
      cells[worker].clear();
      out.shirts[static_cast<std::size_t>(number)] = look(offsets_of(number), &cells[worker]);
      std::sort(cells[worker].begin(), cells[worker].end());
      const auto end = std::unique(cells[worker].begin(), cells[worker].end());
      for (auto cell = cells[worker].begin(); cell != end; ++cell) ++maps[worker][*cell];
    });
    done += count;
    out.cancelled = progress && !progress(static_cast<double>(done) / shirts) && done < shirts;
  }
  out.shirts.resize(static_cast<std::size_t>(done));
  for (const std::vector<std::uint32_t>& map : maps) {
    for (std::size_t i = 0; i < map.size(); ++i) out.map.shirts[i] += map[i];
  }
  const auto counted = [&](bool ShirtShowing::*what) {
    const auto n = std::count_if(out.shirts.begin(), out.shirts.end(),
                                 [what](const ShirtShowing& s) { return s.*what; });
    return wilson_share(static_cast<int>(n), done);
  };
  out.gap = counted(&ShirtShowing::gap);
  out.visible = counted(&ShirtShowing::visible);
  if (done > 0) {
    std::vector<int> order(static_cast<std::size_t>(done));
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](int x, int y) {
      const ShirtShowing &p = out.shirts[static_cast<std::size_t>(x)],
                         &q = out.shirts[static_cast<std::size_t>(y)];
      if (p.visible != q.visible) return q.visible;
      return p.area_mm2 != q.area_mm2 ? p.area_mm2 < q.area_mm2 : p.widest_mm < q.widest_mm;
    });
    out.typical = order[order.size() / 2];
    out.worst = order.back();
  }
  return out;
}

TolerancePoint RunShowing::at_factor(double factor) const {
  const auto counted = [&](float ShirtShowing::*from) {
    const auto n = std::count_if(shirts.begin(), shirts.end(), [&](const ShirtShowing& s) {
      return static_cast<double>(s.*from) < factor;
    });
    return wilson_share(static_cast<int>(n), static_cast<int>(shirts.size()));
  };
  return {factor, counted(&ShirtShowing::gap_from), counted(&ShirtShowing::visible_from)};
}

double RunShowing::stands_factor(double share) const {
  KIRTLE_CHECK(share, >, 0.0);
  KIRTLE_CHECK(share, <=, 1.0);
  if (shirts.empty()) return kNever;
  std::vector<double> from;
  for (const ShirtShowing& s : shirts) from.push_back(static_cast<double>(s.visible_from));
  // At a factor, the shirts whose own is under it show. The next one would make it `share` or more.
  const auto rank = static_cast<std::size_t>(std::ceil(share * static_cast<double>(from.size()) - 1e-9)) - 1;
  std::nth_element(from.begin(), from.begin() + static_cast<std::ptrdiff_t>(rank), from.end());
  return from[rank];
}

}  // namespace kirtle
