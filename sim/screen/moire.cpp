#include "screen/moire.h"

#include "screen/deposit.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace kirtle {
namespace {

/// Cycles a millimetre; x right, y down.
struct Frequency {
  double x = 0, y = 0;
};
Frequency operator-(Frequency a, Frequency b) { return {a.x - b.x, a.y - b.y}; }
double length(Frequency f) { return std::hypot(f.x, f.y); }

/// A multiple of a grating's frequencies, with its orders.
struct Harmonic {
  Frequency f;
  int along = 0, across = 0;
};

constexpr Mm kNarrowestBand{0.5};
/// Frequencies closer than this, relative, are the same: rounding of angles in degrees, not a band of
/// kilometres.
constexpr double kSame = 1e-9;
/// Slower than this, a band is wider than any print: the period counts as infinite.
constexpr double kSlowestPerMm = 1e-6;

void check(const ScreenOnPress& s) {
  const bool fine = s.halftone.lpi > 0 && s.mesh.threads_per_cm > 0 && std::isfinite(s.halftone.lpi) &&
                    std::isfinite(s.mesh.threads_per_cm) && std::isfinite(s.halftone.angle_deg);
  if (!fine)
    throw std::domain_error("moire: screen \"" + s.name + "\" has lpi " + std::to_string(s.halftone.lpi) +
                            ", " + std::to_string(s.mesh.threads_per_cm) + " threads/cm; both must be > 0");
}

/// All multiples up to `order` along the lines and across; line dots have none across.
std::vector<Harmonic> dots_harmonics(const HalftoneScreen& h, int order) {
  const double f = h.lpi / kMmPerInch, angle = h.angle_deg * std::numbers::pi / 180;
  const Frequency along{f * std::cos(angle), f * std::sin(angle)}, across{-along.y, along.x};
  std::vector<Harmonic> all;
  if (h.shape == DotShape::noise) return all;  // no rows to beat with
  const int width = h.shape == DotShape::line ? 0 : order;
  for (int m = -order; m <= order; ++m) {
    for (int n = -width; n <= width; ++n) {
      if (m == 0 && n == 0) continue;
      all.push_back({{m * along.x + n * across.x, m * along.y + n * across.y}, m, n});
    }
  }
  return all;
}

/// Threads or loops: order 1 and 2 along each direction.
std::vector<Harmonic> weave_harmonics(double across_per_cm, double down_per_cm) {
  std::vector<Harmonic> all;
  for (int k = 1; k <= 2; ++k) {
    if (across_per_cm > 0) all.push_back({{k * across_per_cm / 10, 0}, k, 0});
    if (down_per_cm > 0) all.push_back({{0, k * down_per_cm / 10}, 0, k});
  }
  return all;
}

int order_of(int a, int b) { return std::max(std::abs(a), std::abs(b)); }
bool is_skew(int m, int n) { return m != 0 && n != 0 && std::abs(m) != std::abs(n); }

Beat beat_of(BeatKind kind, const Harmonic& a, const Harmonic& b, const BeatLimits& limits) {
  Beat beat;
  beat.kind = kind;
  beat.k = a.along;
  beat.l = a.across;
  beat.m = b.along;
  beat.n = b.across;
  Frequency d = a.f - b.f;
  if (d.x < 0 || (d.x == 0 && d.y < 0)) d = {-d.x, -d.y};
  const double per_mm = length(d);
  beat.period = {per_mm > kSlowestPerMm ? 1 / per_mm : std::numeric_limits<double>::infinity()};
  beat.direction_deg = std::atan2(d.y, d.x) * 180 / std::numbers::pi;
  beat.rank = order_of(a.along, a.across) + order_of(b.along, b.across) - 1;
  beat.skew = is_skew(a.along, a.across) || is_skew(b.along, b.across);
  beat.warn = beat.period > (beat.skew ? limits.skew : limits.rows);
  return beat;
}

bool worse(const Beat& a, const Beat& b) {
  if (a.warn != b.warn) return a.warn;
  return a.period.v / a.rank > b.period.v / b.rank;
}

/// Beats of every pair of multiples wider than kNarrowestBand.
void add_beats(std::vector<Beat>& beats, BeatKind kind, const std::string& first, const std::string& second,
               const std::vector<Harmonic>& a, const std::vector<Harmonic>& b, const BeatLimits& limits) {
  for (const Harmonic& x : a) {
    for (const Harmonic& y : b) {
      const double apart = length(x.f - y.f);
      if (kind == BeatKind::two_screens && apart < kSame * length(x.f)) continue;
      Beat beat = beat_of(kind, x, y, limits);
      if (!(beat.period > kNarrowestBand)) continue;
      beat.first = first;
      beat.second = second;
      beats.push_back(std::move(beat));
    }
  }
}

/// A multiple and its opposite beat alike: keep one, so that each band is told once.
std::vector<Harmonic> half(std::vector<Harmonic> all) {
  std::erase_if(all, [](const Harmonic& h) { return h.along < 0 || (h.along == 0 && h.across < 0); });
  return all;
}

std::vector<Beat> mesh_beats(const ScreenOnPress& s, const BeatLimits& limits) {
  std::vector<Beat> beats;
  add_beats(beats, BeatKind::mesh_and_screen, s.name, s.name,
            weave_harmonics(s.mesh.threads_per_cm, s.mesh.threads_per_cm), dots_harmonics(s.halftone, 4),
            limits);
  std::stable_sort(beats.begin(), beats.end(), worse);
  return beats;
}

bool is_clear(const ScreenOnPress& s, const BeatLimits& limits) {
  const std::vector<Beat> beats = mesh_beats(s, limits);
  return beats.empty() || !beats.front().warn;
}

std::string trimmed(double x, const char* format = "%.3g") {
  char text[32];
  std::snprintf(text, sizeof text, format, x);
  return text;
}

std::string mesh_text(const Mesh& mesh) {
  return trimmed(mesh.threads_per_cm) + "/cm (" + trimmed(threads_per_inch_from_per_cm(mesh.threads_per_cm)) +
         "/in)";
}

/// Meshes of the list, coarse to fine, that have threads enough for the screen and lay its agent.
std::vector<Mesh> fine_enough(const ScreenOnPress& s, std::span<const Mesh> meshes) {
  std::vector<Mesh> fit;
  for (const Mesh& m : meshes) {
    if (s.lays_agent && m.threads_per_cm > s.mesh.threads_per_cm) continue;
    if (threads_per_line(m, s.halftone.lpi) >= kFewestThreadsPerLine) fit.push_back(m);
  }
  std::stable_sort(fit.begin(), fit.end(),
                   [](const Mesh& a, const Mesh& b) { return a.threads_per_cm < b.threads_per_cm; });
  return fit;
}

void advise_on_threads(MeshVerdict& v, const ScreenOnPress& s, std::span<const Mesh> meshes) {
  const std::vector<Mesh> fit = fine_enough(s, meshes);
  if (!fit.empty()) v.advice.push_back("use mesh " + mesh_text(fit.front()) + " or finer");
  const double most = std::floor(threads_per_inch_from_per_cm(s.mesh.threads_per_cm) / kFewestThreadsPerLine);
  if (most >= 5) v.advice.push_back("use " + trimmed(most) + " lines per inch or fewer");
}

void advise_on_bands(MeshVerdict& v, const ScreenOnPress& s, std::span<const Mesh> meshes,
                     const BeatLimits& limits) {
  for (const double angle : {22.5, 7.5, 15.0, 30.0, 37.5}) {
    ScreenOnPress turned = s;
    turned.halftone.angle_deg = angle;
    if (!is_clear(turned, limits)) continue;
    v.advice.push_back("turn the screen to " + trimmed(angle) + " degrees");
    break;
  }
  // The nearest clear mesh that has threads enough.
  const Mesh* nearest = nullptr;
  const std::vector<Mesh> fit = fine_enough(s, meshes);
  for (const Mesh& m : fit) {
    ScreenOnPress other = s;
    other.mesh = m;
    if (!is_clear(other, limits)) continue;
    const auto far = [&](const Mesh& x) {
      return std::abs(std::log(x.threads_per_cm / s.mesh.threads_per_cm));
    };
    if (nearest == nullptr || far(m) < far(*nearest)) nearest = &m;
  }
  if (nearest == nullptr) return;
  const std::string advice = "use mesh " + mesh_text(*nearest);
  if (std::find(v.advice.begin(), v.advice.end(), advice + " or finer") == v.advice.end())
    v.advice.push_back(advice);
}

}  // namespace

double threads_per_line(const Mesh& mesh, double lpi) {
  return threads_per_inch_from_per_cm(mesh.threads_per_cm) / lpi;
}

double smallest_tint_held(const Mesh& mesh, const HalftoneScreen& halftone) {
  const double diameters = smallest_dot(mesh).v * halftone.lpi / kUmPerInch;  // in periods
  return std::min(1.0, std::numbers::pi / 4 * diameters * diameters);
}

std::vector<Beat> find_beats(std::span<const ScreenOnPress> screens, const std::optional<Knit>& knit,
                             const BeatLimits& limits) {
  std::vector<Beat> beats;
  for (std::size_t i = 0; i < screens.size(); ++i) {
    const ScreenOnPress& s = screens[i];
    check(s);
    const std::vector<Beat> own = mesh_beats(s, limits);
    beats.insert(beats.end(), own.begin(), own.end());
    if (knit) {
      add_beats(beats, BeatKind::knit_and_screen, s.name, "knit",
                weave_harmonics(knit->wales_per_cm, knit->courses_per_cm), dots_harmonics(s.halftone, 2),
                limits);
    }
    for (std::size_t j = 0; j < i; ++j) {
      add_beats(beats, BeatKind::two_screens, screens[j].name, s.name,
                half(dots_harmonics(screens[j].halftone, 1)), dots_harmonics(s.halftone, 1), limits);
    }
  }
  std::stable_sort(beats.begin(), beats.end(), worse);
  return beats;
}

std::vector<MeshVerdict> judge_meshes(std::span<const ScreenOnPress> screens, std::span<const Mesh> meshes,
                                      const BeatLimits& limits) {
  std::vector<MeshVerdict> verdicts;
  for (const ScreenOnPress& s : screens) {
    check(s);
    MeshVerdict v;
    v.name = s.name;
    if (s.halftone.shape == DotShape::noise) {
      v.threads_per_line = std::numeric_limits<double>::infinity();
      verdicts.push_back(std::move(v));
      continue;
    }
    v.threads_per_line = threads_per_line(s.mesh, s.halftone.lpi);
    v.too_few_threads = !(v.threads_per_line >= kFewestThreadsPerLine);
    v.smallest_tint = smallest_tint_held(s.mesh, s.halftone);
    const std::vector<Beat> beats = mesh_beats(s, limits);
    if (!beats.empty() && beats.front().warn) v.worst = beats.front();
    if (v.too_few_threads) advise_on_threads(v, s, meshes);
    if (v.worst) advise_on_bands(v, s, meshes, limits);
    verdicts.push_back(std::move(v));
  }
  return verdicts;
}

std::string sentence_of(const Beat& beat) {
  const std::string wide = beat.period.v < 1000 ? "bands " + trimmed(beat.period.v, "%.1f") + " mm wide"
                                                : std::string("bands wider than any print");
  switch (beat.kind) {
    case BeatKind::mesh_and_screen:
      return wide + " between mesh and dots of plate \"" + beat.first + '"';
    case BeatKind::two_screens:
      return wide + " between the dots of plates \"" + beat.first + "\" and \"" + beat.second + '"';
    case BeatKind::knit_and_screen:
      return wide + " between the knit and the dots of plate \"" + beat.first + '"';
  }
  return wide;
}

}  // namespace kirtle
