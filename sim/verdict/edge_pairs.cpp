#include "verdict/edge_pairs.h"

#include "base/check.h"
#include "base/parallel.h"
#include "verdict/edge_field.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <mutex>
#include <numbers>
#include <optional>

namespace kirtle {

namespace {

constexpr int kBandRows = 256;
constexpr double kTouchMm = 0.05;     // a hairline up to this between two plates is none
constexpr double kBeyondMm = 1.0;     // how far behind an overlap to look whether its plate comes again
constexpr double kUnderMm = 0.05;     // a base shows in a gap if it covers so far behind the overlap's end
constexpr double kSameEdgeMm = 0.01;  // edges nearer than this are one edge
constexpr double kStepPx = 0.5;
constexpr double kSidePx = 1.5;    // where a corner's sides are looked at
constexpr double kSmooth = 0.966;  // cosine of 15 degrees between them: less of a bend is no corner
constexpr double kEndless = std::numeric_limits<double>::infinity();

/// A plate along the line inward from a contour point: which depths it covers [mm].
struct Profile {
  bool outside = false;     ///< covers just outside the contour
  double first = kEndless;  ///< its first edge inward: end of the cover if outside, else start
  double second = kEndless;
  bool first_is_contour = false;  ///< of a solid, not a tint's end
  double edge_x = 0, edge_y = 0;  ///< outward normal of plate a's side: direction of the first edge

  bool covers(double depth) const {
    const int passed = (depth >= first) + (depth >= second);
    return outside == (passed % 2 == 0);
  }
};

class Search {
 public:
  Search(std::span<const EdgePlate> plates, const EdgeSearch& search)
      : plates_(plates), search_(search), px_per_mm_(search.ppi / kMmPerInch) {}

  /// Pairs of the contours within one band of rows.
  std::vector<EdgePair> band(int from, int to) const {
    const int halo = static_cast<int>(std::ceil((search_.reach_mm + kBeyondMm) * px_per_mm_)) + 4;
    std::vector<EdgeField> fields;
    for (const EdgePlate& plate : plates_) {
      fields.emplace_back(plate, search_.ppi, search_.covering_tone, from - halo, to - from + 2 * halo);
    }
    const int spacing = std::max(1, static_cast<int>(std::lround(search_.spacing_mm * px_per_mm_)));
    std::vector<EdgePair> out;
    // Ink that runs off the plate has no edge there.
    const int last = std::min(to, plates_.front().image->height - 1);
    for (std::size_t a = 0; a < fields.size(); ++a) {
      for (const ContourPiece& piece : fields[a].contour(from, last, spacing)) {
        look_at(fields, static_cast<int>(a), piece, out);
      }
    }
    return out;
  }

 private:
  /// What every plate does along the line inward.
  Profile profile(const EdgeField& field, const ContourPiece& piece) const {
    Profile out;
    const double step = kStepPx / px_per_mm_, end = search_.reach_mm + kBeyondMm;
    const auto at = [&](double depth_mm) {
      const double px = depth_mm * px_per_mm_;
      return field.at(piece.x - piece.nx * px, piece.y - piece.ny * px);
    };
    double depth = -kTouchMm, value = at(depth);
    out.outside = value < 0;
    while (depth < end) {
      const double next = at(depth + step);
      if ((next < 0) != (value < 0)) {
        const double edge = depth + step * value / (value - next);
        if (out.first < kEndless) {
          out.second = edge;
          return out;
        }
        out.first = edge;
        const double px = edge * px_per_mm_, x = piece.x - piece.nx * px, y = piece.y - piece.ny * px;
        double nx = 0, ny = 0;
        out.first_is_contour = field.solid_edge_at(x, y) && field.slope(x, y, nx, ny);
        // A plate that ends here rises inward, one that starts falls: both turned to face outward.
        const double sign = out.outside ? -1 : 1;
        out.edge_x = sign * nx;
        out.edge_y = sign * ny;
      }
      value = next;
      depth += step;
    }
    return out;
  }

  void look_at(const std::vector<EdgeField>& fields, int a, const ContourPiece& piece,
               std::vector<EdgePair>& out) const {
    const auto n = static_cast<int>(fields.size());
    std::array<Profile, 16> profiles;
    bool any = false, nothing_outside = true;
    for (int p = 0; p < n; ++p) {
      const auto i = static_cast<std::size_t>(p);
      profiles[i] = profile(fields[i], piece);
      if (p == a) continue;
      nothing_outside = nothing_outside && !profiles[i].outside;
      any = any || profiles[i].outside || profiles[i].first < kEndless;
    }
    if (!any) return;
    const std::span<const Profile> seen(profiles.data(), fields.size());
    const std::size_t before = out.size();
    if (nothing_outside) {
      base_peeks(seen, a, piece, out);
    } else {
      gap(seen, a, piece, true, out);
      gap(seen, a, piece, false, out);
    }
    if (out.size() > before)
      enter_sides(fields[static_cast<std::size_t>(a)], piece, std::span(out).subspan(before));
  }

  static void enter_sides(const EdgeField& own, const ContourPiece& piece, std::span<EdgePair> pairs) {
    double x1 = piece.nx, y1 = piece.ny, x2 = piece.nx, y2 = piece.ny;
    const double along_x = -piece.ny * kSidePx, along_y = piece.nx * kSidePx;
    const bool known = own.slope(piece.x + along_x, piece.y + along_y, x1, y1) &&
                       own.slope(piece.x - along_x, piece.y - along_y, x2, y2);
    const bool corner = known && x1 * x2 + y1 * y2 < kSmooth;
    for (EdgePair& pair : pairs) {
      pair.s1x = corner ? static_cast<float>(x1) : pair.nx;
      pair.s1y = corner ? static_cast<float>(y1) : pair.ny;
      pair.s2x = corner ? static_cast<float>(x2) : pair.nx;
      pair.s2y = corner ? static_cast<float>(y2) : pair.ny;
    }
  }

  bool is_base(int p) const { return plates_[static_cast<std::size_t>(p)].base; }

  /// Depth to which plate a itself covers.
  static double own_depth(const Profile& own) { return own.outside ? kEndless : own.second; }

  /// Whether this contour is the outermost of all plates that begin here, of equals the first; the others
  /// leave the gap to it.
  bool leads(std::span<const Profile> seen, int a, bool tops_only) const {
    for (int p = 0; p < static_cast<int>(seen.size()); ++p) {
      const Profile& other = seen[static_cast<std::size_t>(p)];
      if (p == a || other.outside || (tops_only && is_base(p))) continue;
      if (other.first < -kSameEdgeMm || (other.first < kSameEdgeMm && p < a)) return false;
    }
    return true;
  }

  /// A gap between plate a and whatever covers outside it. with_base: the shirt shows once all have left;
  /// else a base does, once the tops have.
  void gap(std::span<const Profile> seen, int a, const ContourPiece& piece, bool with_base,
           std::vector<EdgePair>& out) const {
    if (!with_base && is_base(a)) return;
    int b = -1;
    for (int p = 0; p < static_cast<int>(seen.size()); ++p) {
      const Profile& other = seen[static_cast<std::size_t>(p)];
      if (p == a || !other.outside || (!with_base && is_base(p))) continue;
      if (!(other.first <= search_.reach_mm)) return;  // covers all along
      if (b < 0 || other.first > seen[static_cast<std::size_t>(b)].first + kSameEdgeMm) b = p;
    }
    if (b < 0 || !leads(seen, a, !with_base)) return;
    const Profile& end = seen[static_cast<std::size_t>(b)];
    // The same gap is found from plate b's contour, if it has one there: kept once, from the later plate.
    if (b > a && end.first_is_contour) return;
    if (own_depth(seen[static_cast<std::size_t>(a)]) < end.first) return;
    int shows = kShirtShows;
    if (!with_base) {
      for (int p = 0; p < static_cast<int>(seen.size()); ++p) {
        if (p != a && is_base(p) && seen[static_cast<std::size_t>(p)].covers(end.first + kUnderMm)) shows = p;
      }
      if (shows == kShirtShows) return;
    }
    add(seen, a, b, shows, piece, !with_base, out);
  }

  /// A base that comes out from under plate a, with nothing outside it.
  void base_peeks(std::span<const Profile> seen, int a, const ContourPiece& piece,
                  std::vector<EdgePair>& out) const {
    if (is_base(a) || !leads(seen, a, true)) return;
    for (int p = 0; p < static_cast<int>(seen.size()); ++p) {
      const Profile& base = seen[static_cast<std::size_t>(p)];
      if (p == a || !is_base(p) || !(base.first <= search_.reach_mm)) continue;
      if (own_depth(seen[static_cast<std::size_t>(a)]) < base.first) continue;
      add(seen, a, p, p, piece, true, out);
    }
  }

  void add(std::span<const Profile> seen, int a, int b, int shows, const ContourPiece& piece, bool tops_only,
           std::vector<EdgePair>& out) const {
    const Profile& end = seen[static_cast<std::size_t>(b)];
    EdgePair pair;
    pair.x_mm = static_cast<float>((piece.x + 0.5) / px_per_mm_);
    pair.y_mm = static_cast<float>((piece.y + 0.5) / px_per_mm_);
    pair.nx = static_cast<float>(piece.nx);
    pair.ny = static_cast<float>(piece.ny);
    const bool facing = end.first_is_contour && end.edge_x * piece.nx + end.edge_y * piece.ny > 0.1;
    pair.bx = facing ? static_cast<float>(end.edge_x) : pair.nx;
    pair.by = facing ? static_cast<float>(end.edge_y) : pair.ny;
    pair.length_mm = static_cast<float>(piece.length / px_per_mm_);
    pair.t_mm = static_cast<float>(std::max(end.first, 0.0));
    pair.widest_mm = static_cast<float>(end.second - end.first);
    pair.plate_a = static_cast<std::int8_t>(a);
    pair.plate_b = static_cast<std::int8_t>(b);
    pair.shows = static_cast<std::int8_t>(shows);
    // Further plates, nearest first: those that cover outside end it as b does, those that begin it as a
    // does.
    for (int p = 0; p < static_cast<int>(seen.size()); ++p) {
      const Profile& other = seen[static_cast<std::size_t>(p)];
      if (p == a || p == b || p == shows || (tops_only && is_base(p)) || !(other.first < kEndless)) continue;
      EdgeBound bound{static_cast<std::int8_t>(p), other.outside,
                      static_cast<float>(std::max(other.first, 0.0))};
      for (EdgeBound& slot : pair.also) {
        if (slot.plate < 0 || nearer(bound, slot, pair.t_mm)) std::swap(slot, bound);
        if (bound.plate < 0) break;
      }
    }
    out.push_back(pair);
  }

  static bool nearer(const EdgeBound& x, const EdgeBound& y, float t) {
    return std::abs(x.depth_mm - (x.outer ? t : 0)) < std::abs(y.depth_mm - (y.outer ? t : 0));
  }

  std::span<const EdgePlate> plates_;
  const EdgeSearch& search_;
  double px_per_mm_;
};

}  // namespace

std::vector<EdgePair> find_edge_pairs(std::span<const EdgePlate> plates, const EdgeSearch& search) {
  KIRTLE_CHECK(search.ppi, >, 0.0);
  KIRTLE_CHECK(search.reach_mm, >, 0.0);
  KIRTLE_CHECK(search.reach_mm, <=, 10.0);
  KIRTLE_CHECK(search.spacing_mm, >, 0.0);
  KIRTLE_CHECK(plates.size(), <=, std::size_t{12});
  if (plates.empty()) return {};
  const int width = plates.front().image->width, height = plates.front().image->height;
  for (const EdgePlate& plate : plates) {
    KIRTLE_CHECK(plate.image->width, ==, width);
    KIRTLE_CHECK(plate.image->height, ==, height);
  }
  const Search finder(plates, search);
  const int bands = (height + kBandRows - 1) / kBandRows;
  std::vector<std::vector<EdgePair>> found(static_cast<std::size_t>(bands));
  std::mutex telling;
  int done = 0;
  parallel_for(found.size(), search.threads, [&](std::size_t band, unsigned) {
    const int from = static_cast<int>(band) * kBandRows;
    found[band] = finder.band(from, std::min(height, from + kBandRows));
    const std::lock_guard lock(telling);
    if (search.progress && !search.progress(static_cast<double>(++done) / bands)) throw Cancelled();
  });
  std::vector<EdgePair> out;
  for (std::vector<EdgePair>& part : found) {
    out.insert(out.end(), part.begin(), part.end());
    part = {};
  }
  return out;
}

Moved moved_by(const RegisterOffset& offset, double x_mm, double y_mm, double width_mm, double height_mm) {
  const double u = x_mm - 0.5 * width_mm, v = y_mm - 0.5 * height_mm;
  const double turn = offset.turn_deg * std::numbers::pi / 180, c = std::cos(turn), s = std::sin(turn);
  // Written so that a plain shift stays exactly what it is.
  return {offset.dx.v + (c * (1 + offset.stretch_x) - 1) * u - s * (1 + offset.stretch_y) * v,
          offset.dy.v + s * (1 + offset.stretch_x) * u + (c * (1 + offset.stretch_y) - 1) * v};
}

}  // namespace kirtle
