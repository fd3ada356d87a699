#include "plate/reshape/contours.h"

#include "plate/reshape/rows.h"
#include "plate/reshape/strokes.h"

#include <numbers>

namespace kirtle {

namespace detail {

std::vector<ThinPiece> strokes_of(const PlateImage& plate, double widest, unsigned threads) {
  CutPixels pixels{plate.width, plate.height, std::vector<std::uint8_t>(plate.pixels())};
  const int max = plate.max(), low = max / 255, high = max - max / 255;
  for_bands(plate.height, threads, [&](int y0, int rows) {
    const DistanceRows d = contours_of(plate, y0, rows, 0, kEdgeReach);
    const std::size_t from = index_of(plate, 0, y0);
    for (std::size_t k = 0; k < d.tint.size(); ++k) {
      const int v = code_at(plate, from + k);
      const long cut = std::lround(static_cast<double>(v) / max * kCutSolid);
      pixels.cut[from + k] = d.tint[k] != 0 ? kCutTint
                             : v <= low     ? std::uint8_t{0}
                             : v >= high    ? kCutSolid
                                            : static_cast<std::uint8_t>(std::clamp(cut, 1L, kCutSolid - 1L));
    }
  });
  return thin_pieces(pixels, widest, threads);
}

}  // namespace detail

Reshaped move_contours(const PlateImage& plate, Mm outward, double ppi, unsigned threads) {
  const double px = detail::length_px("movement of contours", outward, ppi, -kMostMovePx);
  return detail::with_change(&plate, detail::moved(plate, px, threads), ppi, threads);
}

Reshaped choke_keeping_type(const PlateImage& plate, Mm choke, double ppi, Mm keep, unsigned threads) {
  const double c = detail::length_px("choke", choke, ppi, 0);
  detail::check_range("width of strokes to keep, mm", keep.v, 0, 1e6);
  if (c == 0) return {plate, change_between(plate, plate, ppi, threads)};
  const double k = keep.v / kMmPerInch * ppi;
  if (k == 0) return move_contours(plate, {-choke.v}, ppi, threads);
  // Each place of a stroke moves by as much as leaves it `keep` wide, but not by more than the choke; so
  // widths that rise go on rising.
  const double widest = k + 2 * c;
  const std::vector<detail::ThinPiece> strokes = detail::strokes_of(plate, widest, threads);
  // So do islands that are no longer than wide, by the disc of their area.
  const std::vector<detail::IslandRun> islands =
      detail::island_runs(plate, std::numbers::pi / 4 * widest * widest, false);
  PlateImage out = plate;
  detail::for_bands(plate.height, threads, [&](int y0, int rows) {
    std::vector<float> move(static_cast<std::size_t>(rows) * static_cast<std::size_t>(plate.width),
                            static_cast<float>(c));
    detail::for_strokes_near(strokes, y0, rows, 0.5 * widest + c + 3, [&](const detail::ThinPiece& p) {
      if (p.gap) return;
      const auto allowed = static_cast<float>(std::clamp(0.5 * (p.width - k), 0.0, c));
      // Where a stroke runs into something thick, it goes on to where that one's contour will be.
      detail::for_pixels_round(p, p.ends ? c : 0, 0.5 * p.width + 1.5, plate.width, y0, rows,
                               [&](int x, int y, double) {
                                 float& m = move[detail::index_of(plate, x, y - y0)];
                                 m = std::min(m, allowed);
                               });
    });
    const auto from_row = std::lower_bound(islands.begin(), islands.end(), y0,
                                           [](const detail::IslandRun& run, int y) { return run.y < y; });
    for (auto run = from_row; run != islands.end() && run->y < y0 + rows; ++run) {
      const double diameter = 2 * std::sqrt(run->area_px / std::numbers::pi);
      const auto allowed = static_cast<float>(std::clamp(0.5 * (diameter - k), 0.0, c));
      float* m = move.data() + detail::index_of(plate, 0, run->y - y0);
      for (int x = run->from; x < run->to; ++x) m[x] = std::min(m[x], allowed);
    }
    const double reach = static_cast<double>(static_cast<float>(c + detail::kEdgeReach));
    const DistanceRows all = detail::contours_of(plate, y0, rows, -c, reach);
    // Only where a stroke moves by less, and such a stroke is wide enough to be known by its distances.
    DistanceRows some;
    const std::size_t from = detail::index_of(plate, 0, y0);
    for (std::size_t i = 0; i < move.size(); ++i) {
      const auto moved = static_cast<double>(all.distance[i]);
      if (all.tint[i] != 0 || std::abs(moved) >= reach || !(move[i] > 0)) continue;
      double film = 0.5 - moved;
      if (move[i] < static_cast<float>(c)) {
        if (some.distance.empty()) some = detail::contours_of(plate, y0, rows, 0, reach);
        film = 0.5 - static_cast<double>(some.distance[i]) - static_cast<double>(move[i]);
      }
      if (film < 1) detail::put_film(out, from + i, film);
    }
  });
  return detail::with_change(&plate, std::move(out), ppi, threads);
}

}  // namespace kirtle
