#include "plate/reshape/builds.h"

#include "plate/reshape/contours.h"
#include "plate/reshape/rows.h"

#include <functional>

namespace kirtle {

namespace {

using detail::index_of;

/// Takes from `cut` what exceeds the way of the dark's film from one tone to the other.
void limit_to_tone(PlateImage& cut, const PlateImage& dark, double from, double to, unsigned threads) {
  detail::for_bands(cut.height, threads, [&](int y0, int rows) {
    const std::size_t first = index_of(cut, 0, y0);
    const std::size_t end = first + static_cast<std::size_t>(rows) * static_cast<std::size_t>(cut.width);
    for (std::size_t i = first; i < end; ++i) {
      if (detail::code_at(cut, i) == 0) continue;
      const double allowed = std::clamp((detail::film_of(dark, i) - from) / (to - from), 0.0, 1.0);
      if (allowed < detail::film_of(cut, i)) detail::put_film(cut, i, allowed);
    }
  });
}

/// `rim_px` may be negative: then what is cut reaches beyond the dark.
PlateImage cut_out(const PlateImage& light, const PlateImage& dark, double solid_from, double rim_px,
                   unsigned threads) {
  return detail::less(light, detail::moved(where_film_reaches(dark, solid_from, threads), -rim_px, threads),
                      threads);
}

/// The strongest film within two pixels.
double plateau(const PlateImage& p, int x, int y) {
  int high = 0;
  for (int j = std::max(y - 2, 0); j <= std::min(y + 2, p.height - 1); ++j) {
    for (int i = std::max(x - 2, 0); i <= std::min(x + 2, p.width - 1); ++i)
      high = std::max(high, detail::code_at(p, index_of(p, i, j)));
  }
  return static_cast<double>(high) / p.max();
}

/// One top of a base: where it prints, and the base's film by the top's code.
struct NeededBase {
  PlateImage prints;
  std::vector<float> film;
};

NeededBase needed(const BaseTop& top, const TonalBase& how, unsigned threads) {
  detail::check_range("need of a base", top.need, 0, 1);
  NeededBase out{where_film_reaches(*top.plate, how.prints_from, threads), {}};
  const int max = top.plate->max();
  for (int v = 0; v <= max; ++v) {
    const double film = static_cast<double>(v) / max;
    const double printed = top.curve != nullptr ? top.curve->printed(film) : film;
    const double base = top.need * std::pow(printed, how.pull_back);
    out.film.push_back(static_cast<float>(how.curve != nullptr ? how.curve->film_for(base) : base));
  }
  return out;
}

/// Film of the base where tops cover shares of a pixel: of what is covered, the part under the neediest
/// first.
double base_film(std::vector<std::pair<double, double>>& need_and_share) {
  std::sort(need_and_share.begin(), need_and_share.end(), std::greater<>());
  double left = 1, sum = 0;
  for (const auto& [need, share] : need_and_share) {
    const double part = std::min(share, left);
    sum += part * need;
    left -= part;
  }
  return left < 1 ? sum / (1 - left) : 0;
}

}  // namespace

Reshaped knock_out(const PlateImage& light, const PlateImage& dark, const KnockOut& how, double ppi,
                   unsigned threads) {
  detail::check_same_size(light, dark);
  const double rim = detail::length_px("rim", how.rim, ppi, 0);
  detail::check_range("film from which the dark prints solid", how.solid_from, 0, 1, true);
  switch (how.kind) {
    case KnockOutKind::hard:
      return detail::with_change(&light, cut_out(light, dark, how.solid_from, rim, threads), ppi, threads);
    case KnockOutKind::with_tone: {
      detail::check_range("film from which the light tapers off", how.taper_from, 0, how.solid_from - 1e-6,
                          true);
      PlateImage cut = detail::moved(where_film_reaches(dark, how.taper_from, threads), -rim, threads);
      limit_to_tone(cut, dark, how.taper_from, how.solid_from, threads);
      return detail::with_change(&light, detail::less(light, cut, threads), ppi, threads);
    }
  }
  throw InternalError("unknown kind of knock-out");
}

Reshaped underlay(std::span<const PlateImage* const> over, const Underlay& how, double ppi,
                  const PlateImage* before, unsigned threads) {
  KIRTLE_CHECK(over.empty(), ==, false);
  detail::check_range("film from which a plate prints", how.prints_from, 0, 1, true);
  detail::length_px("spread", how.spread, ppi, -kMostMovePx);
  PlateImage solid = where_film_reaches(*over.front(), how.prints_from, threads);
  for (const PlateImage* plate : over.subspan(1))
    solid = detail::together(solid, where_film_reaches(*plate, how.prints_from, threads), threads);
  detail::drop_islands(solid, detail::disc_px(how.close_specks, ppi), false);
  detail::drop_islands(solid, detail::disc_px(how.close_pinholes, ppi), true);
  if (how.spread.v < 0) {
    solid = choke_keeping_type(solid, {-how.spread.v}, ppi, how.keep, threads).plate;
  } else {
    solid = detail::moved(solid, how.spread.v / kMmPerInch * ppi, threads);
  }
  return detail::with_change(before, detail::with_bits(solid, over.front()->bits), ppi, threads);
}

Reshaped tonal_base(const TonalBase& how, double ppi, const PlateImage* before, unsigned threads) {
  KIRTLE_CHECK(how.tops.empty(), ==, false);
  detail::check_range("film from which a plate prints", how.prints_from, 0, 1, true);
  detail::check_range("pull-back of a base", how.pull_back, 1, 100);
  std::vector<NeededBase> tops;
  PlateImage outline;
  for (const BaseTop& top : how.tops) {
    tops.push_back(needed(top, how, threads));
    outline = tops.size() == 1 ? tops.back().prints : detail::together(outline, tops.back().prints, threads);
  }
  outline = choke_keeping_type(outline, how.choke, ppi, how.keep, threads).plate;
  const PlateImage& first = *how.tops.front().plate;
  PlateImage out = detail::blank_like(first, first.bits);
  out.dots = false;  // a base that is pulled back is a tint
  detail::for_bands(out.height, threads, [&](int y0, int rows) {
    std::vector<std::pair<double, double>> parts;
    for (int y = y0; y < y0 + rows; ++y) {
      for (int x = 0; x < out.width; ++x) {
        const std::size_t i = index_of(out, x, y);
        if (detail::code_at(outline, i) == 0) continue;
        parts.clear();
        for (std::size_t k = 0; k < tops.size(); ++k) {
          const double share = detail::film_of(tops[k].prints, i);
          if (!(share > 0)) continue;
          const PlateImage& plate = *how.tops[k].plate;
          // An edge's fraction is a share of the pixel, not a tone.
          const std::size_t code =
              share < 1 ? static_cast<std::size_t>(std::lround(plateau(plate, x, y) * plate.max()))
                        : static_cast<std::size_t>(detail::code_at(plate, i));
          parts.emplace_back(static_cast<double>(tops[k].film[code]), share);
        }
        detail::put_film(out, i, detail::film_of(outline, i) * base_film(parts));
      }
    }
  });
  for (const BaseHole& hole : how.holes) {
    const double rim = detail::length_px("rim of a base's hole", hole.rim, ppi, -kMostMovePx);
    out = cut_out(out, *hole.plate, hole.solid_from, rim, threads);
  }
  return detail::with_change(before, std::move(out), ppi, threads);
}

}  // namespace kirtle
