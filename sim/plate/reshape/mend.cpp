#include "plate/reshape/mend.h"

#include "plate/reshape/rows.h"
#include "plate/reshape/strokes.h"

namespace kirtle {

namespace {

using detail::index_of;

void mend_tones(PlateImage& plate, const Mend& what, double pixel_mm2, MendReport& report, unsigned threads) {
  detail::check_range("smallest tone", what.smallest_tone, 0, 1);
  detail::check_range("largest tone", what.largest_tone, what.smallest_tone, 1);
  if (what.faint == FaintTones::leave) return;
  const PlateImage before = plate;
  const bool raise = what.faint == FaintTones::raise;
  std::vector<std::size_t> faint(static_cast<std::size_t>(plate.height)), dense(faint.size());
  detail::for_bands(plate.height, threads, [&](int y0, int rows) {
    const DistanceRows d = detail::contours_of(before, y0, rows, 0, detail::kEdgeReach);
    const std::size_t from = index_of(plate, 0, y0);
    for (std::size_t k = 0; k < d.tint.size(); ++k) {
      if (d.tint[k] == 0) continue;
      const double film = detail::film_of(before, from + k);
      const std::size_t y = static_cast<std::size_t>(y0) + k / static_cast<std::size_t>(plate.width);
      if (film < what.smallest_tone) {
        detail::put_film(plate, from + k, raise ? what.smallest_tone : 0);
        ++faint[y];
      } else if (film > what.largest_tone) {
        detail::put_film(plate, from + k, raise ? what.largest_tone : 1);
        ++dense[y];
      }
    }
  });
  for (std::size_t y = 0; y < faint.size(); ++y) {
    report.faint_mm2 += static_cast<double>(faint[y]) * pixel_mm2;
    report.dense_mm2 += static_cast<double>(dense[y]) * pixel_mm2;
  }
}

/// Length of what is too thin. Near 45 degrees rows and columns both see a line; it counts once.
void note_strokes(const PlateImage& plate, const std::vector<detail::ThinPiece>& strokes, double line,
                  double gap, double mm, MendReport& report) {
  std::vector<bool> seen(plate.pixels());
  bool first = true;
  for (const bool by_rows : {true, false}) {
    for (const detail::ThinPiece& p : strokes) {
      if (!(p.width < (p.gap ? gap : line)) || p.by_columns == by_rows) continue;
      const int x = std::clamp(static_cast<int>(0.5 * (p.x0 + p.x1)), 0, plate.width - 1);
      const int y = std::clamp(static_cast<int>(0.5 * (p.y0 + p.y1)), 0, plate.height - 1);
      bool counted = false;
      for (int j = std::max(y - 1, 0); !by_rows && j <= std::min(y + 1, plate.height - 1); ++j) {
        for (int i = std::max(x - 1, 0); i <= std::min(x + 1, plate.width - 1); ++i)
          counted = counted || seen[index_of(plate, i, j)];
      }
      if (by_rows) seen[index_of(plate, x, y)] = true;
      if (counted) continue;
      (p.gap ? report.thin_gap_mm : report.thin_line_mm) += std::hypot(p.x1 - p.x0, p.y1 - p.y0) * mm;
      if (!p.gap && first) {
        report.thin_line_at = {{p.x0 * mm}, {p.y0 * mm}};
        first = false;
      }
    }
  }
}

/// Lines and gaps thinner than wanted are laid again, round their middles, as wide as wanted.
void mend_lines(PlateImage& plate, const Mend& what, double ppi, MendReport& report, unsigned threads) {
  const double line = detail::length_px("thinnest line", what.thinnest_line, ppi, 0);
  const double gap = detail::length_px("thinnest gap", what.thinnest_gap, ppi, 0);
  const double widest = std::max(line, gap), mm = kMmPerInch / ppi;
  if (widest == 0) return;
  const std::vector<detail::ThinPiece> strokes = detail::strokes_of(plate, widest, threads);
  const auto wanted = [&](const detail::ThinPiece& p) { return p.gap ? gap : line; };
  note_strokes(plate, strokes, line, gap, mm, report);
  detail::for_bands(plate.height, threads, [&](int y0, int rows) {
    // Gaps first: where a line crosses one, the line stays whole.
    for (const bool gaps : {true, false}) {
      detail::for_strokes_near(strokes, y0, rows, 0.5 * widest + 2, [&](const detail::ThinPiece& p) {
        if (p.gap != gaps || !(p.width < wanted(p))) return;
        const double half = 0.5 * wanted(p);
        detail::for_pixels_round(p, 0, half + 0.5, plate.width, y0, rows, [&](int x, int y, double distance) {
          const std::size_t i = index_of(plate, x, y);
          const double share = std::clamp(half + 0.5 - distance, 0.0, 1.0), film = detail::film_of(plate, i);
          detail::put_film(plate, i, p.gap ? std::min(film, 1 - share) : std::max(film, share));
        });
      });
    }
  });
}

PlateSpot spot_of(const detail::Islands& found, double mm) {
  return found.removed > 0 ? PlateSpot{{(found.x + 0.5) * mm}, {(found.y + 0.5) * mm}} : PlateSpot{};
}

}  // namespace

Mended mend_plate(const PlateImage& plate, const Mend& what, double ppi, unsigned threads) {
  detail::length_px("dust", what.dust, ppi, 0);
  detail::length_px("pinholes", what.pinholes, ppi, 0);
  const double mm = kMmPerInch / ppi;
  MendReport report;
  PlateImage out = plate;
  const detail::Islands specks = detail::drop_islands(out, detail::disc_px(what.dust, ppi), false);
  const detail::Islands holes = detail::drop_islands(out, detail::disc_px(what.pinholes, ppi), true);
  report.specks = specks.removed;
  report.pinholes = holes.removed;
  report.speck_at = spot_of(specks, mm);
  report.pinhole_at = spot_of(holes, mm);
  mend_tones(out, what, mm * mm, report, threads);
  mend_lines(out, what, ppi, report, threads);
  return {detail::with_change(&plate, std::move(out), ppi, threads), report};
}

}  // namespace kirtle
