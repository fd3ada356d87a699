// From the painting to six plates for plastisol on black.
//
// The eye mixes the dots of a print, so a colour asks for a set of dot areas whose mixture it is. A rough
// model of opaque inks on black, with and without base beneath, gives every overprint's colour; Demichel's
// products (Demichel 1924; cited from memory) give each overprint's share of the area. The dot areas are
// found by search on a grid of colours, with a wish for few inks and little of them, and read between the
// grid's points. Ink colours are rounded from the demo's lemon yellow, scarlet, royal blue and turquoise at
// about 20 um, over black and over base: all invented, for drawing by only.
#include "art/reef.h"

#include <array>

namespace kirtle::art::reef {

namespace {

constexpr int kTops = 4;  // yellow, red, blue, turquoise: print order
struct Top {
  Rgb over_white, over_black;  ///< a solid on full base and on bare shirt
};
constexpr std::array<Top, kTops> kInks{{{{0.91, 0.69, 0.010}, {0.275, 0.230, 0.038}},
                                        {{0.63, 0.019, 0.020}, {0.210, 0.030, 0.026}},
                                        {{0.00, 0.083, 0.470}, {0.015, 0.064, 0.166}},
                                        {{0.00, 0.495, 0.810}, {0.012, 0.190, 0.250}}}};
constexpr double kWhite = 0.80, kBlack = 0.009;

/// Dot areas, 0..1: the four tops, then the base.
using Areas = std::array<double, kTops + 1>;

class Press {
 public:
  Press() {
    for (int set = 0; set < 32; ++set) {
      Rgb c = (set & 16) != 0 ? Rgb{kWhite, kWhite, kWhite} : Rgb{kBlack, kBlack, kBlack};
      for (int i = 0; i < kTops; ++i)
        if ((set & (1 << i)) != 0) {
          const Top& t = kInks[i];
          c = t.over_black + (t.over_white + t.over_black * -1.0) * c * (1 / kWhite);
        }
      overprint_[set] = c;
    }
  }
  Rgb colour(const Areas& a) const {
    std::array<double, 32> share;
    share[0] = 1;
    int n = 1;
    for (const double area : a) {
      for (int k = 0; k < n; ++k) {
        share[n + k] = share[k] * area;
        share[k] *= 1 - area;
      }
      n *= 2;
    }
    Rgb c;
    for (int k = 0; k < 32; ++k) c = c + overprint_[k] * share[k];
    return c;
  }

 private:
  std::array<Rgb, 32> overprint_;
};

double seen(double linear) { return std::cbrt(linear + 0.010); }

class Separator {
 public:
  static constexpr int kGrid = 17;
  Separator() : table_(kGrid * kGrid * kGrid) {
    for (int r = 0; r < kGrid; ++r)
      for (int g = 0; g < kGrid; ++g)
        for (int b = 0; b < kGrid; ++b) {
          const Rgb want{seen(kBlack + step(r)), seen(kBlack + step(g)), seen(kBlack + step(b))};
          // Starts: bare shirt, each ink alone without and with some base, and the neighbours' answers. The
          // neighbours get a little grace, which keeps the table smooth.
          Areas best{};
          double least = search(want, best);
          for (int n = 0; n < 2 * kTops; ++n) {
            Areas a{};
            a[n / 2] = 0.7;
            a[kTops] = n % 2 == 0 ? 0.0 : 0.4;
            const double miss_n = search(want, a);
            if (miss_n < least) least = miss_n, best = a;
          }
          const int pr = std::max(0, r - 1), pg = std::max(0, g - 1), pb = std::max(0, b - 1);
          for (const Areas& near : {table_[at(pr, g, b)], table_[at(r, pg, b)], table_[at(r, g, pb)]}) {
            Areas a = near;
            const double miss_near = search(want, a);
            if (miss_near < least * 1.03) least = miss_near, best = a;
          }
          table_[at(r, g, b)] = best;
        }
    ease();
    table_[0] = Areas{};
  }

  Areas operator()(Rgb c) const {
    const double x = place(c.r), y = place(c.g), z = place(c.b);
    const int i = static_cast<int>(x), j = static_cast<int>(y), k = static_cast<int>(z);
    Areas out{};
    for (int corner = 0; corner < 8; ++corner) {
      const int di = corner & 1, dj = (corner >> 1) & 1, dk = corner >> 2;
      const double w =
          (di != 0 ? x - i : 1 - (x - i)) * (dj != 0 ? y - j : 1 - (y - j)) * (dk != 0 ? z - k : 1 - (z - k));
      const Areas& a = table_[at(i + di, j + dj, k + dk)];
      for (int n = 0; n <= kTops; ++n) out[n] += w * a[n];
    }
    for (int n = 0; n < kTops; ++n) out[n] *= smooth(0.03, 0.13, out[n]);  // a trace of an ink is only dirt
    return out;
  }

 private:
  static int at(int r, int g, int b) { return (r * kGrid + g) * kGrid + b; }
  static double step(int i) { return kWhite * std::pow(static_cast<double>(i) / (kGrid - 1), 2.4); }
  static double place(double linear) {
    return std::min(kGrid - 1.0001, std::pow(clamp01(linear / kWhite), 1 / 2.4) * (kGrid - 1));
  }

  double miss(Rgb want_seen, const Areas& a) const {
    const Rgb got = press_.colour(a);
    const double dr = seen(got.r) - want_seen.r, dg = seen(got.g) - want_seen.g,
                 db = seen(got.b) - want_seen.b;
    const double tops = a[0] + a[1] + a[2] + a[3], heavy = std::max(0.0, tops - 1.7);
    // Lightness may give way sooner than hue: a shirt is dark anyway.
    const double light = 0.3 * dr + 0.5 * dg + 0.2 * db;
    double cost =
        light * light + 0.7 * ((dr - dg) * (dr - dg) + (dg - db) * (dg - db)) + 0.05 * heavy * heavy;
    for (int i = 0; i < kTops; ++i) cost += 0.0005 * a[i];
    // Bare base between the dots milks a strong colour: there the tops close up and the base carries the
    // tone.
    const double most = std::max({want_seen.r, want_seen.g, want_seen.b});
    const double strong = (most - std::min({want_seen.r, want_seen.g, want_seen.b})) / most;
    const double bare = a[kTops] * (1 - a[0]) * (1 - a[1]) * (1 - a[2]) * (1 - a[3]);
    return cost + 0.0001 * a[kTops] + 0.012 * strong * bare;
  }

  double search(Rgb want_seen, Areas& a) const {
    double least = miss(want_seen, a);
    for (double reach = 0.32; reach > 0.006;) {
      bool better = false;
      for (int n = 0; n <= kTops; ++n)
        for (int with = 0; with <= kTops;
             ++with)  // one alone (with itself), or one up and another down or up
          for (int way = 0; way < 4; ++way) {
            if (with < n || (with == n && way > 1)) continue;
            Areas t = a;
            t[n] = clamp01(t[n] + ((way & 1) != 0 ? -reach : reach));
            if (with != n) t[with] = clamp01(t[with] + ((way & 2) != 0 ? -0.7 : 0.7) * reach);
            const double m = miss(want_seen, t);
            if (m < least - 1e-9) least = m, a = t, better = true;
          }
      if (!better) reach *= 0.5;
    }
    return least;
  }

  /// Evens the table out a little, so that no plate steps where the search changed its mind.
  void ease() {
    std::vector<Areas> out = table_;
    for (int r = 0; r < kGrid; ++r)
      for (int g = 0; g < kGrid; ++g)
        for (int b = 0; b < kGrid; ++b) {
          Areas sum{};
          double all = 0;
          for (int k = 0; k < 27; ++k) {
            const int i = r + k % 3 - 1, j = g + k / 3 % 3 - 1, l = b + k / 9 - 1;
            if (i < 0 || j < 0 || l < 0 || i >= kGrid || j >= kGrid || l >= kGrid) continue;
            const double w = 1.0 / (1 << ((i != r) + (j != g) + (l != b)) * 3);
            for (int n = 0; n <= kTops; ++n) sum[n] += w * table_[at(i, j, l)][n];
            all += w;
          }
          for (int n = 0; n <= kTops; ++n) out[at(r, g, b)][n] = sum[n] / all;
        }
    table_.swap(out);
  }

  Press press_;
  std::vector<Areas> table_;
};

/// Film for a wanted dot on the shirt. Ink spreads 35 um beyond a round dot (and into a round hole) of a 55
/// lpi halftone, a middling figure for plastisol on flashed base (common practice, no source); the film holds
/// back that much. Then nothing under 2 %, solid above 98 %.
class FilmCurve {
 public:
  FilmCurve() {
    const double cell_mm = 25.4 / 55, spread_mm = 0.035;
    const auto held = [&](double area) {  // round dots up to half tone, round holes above
      const double r = cell_mm * std::sqrt(area / kPi), less = std::max(0.0, r - spread_mm) / cell_mm;
      return kPi * less * less;
    };
    const auto hole = [&](double area) {
      const double more = (cell_mm * std::sqrt(area / kPi) + spread_mm) / cell_mm;
      return kPi * more * more;
    };
    for (std::size_t i = 0; i < table_.size(); ++i) {
      const double area = static_cast<double>(i) / static_cast<double>(table_.size() - 1);
      // The hole's rule starts from nothing at solid, where there is no hole left to close.
      const double shadow_end = 1 - hole(1 - area) * smooth(0.0, 0.06, 1 - area);
      const double film = mix(held(area), shadow_end, smooth(0.25, 0.75, area));
      table_[i] = static_cast<float>(clamp01(film));
    }
  }
  float operator()(double area) const {
    const double x = clamp01(area) * static_cast<double>(table_.size() - 1);
    const auto i = std::min(table_.size() - 2, static_cast<std::size_t>(x));
    const double film = mix(table_[i], table_[i + 1], x - static_cast<double>(i));
    return static_cast<float>(film < 0.02 ? 0.0 : film > 0.98 ? 1.0 : film);
  }

 private:
  std::array<float, 257> table_;
};

/// Least (or most) within a square of half side n, in two runs.
void squeeze(Plane& plane, int n, bool least) {
  const auto better = [least](float a, float b) { return least ? std::min(a, b) : std::max(a, b); };
  const int w = plane.width(), h = plane.height();
  std::vector<float> line;
  for (int y = 0; y < h; ++y) {
    float* row = plane.row(y);
    line.assign(row, row + w);
    for (int x = 0; x < w; ++x)
      for (int k = std::max(0, x - n); k <= std::min(w - 1, x + n); ++k) row[x] = better(row[x], line[k]);
  }
  const Plane before = plane;
  for (int y = 0; y < h; ++y)
    for (int k = std::max(0, y - n); k <= std::min(h - 1, y + n); ++k)
      for (int x = 0; x < w; ++x) plane.row(y)[x] = better(plane.row(y)[x], before.row(k)[x]);
}

/// Steps the base back from the outer edge of all that is printed. Dark lines within the picture (under about
/// 0.8 mm) do not count as edges.
void choke(Plane& base, Plane printed, double reach_mm) {
  const double px = base.px_per_mm();
  const int close = static_cast<int>(std::lround(0.4 * px)),
            step = std::max(1, static_cast<int>(std::lround(reach_mm * px)));
  squeeze(printed, close, false);
  squeeze(printed, close + step, true);
  for (int y = 0; y < base.height(); ++y)
    for (int x = 0; x < base.width(); ++x) {
      float& ink = base.row(y)[x];
      if (ink > 0) ink *= static_cast<float>(smooth(0.02, 0.09, printed.row(y)[x]));
      if (ink < 0.02F) ink = 0;
    }
}

}  // namespace

std::vector<Plate> separate(const Picture& pic, double ppi) {
  const Separator areas_of;
  const FilmCurve film;
  const Plane blank(kWidth_mm, kHeight_mm, ppi);
  std::vector<Plate> plates;
  for (const char* name : {"base", "yellow", "red", "blue", "turquoise", "highlight"})
    plates.push_back({name, blank});
  Plane printed = blank;
  for (int y = 0; y < pic.height(); ++y)
    for (int x = 0; x < pic.width(); ++x) {
      const float* p = pic.at(x, y);
      if (!(p[0] + p[1] + p[2] > 0.006F)) continue;
      const Rgb c{p[0], p[1], p[2]};
      const Areas a = areas_of(c);
      plates[0].ink.row(y)[x] = film(a[kTops]);
      for (int n = 0; n < kTops; ++n) plates[n + 1].ink.row(y)[x] = film(a[n]);
      plates[5].ink.row(y)[x] = film(smooth(0.50, 0.86, std::min({c.r, c.g, c.b})));
      for (const Plate& plate : plates) printed.row(y)[x] = std::max(printed.row(y)[x], plate.ink.row(y)[x]);
    }
  choke(plates[0].ink, printed, 0.12);
  return plates;
}

}  // namespace kirtle::art::reef
