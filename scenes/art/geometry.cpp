#include "art/geometry.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <limits>

namespace kirtle::art {
namespace {

double segment_distance(Vec a, Vec b, Vec p) {
  const Vec ab = b - a, ap = p - a;
  const double l2 = dot(ab, ab);
  const double t = l2 > 0 ? clamp01(dot(ap, ab) / l2) : 0;
  return length(ap - ab * t);
}

// Barry-Goldman evaluation of the centripetal Catmull-Rom span between b and c.
Vec span_point(Vec a, Vec b, Vec c, Vec d, double t) {
  const auto knot = [](Vec p, Vec q) { return std::max(std::sqrt(length(q - p)), 1e-6); };
  const double t0 = 0, t1 = knot(a, b), t2 = t1 + knot(b, c), t3 = t2 + knot(c, d);
  const double u = mix(t1, t2, t);
  const auto between = [u](Vec p, Vec q, double from, double to) {
    return mix(p, q, (u - from) / (to - from));
  };
  const Vec a1 = between(a, b, t0, t1), a2 = between(b, c, t1, t2), a3 = between(c, d, t2, t3);
  return between(between(a1, a2, t0, t2), between(a2, a3, t1, t3), t1, t2);
}

int pieces(double length_mm, double step_mm) {
  return std::max(1, static_cast<int>(std::ceil(length_mm / step_mm)));
}

}  // namespace

Path curve(const Path& through, bool closed, double step_mm) {
  const int n = static_cast<int>(through.size());
  KIRTLE_CHECK(n, >=, 2);
  const auto at = [&](int i) {
    if (closed) return through[static_cast<std::size_t>((i % n + n) % n)];
    if (i < 0) return 2 * through[0] - through[1];
    if (i >= n) return 2 * through.back() - through[through.size() - 2];
    return through[static_cast<std::size_t>(i)];
  };
  Path out;
  for (int i = 0; i < (closed ? n : n - 1); ++i) {
    const int k = pieces(length(at(i + 1) - at(i)), step_mm);
    for (int j = 0; j < k; ++j)
      out.push_back(span_point(at(i - 1), at(i), at(i + 1), at(i + 2), static_cast<double>(j) / k));
  }
  if (!closed) out.push_back(through.back());
  return out;
}

Path bezier(Vec a, Vec b, Vec c, Vec d, double step_mm) {
  const int n = pieces(length(b - a) + length(c - b) + length(d - c), step_mm);
  Path out;
  for (int i = 0; i <= n; ++i) {
    const double t = static_cast<double>(i) / n, s = 1 - t;
    out.push_back(a * (s * s * s) + b * (3 * s * s * t) + c * (3 * s * t * t) + d * (t * t * t));
  }
  return out;
}

Path circle(Vec centre, double radius_mm, double step_mm) {
  return ellipse(centre, radius_mm, radius_mm, 0, step_mm);
}

Path ellipse(Vec centre, double rx_mm, double ry_mm, double turn, double step_mm) {
  const int n = std::max(16, pieces(2 * kPi * std::max(rx_mm, ry_mm), step_mm));
  Path out;
  for (int i = 0; i < n; ++i) {
    const double a = 2 * kPi * i / n;
    out.push_back(centre + rotated({rx_mm * std::cos(a), ry_mm * std::sin(a)}, turn));
  }
  return out;
}

Path arc(Vec centre, double radius_mm, double from, double to, double step_mm) {
  const int n = std::max(8, pieces(std::abs(to - from) * radius_mm, step_mm));
  Path out;
  for (int i = 0; i <= n; ++i)
    out.push_back(centre + polar(radius_mm, mix(from, to, static_cast<double>(i) / n)));
  return out;
}

double length(const Path& path) {
  double sum = 0;
  for (std::size_t i = 1; i < path.size(); ++i) sum += length(path[i] - path[i - 1]);
  return sum;
}

namespace {

struct Spot {
  std::size_t segment;
  double share;
};

Spot spot_at(const Path& path, double s) {
  KIRTLE_CHECK(path.size(), >=, 2u);
  double left = clamp01(s) * length(path);
  for (std::size_t i = 1; i < path.size(); ++i) {
    const double l = length(path[i] - path[i - 1]);
    if (left <= l && l > 0) return {i, left / l};
    left -= l;
  }
  return {path.size() - 1, 1};
}

}  // namespace

Vec point_at(const Path& path, double s) {
  const Spot q = spot_at(path, s);
  return mix(path[q.segment - 1], path[q.segment], q.share);
}

Vec direction_at(const Path& path, double s) {
  const Spot q = spot_at(path, s);
  return unit(path[q.segment] - path[q.segment - 1]);
}

Path resampled(const Path& path, int points) {
  KIRTLE_CHECK(points, >=, 2);
  KIRTLE_CHECK(path.size(), >=, 2u);
  const double step = length(path) / (points - 1);
  Path out{path.front()};
  double gone = 0;
  std::size_t i = 1;
  for (int k = 1; k + 1 < points; ++k) {
    const double want = step * k;
    double l = length(path[i] - path[i - 1]);
    while (i + 1 < path.size() && gone + l < want) {
      gone += l;
      ++i;
      l = length(path[i] - path[i - 1]);
    }
    out.push_back(mix(path[i - 1], path[i], l > 0 ? clamp01((want - gone) / l) : 0));
  }
  out.push_back(path.back());
  return out;
}

Path part(const Path& path, double from, double to) {
  const Spot a = spot_at(path, from), b = spot_at(path, to);
  Path out{mix(path[a.segment - 1], path[a.segment], a.share)};
  for (std::size_t i = a.segment; i < b.segment; ++i) out.push_back(path[i]);
  out.push_back(mix(path[b.segment - 1], path[b.segment], b.share));
  return out;
}

Path reversed(Path path) {
  std::reverse(path.begin(), path.end());
  return path;
}

Path joined(Path a, const Path& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

bool inside(const Path& contour, Vec p) {
  bool in = false;
  for (std::size_t i = 0, j = contour.size() - 1; i < contour.size(); j = i++) {
    const Vec a = contour[i], b = contour[j];
    if ((a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x) in = !in;
  }
  return in;
}

double distance(const Path& path, Vec p) {
  double best = std::numeric_limits<double>::max();
  for (std::size_t i = 1; i < path.size(); ++i)
    best = std::min(best, segment_distance(path[i - 1], path[i], p));
  return best;
}

DistanceField::DistanceField(std::span<const Path> contours, double cell_mm, double reach_mm)
    : cell_mm_(cell_mm), reach_mm_(reach_mm) {
  Vec low{1e9, 1e9}, high{-1e9, -1e9};
  for (const Path& c : contours)
    for (const Vec p : c) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
  origin_ = low - Vec{reach_mm, reach_mm};
  nx_ = static_cast<int>((high.x - low.x + 2 * reach_mm) / cell_mm) + 2;
  ny_ = static_cast<int>((high.y - low.y + 2 * reach_mm) / cell_mm) + 2;
  d_.resize(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_));
  parallel_for(static_cast<std::size_t>(ny_), 0, [&](std::size_t iy, unsigned) {
    for (int ix = 0; ix < nx_; ++ix) {
      const Vec p = origin_ + Vec{ix * cell_mm_, static_cast<double>(iy) * cell_mm_};
      double best = std::numeric_limits<double>::max();
      bool in = false;
      for (const Path& c : contours) {
        best = std::min(best, std::min(distance(c, p), segment_distance(c.back(), c.front(), p)));
        if (inside(c, p)) in = !in;
      }
      d_[iy * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(ix)] =
          static_cast<float>(in ? best : -best);
    }
  });
}

double DistanceField::operator()(Vec p) const {
  const double fx = (p.x - origin_.x) / cell_mm_, fy = (p.y - origin_.y) / cell_mm_;
  if (!(fx >= 0 && fy >= 0 && fx < nx_ - 1 && fy < ny_ - 1)) return -reach_mm_;
  const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
  const auto at = [&](int x, int y) {
    return static_cast<double>(
        d_[static_cast<std::size_t>(y) * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(x)]);
  };
  return mix(mix(at(ix, iy), at(ix + 1, iy), fx - ix), mix(at(ix, iy + 1), at(ix + 1, iy + 1), fx - ix),
             fy - iy);
}

std::uint32_t hash(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
  // Multiply and xor-shift rounds; constants are odd numbers of mixed bits (from memory of common integer
  // mixers).
  std::uint32_t h = a * 0x9E3779B1u ^ (b * 0x85EBCA77u + 0x27D4EB2Fu) ^ (c * 0xC2B2AE3Du + 0x165667B1u);
  h ^= h >> 16;
  h *= 0x7FEB352Du;
  h ^= h >> 15;
  h *= 0x846CA68Bu;
  h ^= h >> 16;
  return h;
}

double hash_unit(std::uint32_t a, std::uint32_t b, std::uint32_t c) { return hash(a, b, c) / 4294967296.0; }

double Dice::bell() { return (unit() + unit() + unit() - 1.5) * 2; }

double noise(Vec p, std::uint32_t seed) {
  const double fx = std::floor(p.x), fy = std::floor(p.y);
  const auto at = [&](int dx, int dy) {
    return hash_unit(static_cast<std::uint32_t>(static_cast<int>(fx) + dx),
                     static_cast<std::uint32_t>(static_cast<int>(fy) + dy), seed);
  };
  const auto ease = [](double t) { return t * t * t * (t * (t * 6 - 15) + 10); };
  const double u = ease(p.x - fx), v = ease(p.y - fy);
  return mix(mix(at(0, 0), at(1, 0), u), mix(at(0, 1), at(1, 1), u), v);
}

double fbm(Vec p, int octaves, std::uint32_t seed) {
  double sum = 0, weight = 0, w = 1;
  for (int i = 0; i < octaves; ++i, w *= 0.5) {
    sum += w * noise(p, seed + static_cast<std::uint32_t>(i) * 101u);
    weight += w;
    p = rotated(p * 2.03, 0.6) + Vec{17.3, 9.1};
  }
  return sum / weight;
}

Cell worley(Vec p, std::uint32_t seed) {
  Cell best{9, 9, 0};
  const int cx = static_cast<int>(std::floor(p.x)), cy = static_cast<int>(std::floor(p.y));
  for (int y = cy - 2; y <= cy + 2; ++y)
    for (int x = cx - 2; x <= cx + 2; ++x) {
      const auto ux = static_cast<std::uint32_t>(x), uy = static_cast<std::uint32_t>(y);
      const Vec q{x + hash_unit(ux, uy, seed), y + hash_unit(ux, uy, seed + 7919u)};
      const double d = length(p - q);
      if (d < best.nearest) {
        best = {d, best.nearest, hash(ux, uy, seed + 104729u)};
      } else {
        best.second = std::min(best.second, d);
      }
    }
  return best;
}

}  // namespace kirtle::art
