#include "plate/line_widths.h"

#include "base/parallel.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

namespace kirtle::detail {

namespace {

constexpr int kChords = 64;            // rows or columns worked on together
constexpr int kLongestThin = 5;        // pixels across a line none of which is solid, as in contour.h
constexpr double kThinnest = 0.5;      // pixels; what is thinner is the fringe of a fade, or noise
constexpr double kOpposite = -0.8;     // cosine between the ways to the two sides of a line
constexpr double kLongestChord = 1.5;  // a line at 45 degrees has a chord of 1.41 of its width

enum Class : std::uint8_t { none = 0, ink = 1, unclear = 2 };

Class class_of(std::uint8_t v) { return v == 0 ? none : v == kCutSolid ? ink : unclear; }
bool is_cut(std::uint8_t v) { return v != 0 && v < kCutSolid; }

/// First place from x on whose value is not `v`.
int end_of_run(const std::uint8_t* row, int x, int n, std::uint8_t v) {
  std::uint64_t same;
  std::memset(&same, v, sizeof same);
  while (x + 8 <= n && std::memcmp(row + x, &same, sizeof same) == 0) x += 8;
  while (x < n && row[x] == v) ++x;
  return x;
}

/// Crossings of rows with contours: row y has those from first[y] to first[y + 1], left to right.
struct Crossings {
  std::vector<std::size_t> first{0};
  std::vector<float> x;
  std::vector<std::uint8_t> right;    ///< class of the piece to the right of each
  std::vector<std::uint8_t> leading;  ///< class of the piece before the first, by row

  void row(const std::uint8_t* v, int n) {
    int current = -1;
    const auto put = [&](double at, Class c) {
      if (current < 0) leading.push_back(c);
      if (current >= 0 && current != c) {
        x.push_back(static_cast<float>(at));
        right.push_back(c);
      }
      current = c;
    };
    for (int at = 0; at < n;) {
      if (!is_cut(v[at])) {
        put(at, class_of(v[at]));
        at = end_of_run(v, at, n, v[at]);
        continue;
      }
      const int from = at;
      double area = 0, moment = 0;
      for (; at < n && is_cut(v[at]); ++at) {
        area += v[at];
        moment += v[at] * (at + 0.5);
      }
      area /= kCutSolid;
      moment /= kCutSolid;
      const int before = current, after = at < n ? class_of(v[at]) : -1;
      if (before == none && after == ink) {
        put(at - area, ink);
      } else if (before == ink && after == none) {
        put(from + area, none);
      } else if (before == after && before != unclear && before >= 0 && at - from <= kLongestThin) {
        if (before == ink) {  // a gap: what the ink leaves
          moment = 0.5 * (static_cast<double>(at) * at - static_cast<double>(from) * from) - moment;
          area = at - from - area;
        }
        if (area < kThinnest) continue;
        put(moment / area - area / 2, before == ink ? none : ink);
        put(moment / area + area / 2, before == ink ? ink : none);
      } else {
        put(from, unclear);
      }
    }
    first.push_back(x.size());
  }

  void append(const Crossings& other) {
    const std::size_t base = x.size();
    x.insert(x.end(), other.x.begin(), other.x.end());
    right.insert(right.end(), other.right.begin(), other.right.end());
    leading.insert(leading.end(), other.leading.begin(), other.leading.end());
    for (std::size_t i = 1; i < other.first.size(); ++i) first.push_back(base + other.first[i]);
  }

  int rows() const { return static_cast<int>(leading.size()); }
};

/// Rows as they are, or columns as rows: a strip of columns is turned at a time.
Crossings find_crossings(const CutPixels& p, bool columns, unsigned threads) {
  const int lines = columns ? p.width : p.height, length = columns ? p.height : p.width;
  const int bands = (lines + kChords - 1) / kChords;
  std::vector<Crossings> parts(static_cast<std::size_t>(bands));
  parallel_for(parts.size(), threads, [&](std::size_t band, unsigned) {
    const int from = static_cast<int>(band) * kChords, count = std::min(kChords, lines - from);
    std::vector<std::uint8_t> turned;
    if (columns) {
      turned.resize(static_cast<std::size_t>(count) * static_cast<std::size_t>(length));
      for (int y0 = 0; y0 < length; y0 += kChords) {
        for (int i = 0; i < count; ++i) {
          std::uint8_t* to = turned.data() + static_cast<std::size_t>(i) * static_cast<std::size_t>(length);
          const std::uint8_t* v = p.cut.data() + from + i;
          for (int y = y0; y < std::min(y0 + kChords, length); ++y)
            to[y] = v[static_cast<std::size_t>(y) * static_cast<std::size_t>(p.width)];
        }
      }
    }
    const std::uint8_t* v =
        columns ? turned.data()
                : p.cut.data() + static_cast<std::size_t>(from) * static_cast<std::size_t>(length);
    for (int i = 0; i < count; ++i) {
      parts[band].row(v + static_cast<std::size_t>(i) * static_cast<std::size_t>(length), length);
    }
  });
  Crossings all;
  for (const Crossings& part : parts) all.append(part);
  return all;
}

struct Way {
  double x = 0, y = 0;
  double squared() const { return x * x + y * y; }
};

/// The way from the origin to the nearest point of a segment.
Way nearest_on(Way a, Way b) {
  const Way d{b.x - a.x, b.y - a.y};
  const double length = d.squared();
  const double t = length > 0 ? std::clamp(-(a.x * d.x + a.y * d.y) / length, 0.0, 1.0) : 0.0;
  return {a.x + t * d.x, a.y + t * d.y};
}

/// Lines and gaps that rows cross at less than 45 degrees from square.
class Measure {
 public:
  Measure(const Crossings& c, double widest, double stretch, bool columns)
      : c_(c),
        widest_(widest),
        stretch_(stretch),
        columns_(columns),
        width_(c.x.size(), std::numeric_limits<float>::quiet_NaN()),
        length_(c.x.size(), 1.0F) {}

  void measure_all(unsigned threads) {
    each_chord(threads, [&](int y, std::size_t i) { measure(y, i); });
  }

  /// After measure_all().
  void thinnest_stretches(ThinPlaces& best, unsigned threads) const {
    std::vector<ThinPlaces> found(bands());
    each_chord(threads, [&](int y, std::size_t i) { look_back(y, i, found[at(y / kChords)]); });
    for (const ThinPlaces& f : found) {
      keep(best.line, f.line);
      keep(best.gap, f.gap);
    }
  }

  /// After measure_all(). Middles joined from row to row.
  void append_pieces(std::vector<ThinPiece>& out) const {
    constexpr std::size_t kNothing = std::numeric_limits<std::size_t>::max();
    std::vector<std::size_t> before(width_.size(), kNothing);
    std::vector<bool> goes_on(width_.size(), false);
    const auto each = [&](const auto& work) {
      for (int y = 0; y < c_.rows(); ++y) {
        for (std::size_t i = c_.first[at(y)]; i + 1 < c_.first[at(y) + 1]; ++i) {
          if (!std::isnan(width_[i])) work(y, i);
        }
      }
    };
    each([&](int y, std::size_t i) {
      std::size_t hint = i - c_.first[at(y)], k = 0;
      if (y == 0 || !piece(y - 1, middle_of(i), c_.right[i], hint, k) || std::isnan(width_[k])) return;
      before[i] = k;
      goes_on[k] = true;
    });
    each([&](int y, std::size_t i) {
      const std::size_t k = before[i];
      if (k == kNothing && goes_on[i]) return;  // the piece below says it all
      const std::size_t from = k == kNothing ? i : k;
      ThinPiece p{middle_of(from), from == i ? y + 0.5 : y - 0.5, middle_of(i), y + 0.5};
      p.by_columns = columns_;
      if (columns_) {
        std::swap(p.x0, p.y0);
        std::swap(p.x1, p.y1);
      }
      p.width = 0.5 * (static_cast<double>(width_[from]) + static_cast<double>(width_[i]));
      p.gap = c_.right[i] != ink;
      p.ends = !goes_on[i] || before[from] == kNothing;
      out.push_back(p);
    });
  }

 private:
  std::size_t bands() const { return static_cast<std::size_t>((c_.rows() + kChords - 1) / kChords); }

  template <class Work>
  void each_chord(unsigned threads, const Work& work) const {
    parallel_for(bands(), threads, [&](std::size_t band, unsigned) {
      const int from = static_cast<int>(band) * kChords, to = std::min(from + kChords, c_.rows());
      for (int y = from; y < to; ++y) {
        for (std::size_t i = c_.first[at(y)]; i + 1 < c_.first[at(y) + 1]; ++i) work(y, i);
      }
    });
  }

  double middle_of(std::size_t i) const {
    return 0.5 * (static_cast<double>(c_.x[i]) + static_cast<double>(c_.x[i + 1]));
  }

  static std::size_t at(int y) { return static_cast<std::size_t>(y); }

  static void keep(std::optional<ThinPlace>& best, const std::optional<ThinPlace>& found) {
    if (found && (!best || found->width < best->width)) best = found;
  }

  /// The piece of row y that holds x and is of class `c`: the crossing it starts at, or nothing. `hint` is
  /// where to look first, counted from the row's first crossing; set to where it was.
  bool piece(int y, double x, int c, std::size_t& hint, std::size_t& start) const {
    const std::size_t first = c_.first[at(y)], end = c_.first[at(y) + 1];
    if (end - first < 2) return false;
    std::size_t i = std::min(first + hint, end - 2);
    while (i > first && static_cast<double>(c_.x[i]) > x) --i;
    while (i + 2 < end && static_cast<double>(c_.x[i + 1]) <= x) ++i;
    hint = i - first;
    start = i;
    return c_.right[i] == c && static_cast<double>(c_.x[i]) <= x && static_cast<double>(c_.x[i + 1]) > x;
  }

  /// The same for a piece that overlaps from .. to: where a slanting line goes on. `hint` from piece().
  bool overlapped(int y, double from, double to, int c, std::size_t hint, std::size_t& start) const {
    const std::size_t first = c_.first[at(y)], end = c_.first[at(y) + 1];
    if (end - first < 2) return false;
    for (std::size_t i = first + (hint > 0 ? hint - 1 : 0); i + 1 < end && i <= first + hint + 1; ++i) {
      if (c_.right[i] != c || static_cast<double>(c_.x[i]) >= to ||
          static_cast<double>(c_.x[i + 1]) <= from) {
        continue;
      }
      start = i;
      return true;
    }
    return false;
  }

  void measure(int y, std::size_t i) {
    const int c = c_.right[i];
    const double from = static_cast<double>(c_.x[i]), to = static_cast<double>(c_.x[i + 1]);
    if (c == unclear || to - from > kLongestChord * widest_) return;
    const int before = i == c_.first[at(y)] ? c_.leading[at(y)] : c_.right[i - 1];
    if (before == unclear || c_.right[i + 1] == unclear) return;
    const double middle = 0.5 * (from + to);
    Way left{from - middle, 0}, right{to - middle, 0};
    double left2 = left.squared(), right2 = right.squared();
    double end = std::numeric_limits<double>::infinity();  // of the line, rows away
    for (const int step : {-1, 1}) {
      Way last_left{from - middle, 0}, last_right{to - middle, 0};
      std::size_t hint = i - c_.first[at(y)];
      for (int dy = step; y + dy >= 0 && y + dy < c_.rows(); dy += step) {
        // The segment that ends in this row starts one row nearer.
        const double near = std::abs(dy) - 1.0;
        if (near * near >= std::max(left2, right2)) break;
        std::size_t k = 0;
        const bool holds_middle = piece(y + dy, middle, c, hint, k);
        if (!holds_middle && !overlapped(y + dy, middle + last_left.x, middle + last_right.x, c, hint, k)) {
          end = std::min(end, near);
          break;
        }
        const Way here_left{static_cast<double>(c_.x[k]) - middle, static_cast<double>(dy)};
        const Way here_right{static_cast<double>(c_.x[k + 1]) - middle, static_cast<double>(dy)};
        const Way a = nearest_on(last_left, here_left), b = nearest_on(last_right, here_right);
        if (a.squared() < left2) left2 = (left = a).squared();
        if (b.squared() < right2) right2 = (right = b).squared();
        if (!holds_middle) break;
        last_left = here_left;
        last_right = here_right;
      }
    }
    const double l = std::sqrt(left2), r = std::sqrt(right2), width = l + r;
    const Way across{right.x - left.x, right.y - left.y};
    if (!(width <= widest_) || end < std::max(l, r)) return;
    if (left.x * right.x + left.y * right.y > kOpposite * l * r) return;
    if (std::abs(across.x) < std::abs(across.y)) return;
    width_[i] = static_cast<float>(width);
    length_[i] = static_cast<float>(std::sqrt(across.squared()) / std::abs(across.x));
  }

  /// The stretch that ends with this chord.
  void look_back(int y, std::size_t i, ThinPlaces& best) const {
    if (std::isnan(width_[i])) return;
    const int c = c_.right[i];
    std::optional<ThinPlace>& thin = c == ink ? best.line : best.gap;
    double sum = 0, length = 0;
    std::size_t k = i, middle = i;
    int row = y, middle_row = y;
    while (true) {
      const auto part = static_cast<double>(length_[k]);
      sum += part * static_cast<double>(width_[k]);
      length += part;
      if (2 * length <= stretch_) {
        middle = k;
        middle_row = row;
      }
      if (length >= stretch_) break;
      if (row == 0) return;
      std::size_t hint = k - c_.first[at(row)];
      --row;
      if (!piece(row, 0.5 * (static_cast<double>(c_.x[k]) + static_cast<double>(c_.x[k + 1])), c, hint, k))
        return;
      if (std::isnan(width_[k])) return;
    }
    const double mean = sum / length;
    if (thin && thin->width <= mean) return;
    const double x = 0.5 * (static_cast<double>(c_.x[middle]) + static_cast<double>(c_.x[middle + 1]));
    thin = columns_ ? ThinPlace{mean, middle_row + 0.5, x} : ThinPlace{mean, x, middle_row + 0.5};
  }

  const Crossings& c_;
  double widest_, stretch_;
  bool columns_;
  std::vector<float> width_, length_;  // by the chord's first crossing; NaN: no line there
};

}  // namespace

ThinPlaces thinnest(const CutPixels& pixels, double widest, double stretch, unsigned threads) {
  ThinPlaces best;
  for (const bool columns : {false, true}) {
    const Crossings crossings = find_crossings(pixels, columns, threads);
    Measure measure(crossings, widest, stretch, columns);
    measure.measure_all(threads);
    measure.thinnest_stretches(best, threads);
  }
  return best;
}

std::vector<ThinPiece> thin_pieces(const CutPixels& pixels, double widest, unsigned threads) {
  std::vector<ThinPiece> out;
  for (const bool columns : {false, true}) {
    const Crossings crossings = find_crossings(pixels, columns, threads);
    Measure measure(crossings, widest, 1, columns);
    measure.measure_all(threads);
    measure.append_pieces(out);
  }
  std::stable_sort(out.begin(), out.end(), [](const ThinPiece& a, const ThinPiece& b) {
    return std::min(a.y0, a.y1) < std::min(b.y0, b.y1);
  });
  return out;
}

}  // namespace kirtle::detail
