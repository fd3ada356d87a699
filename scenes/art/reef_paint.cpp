#include "art/reef_paint.h"

namespace kirtle::art::reef {

std::vector<Knot> spline(const std::vector<Knot>& through, int per) {
  std::vector<Knot> out;
  const int n = static_cast<int>(through.size());
  for (int i = 0; i + 1 < n; ++i) {
    const Knot &p0 = through[std::max(0, i - 1)], &p1 = through[i], &p2 = through[i + 1],
               &p3 = through[std::min(n - 1, i + 2)];
    for (int j = 0; j < per; ++j) {
      const double t = static_cast<double>(j) / per, t2 = t * t, t3 = t2 * t;
      const double a = -0.5 * t3 + t2 - 0.5 * t, b = 1.5 * t3 - 2.5 * t2 + 1,
                   c = -1.5 * t3 + 2 * t2 + 0.5 * t, d = 0.5 * t3 - 0.5 * t2;
      out.push_back({p0.p * a + p1.p * b + p2.p * c + p3.p * d, mix(p1.r, p2.r, t)});
    }
  }
  if (n > 0) out.push_back(through.back());
  return out;
}

namespace detail {

Box stroke_box(const std::vector<Knot>& k, double grow) {
  Box box{{1e9, 1e9}, {-1e9, -1e9}};
  for (const Knot& n : k) {
    const double r = n.r + grow;
    box.lo = {std::min(box.lo.x, n.p.x - r), std::min(box.lo.y, n.p.y - r)};
    box.hi = {std::max(box.hi.x, n.p.x + r), std::max(box.hi.y, n.p.y + r)};
  }
  return box;
}

void trace(const Picture& pic, const std::vector<Knot>& k, double grow, int x0, int y0, int x1, int y1,
           std::vector<StrokeCell>& cells) {
  const int stride = x1 - x0 + 1;
  cells.assign(static_cast<std::size_t>(stride) * (y1 - y0 + 1), StrokeCell{1e9F, 0, 0, 0, 0, 0});
  const double px = pic.px_mm();
  const int last = static_cast<int>(k.size()) - 1;
  for (int i = 0; i < last; ++i) {
    const Knot &a = k[i], &b = k[i + 1];
    const Vec d = b.p - a.p;
    const double inv = 1 / std::max(1e-12, dot(d, d)), reach = std::max(a.r, b.r) + grow + px;
    const int cx0 = std::max(x0, pic.column(std::min(a.p.x, b.p.x) - reach));
    const int cx1 = std::min(x1, pic.column(std::max(a.p.x, b.p.x) + reach));
    const int cy0 = std::max(y0, pic.row(std::min(a.p.y, b.p.y) - reach));
    const int cy1 = std::min(y1, pic.row(std::max(a.p.y, b.p.y) + reach));
    for (int y = cy0; y <= cy1; ++y)
      for (int x = cx0; x <= cx1; ++x) {
        const Vec p = pic.place(x, y) - a.p;
        const double t = clamp01(dot(p, d) * inv);
        const Vec off = p - d * t;
        const double r = std::max(1e-6, mix(a.r, b.r, t) + grow), far = length(off);
        const double q = far - std::max(r, 0.5 * px);
        StrokeCell& c = cells[static_cast<std::size_t>(y - y0) * stride + (x - x0)];
        if (q >= c.q) continue;
        c = {static_cast<float>(q),         static_cast<float>((i + t) / last),
             static_cast<float>(off.x / r), static_cast<float>(off.y / r),
             static_cast<float>(r),         i};
      }
  }
}

}  // namespace detail

void glow(Picture& pic, Vec centre, double radius_mm, Rgb light) {
  wash(pic, around(centre, radius_mm, radius_mm), [&](Vec at) {
    const double d = length(at - centre) / radius_mm, f = d < 1 ? (1 - d * d) * (1 - d * d) * (1 - d) : 0;
    return Paint{light * f, 0};
  });
}

void shadow(Picture& pic, const std::vector<Knot>& k, double reach_mm, double strength) {
  stroke(
      pic, k,
      [&](const OnStroke& o) {
        const double deep = std::max(0.0, length(o.off) * o.r - (o.r - reach_mm)) / reach_mm;
        return Paint{{}, strength * (1 - smooth(0, 1, deep))};
      },
      reach_mm);
}

}  // namespace kirtle::art::reef
