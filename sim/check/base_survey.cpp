#include "check/base_survey.h"

#include "base/parallel.h"
#include "check/tiles.h"
#include "plate/contour.h"
#include "plate/reshape/strokes.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle::check {

namespace {

constexpr int kSurveyRows = 128;
constexpr int kBins = 120;           // of choke, from -reach to +reach
constexpr float kOnEdge = 0.5F;      // pixels from a contour
constexpr double kBarePrints = 0.5;  // film from which a base alone is looked at as white
constexpr double kLeastBase = 0.04;  // film; a tonal base lies there on purpose from here on

struct BaseBand {
  std::array<double, kBins> chokes{};               // edge length in pixels
  std::vector<std::pair<std::size_t, double>> out;  // tile, how far in mm
  struct Eaten {
    std::size_t top = 0, tile = 0;
    double length = 0, base_width = 0;
  };
  std::vector<Eaten> eaten;
  std::vector<double> strokes;                       // length by top, pixels
  std::vector<std::pair<std::size_t, double>> bare;  // tile, film in pixels
};

/// Width of the line that a place lies in the middle of, pixels, 0 outside: twice its depth. The deepest of
/// the pixels round it is on the mean a quarter of a pixel off the middle; so within half a pixel.
double width_under(const DistanceRows& rows, int x, int y) {
  float depth = 0;
  for (int v = std::max(rows.y0, y - 1); v <= std::min(rows.y0 + rows.rows - 1, y + 1); ++v) {
    for (int u = std::max(0, x - 1); u <= std::min(rows.width - 1, x + 1); ++u) {
      const auto at = static_cast<std::size_t>(v - rows.y0) * static_cast<std::size_t>(rows.width);
      depth = std::max(depth, -rows.distance[at + static_cast<std::size_t>(u)]);
    }
  }
  return depth > 0 ? 2 * static_cast<double>(depth) + 0.5 : 0;
}

double choke_of(int bin) { return (bin + 0.5) / kBins * 2 * kBaseReach_mm - kBaseReach_mm; }

}  // namespace

BaseSurvey survey_base(const PlateImage& base, double base_spread_mm, std::span<const BaseTopPlate> tops,
                       double ppi, unsigned threads) {
  const double mm = kMmPerInch / ppi;
  const double reach = std::clamp(kBaseReach_mm / mm, 2.0, 60.0);
  Tiles out_tiles(base.width, base.height, ppi, kTile_mm);
  std::vector<BaseBand> bands(static_cast<std::size_t>((base.height + kSurveyRows - 1) / kSurveyRows));
  parallel_for(bands.size(), threads, [&](std::size_t i, unsigned) {
    BaseBand& band = bands[i];
    band.strokes.assign(tops.size(), 0);
    const int y0 = static_cast<int>(i) * kSurveyRows, rows = std::min(kSurveyRows, base.height - y0);
    const DistanceRows below = contour_distance(base, y0, rows, 0, reach);
    // The tops' own shapes together, as their printed edges lie against the base's.
    std::vector<float> above(below.distance.size(), static_cast<float>(reach));
    std::vector<std::uint8_t> alone(below.distance.size(), 1);  // no top within reach
    for (const BaseTopPlate& top : tops) {
      const DistanceRows own = contour_distance(*top.image, y0, rows, 0, reach);
      const auto wider = static_cast<float>((top.spread_mm - base_spread_mm) / mm);
      for (std::size_t k = 0; k < above.size(); ++k) {
        // A tint covers, but has no edge to lie flush with.
        float d = own.tint[k] != 0 ? static_cast<float>(-reach) : own.distance[k];
        if (d < static_cast<float>(reach)) alone[k] = 0;
        if (std::abs(d) < static_cast<float>(reach)) d -= wider;
        above[k] = std::min(above[k], d);
      }
    }
    const auto width = static_cast<std::size_t>(base.width);
    for (std::size_t k = 0; k < above.size(); ++k) {
      if (alone[k] != 0) {
        const double film = base.film(static_cast<int>(k % width), y0 + static_cast<int>(k / width));
        if (film < kBarePrints) continue;
        const std::size_t tile =
            out_tiles.of(static_cast<double>(k % width), y0 + static_cast<double>(k / width));
        if (band.bare.empty() || band.bare.back().first != tile) band.bare.emplace_back(tile, 0.0);
        band.bare.back().second += film;
        continue;  // an edge that no top is near to is no rim
      }
      if (below.tint[k] != 0 || std::abs(below.distance[k]) >= kOnEdge) continue;
      const double choke = static_cast<double>(below.distance[k] - above[k]) * mm;
      if (!(std::abs(choke) < 0.98 * reach * mm)) continue;
      const int bin = static_cast<int>((choke + kBaseReach_mm) / (2 * kBaseReach_mm) * kBins);
      band.chokes[static_cast<std::size_t>(std::clamp(bin, 0, kBins - 1))] += 1;
      if (choke > -kBaseOut_mm) continue;
      band.out.emplace_back(out_tiles.of(static_cast<double>(k % width), y0 + static_cast<double>(k / width)),
                            -choke);
    }
    for (std::size_t t = 0; t < tops.size(); ++t) {
      if (!tops[t].needs_base) continue;
      detail::for_strokes_near(*tops[t].strokes, y0, rows, 1, [&](const detail::ThinPiece& p) {
        const double px = 0.5 * (p.x0 + p.x1), py = 0.5 * (p.y0 + p.y1);
        if (p.gap || py < y0 || py >= y0 + rows) return;
        const double length = std::hypot(p.x1 - p.x0, p.y1 - p.y0);
        band.strokes[t] += length;
        const int x = std::clamp(static_cast<int>(px), 0, base.width - 1), y = static_cast<int>(py);
        const std::size_t k = static_cast<std::size_t>(y - y0) * width + static_cast<std::size_t>(x);
        if (below.tint[k] != 0 && base.film(x, y) >= kLeastBase) return;
        const double left = width_under(below, x, y) * mm;
        if (left >= std::min(kThinnestBase_mm, p.width * mm - kBaseSlack_mm)) return;
        band.eaten.push_back({t, out_tiles.of(px, py), length, left});
      });
    }
  });

  BaseSurvey out;
  out.strokes.resize(tops.size());
  std::array<double, kBins> chokes{};
  std::vector<Tiles> eaten(tops.size(), out_tiles);
  Tiles bare(base.width, base.height, ppi, kTile_mm);
  for (const BaseBand& band : bands) {
    for (const auto& [tile, film] : band.bare) {
      out.bare.mm2 += film * mm * mm;
      bare[tile] += film;
    }
    for (std::size_t b = 0; b < chokes.size(); ++b) chokes[b] += band.chokes[b];
    for (const auto& [tile, by] : band.out) {
      out.edges.out_length += mm;
      out.edges.out_mean += by * mm;
      out_tiles[tile] += by;
    }
    for (std::size_t t = 0; t < tops.size(); ++t) out.strokes[t].length += band.strokes[t] * mm;
    for (const BaseBand::Eaten& e : band.eaten) {
      out.strokes[e.top].eaten += e.length * mm;
      out.strokes[e.top].base_width += e.length * mm * e.base_width;
      eaten[e.top][e.tile] += e.length;
    }
  }
  for (const double n : chokes) out.edges.length += n * mm;
  double below = 0;
  for (int b = 0; b < kBins; ++b) {
    below += chokes[static_cast<std::size_t>(b)] * mm;
    if (below < 0.5 * out.edges.length) continue;
    out.edges.median_choke = choke_of(b);
    break;
  }
  if (out.edges.out_length > 0) out.edges.out_mean /= out.edges.out_length;
  const std::size_t barest = bare.worst();
  out.bare.most_share = bare[barest] / (static_cast<double>(bare.side_px()) * bare.side_px());
  out.bare.at = bare.centre(barest);
  out.edges.out_at = out_tiles.centre(out_tiles.worst());
  for (std::size_t t = 0; t < tops.size(); ++t) {
    StrokesOnBase& s = out.strokes[t];
    if (s.eaten > 0) s.base_width /= s.eaten;
    s.eaten_at = eaten[t].centre(eaten[t].worst());
  }
  return out;
}

}  // namespace kirtle::check
