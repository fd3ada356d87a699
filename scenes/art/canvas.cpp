#include "art/canvas.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cmath>

namespace kirtle::art {
namespace {

struct Box {
  int x0, y0, x1, y1;  // pixels, end not included
  bool empty() const { return x0 >= x1 || y0 >= y1; }
};

Box box_within(const Plane& plane, double x0, double y0, double x1, double y1) {
  return {std::max(0, static_cast<int>(std::floor(x0))), std::max(0, static_cast<int>(std::floor(y0))),
          std::min(plane.width(), static_cast<int>(std::ceil(x1)) + 1),
          std::min(plane.height(), static_cast<int>(std::ceil(y1)) + 1)};
}

float joined_ink(float k, float c, float t, Join how) {
  switch (how) {
    case Join::over:
      return k + c * (t - k);
    case Join::most:
      return std::max(k, c * t);
    case Join::add:
      return std::min(1.0f, k + c * t);
    case Join::deepen:
      return 1 - (1 - k) * (1 - c * t);
    case Join::keep:
      return k * (1 - c * (1 - t));
  }
  return k;
}

// Signed area coverage of one edge, summed along rows later: each row holds changes, the running sum is the
// winding averaged over the pixel. Exact for straight edges.
void add_edge(std::vector<float>& area, int width, int height, Vec a, Vec b) {
  if (a.y == b.y) return;
  const double sign = a.y < b.y ? 1 : -1;
  if (sign < 0) std::swap(a, b);
  const double slope = (b.x - a.x) / (b.y - a.y);
  const int y_first = std::max(0, static_cast<int>(std::floor(a.y)));
  const int y_last = std::min(height, static_cast<int>(std::ceil(b.y)));
  for (int y = y_first; y < y_last; ++y) {
    const double top = std::max<double>(y, a.y), low = std::min<double>(y + 1, b.y);
    const double d = (low - top) * sign;
    if (d == 0) continue;
    const double limit = width - 1e-9;
    double xa = std::clamp(a.x + (top - a.y) * slope, 0.0, limit);
    double xb = std::clamp(a.x + (low - a.y) * slope, 0.0, limit);
    if (xa > xb) std::swap(xa, xb);
    float* row = area.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(width + 2);
    const int ia = static_cast<int>(xa), ib = static_cast<int>(xb);
    if (ia == ib) {
      const double mid = (xa + xb) / 2 - ia;
      row[ia] += static_cast<float>(d * (1 - mid));
      row[ia + 1] += static_cast<float>(d * mid);
      continue;
    }
    const double per_px = d / (xb - xa);
    double before = 0;  // share of d already given out, as coverage of the pixel to the left
    for (int x = ia; x <= ib; ++x) {
      // Coverage right of the edge within pixel x: integral of the passed height over the pixel.
      const double from = std::max<double>(x, xa), to = std::min<double>(x + 1, xb);
      const double h0 = (from - xa) * per_px, h1 = (to - xa) * per_px;
      const double cover = (to - from) * (h0 + h1) / 2 + (x + 1 - to) * h1;
      row[x] += static_cast<float>(cover - before);
      before = cover;
    }
    row[ib + 1] += static_cast<float>(d - before);
  }
}

}  // namespace

Plane::Plane(double width_mm, double height_mm, double ppi, float ink)
    : width_(static_cast<int>(std::lround(width_mm * ppi / 25.4))),
      height_(static_cast<int>(std::lround(height_mm * ppi / 25.4))),
      ppi_(ppi) {
  KIRTLE_CHECK(width_, >, 0);
  KIRTLE_CHECK(height_, >, 0);
  ink_.assign(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_), ink);
}

float Plane::sample(Vec p) const {
  const double fx = p.x * px_per_mm() - 0.5, fy = p.y * px_per_mm() - 0.5;
  const int x = static_cast<int>(std::floor(fx)), y = static_cast<int>(std::floor(fy));
  const auto at = [&](int i, int j) {
    return i < 0 || j < 0 || i >= width_ || j >= height_ ? 0.0 : double(row(j)[i]);
  };
  const double u = fx - x, v = fy - y;
  return static_cast<float>(mix(mix(at(x, y), at(x + 1, y), u), mix(at(x, y + 1), at(x + 1, y + 1), u), v));
}

Plane Plane::blank() const {
  Plane out = *this;
  std::fill(out.ink_.begin(), out.ink_.end(), 0.0f);
  return out;
}

void fill(Plane& plane, std::span<const Path> contours, const Tone& tone, Join join) {
  const double k = plane.px_per_mm();
  double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
  for (const Path& c : contours)
    for (const Vec p : c) {
      x0 = std::min(x0, p.x * k);
      y0 = std::min(y0, p.y * k);
      x1 = std::max(x1, p.x * k);
      y1 = std::max(y1, p.y * k);
    }
  const Box box = box_within(plane, x0, y0, x1, y1);
  if (box.empty()) return;
  const int w = box.x1 - box.x0, h = box.y1 - box.y0;
  std::vector<float> area(static_cast<std::size_t>(w + 2) * static_cast<std::size_t>(h), 0.0f);
  const Vec corner{static_cast<double>(box.x0), static_cast<double>(box.y0)};
  for (const Path& c : contours)
    for (std::size_t i = 0; i < c.size(); ++i)
      add_edge(area, w, h, c[i] * k - corner, c[(i + 1) % c.size()] * k - corner);
  parallel_for(static_cast<std::size_t>(h), h * w < 40000 ? 1 : 0, [&](std::size_t j, unsigned) {
    const float* changes = area.data() + j * static_cast<std::size_t>(w + 2);
    const int y = box.y0 + static_cast<int>(j);
    float* row = plane.row(y) + box.x0;
    float winding = 0;
    for (int i = 0; i < w; ++i) {
      winding += changes[i];
      float c = std::min(1.0f, std::abs(winding));
      if (c < 1e-4f) continue;
      if (c > 0.9999f) c = 1;
      row[i] = joined_ink(row[i], c, tone(plane.centre(box.x0 + i, y)), join);
    }
  });
}

void fill(Plane& plane, const Path& contour, const Tone& tone, Join join) {
  fill(plane, std::span<const Path>(&contour, 1), tone, join);
}

Width even_width(double width_mm) {
  return [=](double) { return width_mm; };
}
Width swelling(double start_mm, double middle_mm, double end_mm) {
  return [=](double s) {
    const double ends = mix(start_mm, end_mm, s);
    return ends + (middle_mm - (start_mm + end_mm) / 2) * std::sin(kPi * s);
  };
}
Width tapering(double start_mm, double end_mm) {
  return [=](double s) { return mix(start_mm, end_mm, s); };
}

void stroke(Plane& plane, const Path& path, const Width& width, const Tone& tone, Join join) {
  if (path.size() < 2) return;
  const double k = plane.px_per_mm(), whole = length(path);
  if (!(whole > 0)) return;
  double widest = 0, x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
  std::vector<double> radius(path.size());
  double gone = 0;
  for (std::size_t i = 0; i < path.size(); ++i) {
    if (i > 0) gone += length(path[i] - path[i - 1]);
    radius[i] = std::max(0.0, width(gone / whole)) * k / 2;
    widest = std::max(widest, radius[i]);
    x0 = std::min(x0, path[i].x * k);
    y0 = std::min(y0, path[i].y * k);
    x1 = std::max(x1, path[i].x * k);
    y1 = std::max(y1, path[i].y * k);
  }
  const Box box = box_within(plane, x0 - widest - 1, y0 - widest - 1, x1 + widest + 1, y1 + widest + 1);
  if (box.empty()) return;
  const int w = box.x1 - box.x0, h = box.y1 - box.y0;
  std::vector<float> cover(static_cast<std::size_t>(w) * static_cast<std::size_t>(h), 0.0f);
  for (std::size_t i = 1; i < path.size(); ++i) {
    const Vec a = path[i - 1] * k, b = path[i] * k, ab = b - a;
    const double ra = radius[i - 1], rb = radius[i], r = std::max(ra, rb) + 1, l2 = dot(ab, ab);
    const Box part = box_within(plane, std::min(a.x, b.x) - r, std::min(a.y, b.y) - r, std::max(a.x, b.x) + r,
                                std::max(a.y, b.y) + r);
    for (int y = part.y0; y < part.y1; ++y)
      for (int x = part.x0; x < part.x1; ++x) {
        const Vec p = Vec{x + 0.5, y + 0.5} - a;
        const double t = l2 > 0 ? clamp01(dot(p, ab) / l2) : 0;
        const double d = length(p - ab * t), rt = mix(ra, rb, t);
        // A pixel's width across the line, cut by both its edges: right for lines thinner than a pixel too.
        const double c = clamp01(rt - d + 0.5) - clamp01(-rt - d + 0.5);
        float& at = cover[static_cast<std::size_t>(y - box.y0) * static_cast<std::size_t>(w) +
                          static_cast<std::size_t>(x - box.x0)];
        at = std::max(at, static_cast<float>(c));
      }
  }
  for (int j = 0; j < h; ++j) {
    float* row = plane.row(box.y0 + j) + box.x0;
    const float* c = cover.data() + static_cast<std::size_t>(j) * static_cast<std::size_t>(w);
    for (int i = 0; i < w; ++i)
      if (c[i] > 0) row[i] = joined_ink(row[i], c[i], tone(plane.centre(box.x0 + i, box.y0 + j)), join);
  }
}

void dot(Plane& plane, Vec centre, double radius_mm, const Tone& tone, Join join) {
  fill(plane, circle(centre, radius_mm, std::max(0.05, radius_mm / 20)), tone, join);
}

void ring(Plane& plane, Vec centre, double radius_mm, double line_mm, const Tone& tone, Join join) {
  const double step = std::max(0.05, radius_mm / 40);
  const Path both[] = {circle(centre, radius_mm + line_mm / 2, step),
                       reversed(circle(centre, radius_mm - line_mm / 2, step))};
  fill(plane, both, tone, join);
}

void map(Plane& plane, const std::function<float(float, Vec)>& f) {
  parallel_for(static_cast<std::size_t>(plane.height()), 0, [&](std::size_t j, unsigned) {
    const int y = static_cast<int>(j);
    float* row = plane.row(y);
    for (int x = 0; x < plane.width(); ++x) row[x] = f(row[x], plane.centre(x, y));
  });
}

namespace {

template <class F>
void with_rows(Plane& plane, const Plane& other, F f) {
  KIRTLE_CHECK(plane.width(), ==, other.width());
  KIRTLE_CHECK(plane.height(), ==, other.height());
  parallel_for(static_cast<std::size_t>(plane.height()), 0, [&](std::size_t j, unsigned) {
    float* row = plane.row(static_cast<int>(j));
    for (int x = 0; x < plane.width(); ++x) f(row[x], x, static_cast<int>(j));
  });
}

}  // namespace

void join(Plane& plane, const Plane& ink, const Plane& mask, Join how) {
  KIRTLE_CHECK(ink.width(), ==, mask.width());
  with_rows(plane, mask,
            [&](float& k, int x, int y) { k = joined_ink(k, mask.row(y)[x], ink.row(y)[x], how); });
}

void join(Plane& plane, const Tone& tone, const Plane& mask, Join how) {
  with_rows(plane, mask, [&](float& k, int x, int y) {
    const float c = mask.row(y)[x];
    if (c > 0) k = joined_ink(k, c, tone(plane.centre(x, y)), how);
  });
}

void clip(Plane& plane, const Plane& mask) {
  with_rows(plane, mask, [&](float& k, int x, int y) { k *= mask.row(y)[x]; });
}

void knock_out(Plane& plane, const Plane& mask) {
  with_rows(plane, mask, [&](float& k, int x, int y) { k *= 1 - mask.row(y)[x]; });
}

void blur(Plane& plane, double sigma_mm) {
  // Three boxes of odd width 2r+1 have variance r(r+1); each axis sums that.
  const double sigma_px = sigma_mm * plane.px_per_mm();
  const int r = static_cast<int>(std::lround((std::sqrt(1 + 4 * sigma_px * sigma_px) - 1) / 2));
  if (r < 1) return;
  const auto box_line = [r](const double* in, double* out, int n) {
    double sum = 0;
    for (int i = -r; i <= r; ++i) sum += in[std::clamp(i, 0, n - 1)];
    for (int i = 0; i < n; ++i) {
      out[i] = sum / (2 * r + 1);
      sum += in[std::min(i + r + 1, n - 1)] - in[std::max(i - r, 0)];
    }
  };
  const auto along = [&](int lines, int n, auto at) {
    parallel_for(static_cast<std::size_t>(lines), 0, [&](std::size_t line, unsigned) {
      std::vector<double> a(static_cast<std::size_t>(n)), b(a);
      for (int i = 0; i < n; ++i) a[static_cast<std::size_t>(i)] = at(static_cast<int>(line), i);
      box_line(a.data(), b.data(), n);
      box_line(b.data(), a.data(), n);
      box_line(a.data(), b.data(), n);
      for (int i = 0; i < n; ++i)
        at(static_cast<int>(line), i) = static_cast<float>(b[static_cast<std::size_t>(i)]);
    });
  };
  along(plane.height(), plane.width(), [&](int y, int x) -> float& { return plane.row(y)[x]; });
  along(plane.width(), plane.height(), [&](int x, int y) -> float& { return plane.row(y)[x]; });
}

std::vector<std::uint8_t> film_positive(const Plane& plane) {
  std::vector<std::uint8_t> out;
  out.reserve(static_cast<std::size_t>(plane.width()) * static_cast<std::size_t>(plane.height()));
  for (int y = 0; y < plane.height(); ++y)
    for (int x = 0; x < plane.width(); ++x) {
      const float k = plane.row(y)[x];
      const float ink = k < 0.02f ? 0.0f : k > 0.98f ? 1.0f : k;
      out.push_back(static_cast<std::uint8_t>(std::lround(255 * (1 - ink))));
    }
  return out;
}

}  // namespace kirtle::art
