#include "plate/reshape/rows.h"

#include "plate/reshape/contours.h"

#include <sstream>
#include <stdexcept>

namespace kirtle::detail {

PlateImage blank_like(const PlateImage& plate, int bits) {
  PlateImage out;
  out.name = plate.name;
  out.width = plate.width;
  out.height = plate.height;
  out.ppi = plate.ppi;
  out.dots = plate.dots;
  out.bits = bits;
  if (bits == 8) {
    out.ink8.assign(plate.pixels(), 0);
  } else {
    out.ink16.assign(plate.pixels(), 0);
  }
  return out;
}

PlateImage with_bits(PlateImage plate, int bits) {
  if (plate.bits == bits) return plate;
  PlateImage out = blank_like(plate, bits);
  for (std::size_t i = 0; i < plate.pixels(); ++i) put_film(out, i, film_of(plate, i));
  return out;
}

Reshaped with_change(const PlateImage* before, PlateImage after, double ppi, unsigned threads) {
  const Change change =
      change_between(before != nullptr ? *before : blank_like(after, after.bits), after, ppi, threads);
  return {std::move(after), change};
}

void check_range(const char* what, double value, double lowest, double highest, bool above) {
  if ((above ? value > lowest : value >= lowest) && value <= highest) return;
  std::ostringstream text;
  text << what << " is " << value << "; it must be " << (above ? "above " : "") << lowest << " to "
       << highest;
  throw std::domain_error(text.str());
}

double length_px(const char* what, Mm length, double ppi, double lowest_px) {
  KIRTLE_CHECK(ppi, >, 0);
  const double px = length.v / kMmPerInch * ppi;
  if (px >= lowest_px && px <= kMostMovePx) return px;
  std::ostringstream text;
  text << what << " is " << length.v << " mm; at " << ppi << " pixels per inch it must be "
       << lowest_px / ppi * kMmPerInch << " to " << kMostMovePx / ppi * kMmPerInch << " mm";
  throw std::domain_error(text.str());
}

void check_same_size(const PlateImage& a, const PlateImage& b) {
  KIRTLE_CHECK(a.width, ==, b.width);
  KIRTLE_CHECK(a.height, ==, b.height);
}

DistanceRows contours_of(const PlateImage& plate, int y0, int rows, double spread, double reach) {
  DistanceRows d = contour_distance(plate, y0 - 1, rows + 2, spread, reach, ContourPieces::even);
  const std::size_t width = static_cast<std::size_t>(plate.width);
  const std::vector<std::uint8_t> tint(d.tint.begin(), d.tint.end());
  for (std::size_t y = 1; y <= static_cast<std::size_t>(rows); ++y) {
    for (std::size_t x = 0; x < width; ++x) {
      if (tint[y * width + x] == 0) continue;
      int around = -1;
      for (std::size_t j = y - 1; j <= y + 1; ++j) {
        for (std::size_t i = x > 0 ? x - 1 : 0; i <= std::min(x + 1, width - 1); ++i)
          around += tint[j * width + i];
      }
      if (around < 3) d.tint[y * width + x] = 0;
    }
  }
  const auto trim = [&](auto& v) {
    v.resize(v.size() - width);
    v.erase(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(width));
  };
  trim(d.distance);
  trim(d.tint);
  d.y0 = y0;
  d.rows = rows;
  return d;
}

Slope slope_at(const PlateImage& p, int x, int y) {
  const int x0 = std::max(x - 1, 0), x1 = std::min(x + 1, p.width - 1);
  const int y0 = std::max(y - 1, 0), y1 = std::min(y + 1, p.height - 1);
  const auto v = [&](int i, int j) { return code_at(p, index_of(p, i, j)); };
  const int a = v(x0, y0), b = v(x, y0), c = v(x1, y0), d = v(x0, y), f = v(x1, y);
  const int g = v(x0, y1), h = v(x, y1), i = v(x1, y1);
  const double scale = 1.0 / (8.0 * p.max());
  return {scale * (a + 2.0 * d + g - c - 2.0 * f - i), scale * (a + 2.0 * b + c - g - 2.0 * h - i)};
}

double film_between(const PlateImage& p, double x, double y) {
  x = std::clamp(x, 0.0, p.width - 1.0);
  y = std::clamp(y, 0.0, p.height - 1.0);
  const int x0 = std::min(static_cast<int>(x), std::max(p.width - 2, 0));
  const int y0 = std::min(static_cast<int>(y), std::max(p.height - 2, 0));
  const int x1 = std::min(x0 + 1, p.width - 1), y1 = std::min(y0 + 1, p.height - 1);
  const double fx = x - x0, fy = y - y0;
  const double above = (1 - fx) * code_at(p, index_of(p, x0, y0)) + fx * code_at(p, index_of(p, x1, y0));
  const double below = (1 - fx) * code_at(p, index_of(p, x0, y1)) + fx * code_at(p, index_of(p, x1, y1));
  return ((1 - fy) * above + fy * below) / p.max();
}

double cosine(Slope a, Slope b) {
  const double lengths = std::sqrt((a.x * a.x + a.y * a.y) * (b.x * b.x + b.y * b.y));
  return lengths > 0 ? std::clamp((a.x * b.x + a.y * b.y) / lengths, -1.0, 1.0) : 0.0;
}

PlateImage less(const PlateImage& from, const PlateImage& by, unsigned threads) {
  check_same_size(from, by);
  PlateImage out = from;
  for_bands(from.height, threads, [&](int y0, int rows) {
    std::vector<std::uint8_t> tint_from, tint_by;  // only looked for where edges share a pixel
    for (int y = y0; y < y0 + rows; ++y) {
      for (int x = 0; x < from.width; ++x) {
        const std::size_t i = index_of(from, x, y);
        const int cut = code_at(by, i), ink = code_at(from, i);
        if (cut == 0 || ink == 0) continue;
        if (cut == by.max()) {
          put_film(out, i, 0);
          continue;
        }
        const double a = film_of(from, i), b = 1 - film_of(by, i);
        if (ink == from.max()) {
          put_film(out, i, b);
          continue;
        }
        if (tint_from.empty()) {
          tint_from = contours_of(from, y0, rows, 0, kEdgeReach).tint;
          tint_by = contours_of(by, y0, rows, 0, kEdgeReach).tint;
        }
        const std::size_t k = i - index_of(from, 0, y0);
        if (tint_from[k] != 0 || tint_by[k] != 0) {
          put_film(out, i, a * b);
        } else {
          put_film(out, i, both(a, b, -cosine(slope_at(from, x, y), slope_at(by, x, y))));
        }
      }
    }
  });
  return out;
}

PlateImage together(const PlateImage& a, const PlateImage& b, unsigned threads) {
  check_same_size(a, b);
  PlateImage out = a;
  for_bands(a.height, threads, [&](int y0, int rows) {
    for (int y = y0; y < y0 + rows; ++y) {
      for (int x = 0; x < a.width; ++x) {
        const std::size_t i = index_of(a, x, y);
        const double u = film_of(a, i), v = film_of(b, i);
        if (v == 0 || u == 1) continue;
        if (!fractional(u) || !fractional(v)) {
          put_film(out, i, std::max(u, v));
        } else {
          put_film(out, i, 1 - both(1 - u, 1 - v, cosine(slope_at(a, x, y), slope_at(b, x, y))));
        }
      }
    }
  });
  return out;
}

PlateImage moved(const PlateImage& plate, double px, unsigned threads) {
  PlateImage out = plate;
  if (px == 0) return out;
  // Held as a float, because distances are: "beyond reach" is an exact comparison.
  const double reach = static_cast<double>(static_cast<float>(std::abs(px) + kEdgeReach));
  for_bands(plate.height, threads, [&](int y0, int rows) {
    const DistanceRows d = contours_of(plate, y0, rows, px, reach);
    const std::size_t from = index_of(plate, 0, y0);
    for (std::size_t k = 0; k < d.distance.size(); ++k) {
      const auto distance = static_cast<double>(d.distance[k]);
      if (d.tint[k] != 0 || std::abs(distance) >= reach) continue;
      put_film(out, from + k, 0.5 - distance);
    }
  });
  return out;
}

}  // namespace kirtle::detail

namespace kirtle {

Change change_between(const PlateImage& before, const PlateImage& after, double ppi, unsigned threads) {
  KIRTLE_CHECK(ppi, >, 0);
  detail::check_same_size(before, after);
  // Whole codes are added up, so that the sums do not depend on how rows are shared out.
  struct Sums {
    long long before = 0, after = 0, up = 0, down = 0;
  };
  std::vector<Sums> bands(static_cast<std::size_t>(after.height / detail::kBandRows + 1));
  const int by = before.bits == 8 ? 257 : 1, ay = after.bits == 8 ? 257 : 1;  // 255 * 257 = 65535
  detail::for_bands(after.height, threads, [&](int y0, int rows) {
    Sums& s = bands[static_cast<std::size_t>(y0 / detail::kBandRows)];
    const std::size_t from = detail::index_of(after, 0, y0);
    const std::size_t to = from + static_cast<std::size_t>(rows) * static_cast<std::size_t>(after.width);
    for (std::size_t i = from; i < to; ++i) {
      const int b = by * detail::code_at(before, i), a = ay * detail::code_at(after, i);
      s.before += b;
      s.after += a;
      s.up += std::max(a - b, 0);
      s.down += std::max(b - a, 0);
    }
  });
  Sums all;
  for (const Sums& s : bands) {
    all.before += s.before;
    all.after += s.after;
    all.up += s.up;
    all.down += s.down;
  }
  const double pixel = kMmPerInch / ppi * (kMmPerInch / ppi), code = pixel / 65535.0;
  return {static_cast<double>(all.before) * code, static_cast<double>(all.after) * code,
          static_cast<double>(all.up) * code, static_cast<double>(all.down) * code,
          static_cast<double>(after.pixels()) * pixel};
}

}  // namespace kirtle
