#include "soft_print.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

constexpr int kGrid = 8;  // points a pixel side where several contours cut it

float distance(const PlateCodes& c, std::uint16_t code) {
  const auto reach = static_cast<float>(c.reach_px);
  if (code < kCodeDistance) return code == kCodeSolid ? -reach : reach;
  return (static_cast<float>(code - kCodeDistance) / kCodeDistanceSteps * 2 - 1) * reach;
}

/// Printed cover of a tint, by code.
std::vector<std::uint16_t> covers_of(const std::vector<ToneNode>& nodes) {
  std::vector<std::uint16_t> out(kCodeDistance);
  for (int v = 0; v <= kCodeTintSteps; ++v) {
    const double at = static_cast<double>(v) / kCodeTintSteps * (kToneNodes - 1);
    const auto low = static_cast<std::size_t>(std::min(static_cast<int>(at), kToneNodes - 2));
    const auto t = static_cast<float>(at - static_cast<double>(low));
    const float printed = nodes[low].printed + t * (nodes[low + 1].printed - nodes[low].printed);
    out[static_cast<std::size_t>(kCodeTint + v)] = static_cast<std::uint16_t>(65535 * printed + 0.5F);
  }
  return out;
}

}  // namespace

SoftPrint::SoftPrint(std::shared_ptr<const Build> build, const std::vector<RegisterOffset>& offsets,
                     const std::vector<bool>& prints, bool loupe)
    : build_(std::move(build)),
      width_(build_->width()),
      height_(build_->height()),
      mm_per_px_(kMmPerInch / build_->ppi()) {
  for (std::size_t i = 0; i < build_->codes.size(); ++i) {
    SoftPlate p;
    p.codes = build_->codes[i];
    const RegisterOffset& o = offsets[i];
    const double turn = o.turn_deg * std::numbers::pi / 180, c = std::cos(turn), s = std::sin(turn);
    p.map[0] = c / (1 + o.stretch_x);
    p.map[1] = s / (1 + o.stretch_x);
    p.map[2] = -s / (1 + o.stretch_y);
    p.map[3] = c / (1 + o.stretch_y);
    p.shift_x = o.dx.v / mm_per_px_;
    p.shift_y = o.dy.v / mm_per_px_;
    p.prints = prints[i];
    if (!p.codes->field) p.cover = covers_of(build_->tones[i]);
    // Seeds as in sim/print/loupe.cpp.
    if (loupe)
      dots_.emplace_back(build_->plates()[i].cover.tone, 1u + 0x9E3779B9u * static_cast<std::uint32_t>(i));
    plates_.push_back(std::move(p));
  }
}

double SoftPrint::film(std::size_t plate, double x, double y) const {
  double sx = 0, sy = 0;
  source(plates_[plate], x, y, sx, sy);
  const std::uint16_t c =
      code(plates_[plate], static_cast<int>(std::floor(sx + 0.5)), static_cast<int>(std::floor(sy + 0.5)));
  return decode(*plates_[plate].codes, c).film;
}

std::uint16_t SoftPrint::code(const SoftPlate& p, int x, int y) const {
  if (x < 0 || y < 0 || x >= width_ || y >= height_) return kCodeNone;
  return p.codes
      ->code[static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(x)];
}
void SoftPrint::source(const SoftPlate& p, double x, double y, double& sx, double& sy) const {
  const double cx = 0.5 * (width_ - 1), cy = 0.5 * (height_ - 1), u = x - cx - p.shift_x,
               v = y - cy - p.shift_y;
  sx = cx + p.map[0] * u + p.map[1] * v;
  sy = cy + p.map[2] * u + p.map[3] * v;
}

SoftLaid SoftPrint::laid(const SoftPlate& p, double x, double y) const {
  SoftLaid out{0, 1e3F, false};
  if (!p.prints) return out;
  double sx = 0, sy = 0;
  source(p, x, y, sx, sy);
  const double nx = std::floor(sx + 0.5), ny = std::floor(sy + 0.5);
  const bool single = std::abs(sx - nx) < 1e-4 && std::abs(sy - ny) < 1e-4;
  const int ix = static_cast<int>(single ? nx : std::floor(sx)),
            iy = static_cast<int>(single ? ny : std::floor(sy));
  const auto fx = static_cast<float>(single ? 0 : sx - ix), fy = static_cast<float>(single ? 0 : sy - iy);
  const float w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
  const int taps = single ? 1 : 4;
  const PlateCodes& c = *p.codes;
  if (c.field) {
    for (int k = 0; k < taps; ++k) {
      const int px = ix + k % 2, py = iy + k / 2;
      if (px < 0 || py < 0 || px >= width_ || py >= height_) continue;
      out.cover +=
          w[k] * static_cast<float>(c.dose[static_cast<std::size_t>(py) * static_cast<std::size_t>(width_) +
                                           static_cast<std::size_t>(px)]);
    }
    return out;
  }
  const auto reach = static_cast<float>(c.reach_px);
  float d = 0;
  bool close = false, tinted = false;
  for (int k = 0; k < taps; ++k) {
    if (w[k] <= 0) continue;
    const std::uint16_t v = code(p, ix + k % 2, iy + k / 2);
    const float dk = distance(c, v);
    const bool tint = v >= kCodeTint && v < kCodeDistance;
    tinted = tinted || tint;
    close = close || (!tint && std::abs(dk) < (single ? reach : reach - 1));
    out.cover += w[k] * (tint ? static_cast<float>(p.cover[v]) : 65535 * std::clamp(0.5F - dk, 0.0F, 1.0F));
    d += w[k] * dk;
  }
  if (close && !tinted) {
    out.contour = true;
    out.distance = d;
    out.cover = 65535 * std::clamp(0.5F - d, 0.0F, 1.0F);
  }
  return out;
}

bool SoftPrint::inked(std::size_t i, double x, double y) const {
  const SoftPlate& p = plates_[i];
  if (!p.prints) return false;
  double sx = 0, sy = 0;
  source(p, x, y, sx, sy);
  const int ix = static_cast<int>(std::floor(sx)), iy = static_cast<int>(std::floor(sy));
  const double fx = sx - ix, fy = sy - iy;
  const double w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
  const int nearest = (fx >= 0.5 ? 1 : 0) + (fy >= 0.5 ? 2 : 0);
  double d = 0, film = 0, weight = 0;
  bool tint_here = false;
  for (int k = 0; k < 4; ++k) {
    const DecodedPixel c = decode(*p.codes, code(p, ix + k % 2, iy + k / 2));
    if (c.tint || c.film == 0 || c.film == 1) {
      film += w[k] * c.film;
      weight += w[k];
    }
    if (!c.tint) d += w[k] * c.distance;
    if (k == nearest) tint_here = c.tint;
  }
  if (!tint_here) return d < 0;
  return dots_[i].inked((sx + 0.5) * mm_per_px_, (sy + 0.5) * mm_per_px_, film / weight);
}

float SoftPrint::contour_at(const SoftPlate& p, double x, double y) const {
  const SoftLaid l = laid(p, x, y);
  const auto reach = static_cast<float>(p.codes->reach_px);
  return l.contour ? l.distance : l.cover > 32767 ? -reach : reach;
}
std::uint64_t SoftPrint::points_inside(const SoftPlate& p, float d, double x, double y, float size) const {
  const double left = std::max(x - 1, 0.0), right = std::min(x + 1, width_ - 1.0), up = std::max(y - 1, 0.0),
               down = std::min(y + 1, height_ - 1.0);
  float gx =
      (contour_at(p, right, y) - contour_at(p, left, y)) / static_cast<float>(std::max(right - left, 1.0));
  float gy = (contour_at(p, x, down) - contour_at(p, x, up)) / static_cast<float>(std::max(down - up, 1.0));
  const float length = std::hypot(gx, gy);
  if (length > 1) {
    gx /= length;
    gy /= length;
  }
  std::uint64_t mask = 0;
  for (int j = 0; j < kGrid; ++j) {
    for (int i = 0; i < kGrid; ++i) {
      const float ox = (static_cast<float>(i) + 0.5F) / kGrid - 0.5F,
                  oy = (static_cast<float>(j) + 0.5F) / kGrid - 0.5F;
      if (d + size * (gx * ox + gy * oy) < 0) mask |= std::uint64_t{1} << (j * kGrid + i);
    }
  }
  return mask;
}

XYZf SoftPrint::arms_length(double x, double y, float size, Mixer& mixer) const {
  CoverTuple cover{};
  std::array<int, kMostPlates> edge{};
  std::array<float, kMostPlates> d{};
  std::size_t edges = 0;
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    const SoftLaid l = laid(plates_[i], x, y);
    cover[i] = static_cast<std::uint16_t>(l.cover + 0.5F);
    if (!l.contour) continue;
    if (std::abs(l.distance) < 0.5F * size) {
      d[edges] = l.distance;
      edge[edges++] = static_cast<int>(i);
    } else {
      cover[i] = l.distance < 0 ? 65535 : 0;
    }
  }
  if (edges == 0) return mixer.mix(cover.data());
  if (edges == 1) {
    const float share = std::clamp(0.5F - d[0] / size, 0.0F, 1.0F);
    cover[static_cast<std::size_t>(edge[0])] = 65535;
    const XYZf in = mixer.mix(cover.data());
    cover[static_cast<std::size_t>(edge[0])] = 0;
    const XYZf out = mixer.mix(cover.data());
    return {out.x + share * (in.x - out.x), out.y + share * (in.y - out.y), out.z + share * (in.z - out.z)};
  }
  std::array<std::uint64_t, kMostPlates> mask{};
  for (std::size_t e = 0; e < edges; ++e)
    mask[e] = points_inside(plates_[static_cast<std::size_t>(edge[e])], d[e], x, y, size);
  XYZf sum;
  for (unsigned c = 0; c < 1u << edges; ++c) {
    std::uint64_t points = ~std::uint64_t{0};
    for (std::size_t e = 0; e < edges; ++e) {
      const bool in = c >> e & 1u;
      points &= in ? mask[e] : ~mask[e];
      cover[static_cast<std::size_t>(edge[e])] = in ? 65535 : 0;
    }
    if (points == 0) continue;
    const XYZf part = mixer.mix(cover.data());
    const float w = static_cast<float>(std::popcount(points)) / 64;
    sum = {sum.x + w * part.x, sum.y + w * part.y, sum.z + w * part.z};
  }
  return sum;
}

XYZf SoftPrint::under_loupe(double x, double y, Mixer& mixer) const {
  CoverTuple cover{};
  for (std::size_t i = 0; i < plates_.size(); ++i) {
    if (plates_[i].codes->field) {
      // Few doses, so that few colours are worked out.
      cover[i] =
          static_cast<std::uint16_t>(std::lround(laid(plates_[i], x, y).cover / 65535 * 1023) * 65535 / 1023);
    } else {
      cover[i] = inked(i, x, y) ? 65535 : 0;
    }
  }
  return mixer.mix(cover.data());
}
}  // namespace kirtle
