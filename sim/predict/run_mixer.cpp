#include "predict/run_mixer.h"

#include "base/check.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <utility>

namespace kirtle {

namespace {

constexpr std::size_t kSlots = 2 * 65536;
constexpr double kBendPx = 0.02;  // under which a tile is only shifted
constexpr int kGrid = 8;          // points a pixel side where several contours cut it

std::size_t at(int x, int y, int width) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
}

/// Where a sample lies between four pixels, in 1/256.
struct Between {
  int x = 0, y = 0, fx = 0, fy = 0;
  Between(double px, double py) {
    const auto whole = [](double v, int& part) {
      const auto steps = static_cast<int>(std::lround(v * 256));
      part = steps & 255;
      return (steps - part) / 256;
    };
    x = whole(px, fx);
    y = whole(py, fy);
  }
};

/// u8 planes without contours, in 16-bit arithmetic.
void move_cover(const std::uint8_t* from, int stride, const Between& b, int w, int h, std::uint8_t* to) {
  std::vector<std::uint16_t> rows(2 * static_cast<std::size_t>(w));
  std::uint16_t *above = rows.data(), *below = rows.data() + w;
  const auto right = static_cast<std::uint16_t>(b.fx), left = static_cast<std::uint16_t>(256 - b.fx);
  const auto along = [&](int y, std::uint16_t* out) {
    const std::uint8_t* v = from + static_cast<std::ptrdiff_t>(y) * stride;
    for (int x = 0; x < w; ++x) out[x] = static_cast<std::uint16_t>(v[x] * left + v[x + 1] * right);
  };
  along(0, above);
  const auto down = static_cast<std::uint32_t>(b.fy) << 8;
  for (int y = 0; y < h; ++y) {
    along(y + 1, below);
    for (int x = 0; x < w; ++x) {
      const auto lower = static_cast<std::uint16_t>((below[x] * down) >> 16);
      const auto upper = static_cast<std::uint16_t>(above[x] - ((above[x] * down) >> 16));
      to[x] =
          static_cast<std::uint8_t>(static_cast<std::uint16_t>(std::min(65407, upper + lower) + 128) >> 8);
    }
    to += w;
    std::swap(above, below);
  }
}

}  // namespace

void move_plate(const RunPlates& all, const RunPlate& plate, const TileSource& from, int w, int h,
                TilePlate& out) {
  out.cover.resize(at(0, h, w));
  const double bend = std::max({std::abs(from.xx), std::abs(from.xy), std::abs(from.yx), std::abs(from.yy)});
  const bool shift_alone = bend * std::max(w, h) < kBendPx;
  Between b(from.x, from.y);
  if (!out.contours && shift_alone) {
    move_cover(plate.cover.data() + all.at(b.x, b.y), all.stride, b, w, h, out.cover.data());
    return;
  }
  const int wide = w + 2;
  const bool edges = out.contours;
  if (edges) out.distance.assign(at(0, h + 2, wide), kEdgeFar);
  const auto stride = static_cast<std::size_t>(all.stride);
  int w11 = 0, w10 = 0, w01 = 0, w00 = 0;
  const auto weigh = [&] {
    w11 = b.fx * b.fy;
    w10 = 256 * b.fx - w11;
    w01 = 256 * b.fy - w11;
    w00 = 65536 - w11 - w10 - w01;
  };
  weigh();
  const int beside = edges ? 1 : 0;
  for (int v = -beside; v < h + beside; ++v) {
    for (int u = -beside; u < w + beside; ++u) {
      std::size_t i = 0;
      if (shift_alone) {
        i = all.at(b.x + u, b.y + v);
      } else {
        b = Between(from.x + u + from.xx * u + from.xy * v, from.y + v + from.yx * u + from.yy * v);
        weigh();
        i = all.at(b.x, b.y);
      }
      const bool inside = u >= 0 && v >= 0 && u < w && v < h;
      if (edges) {
        const std::int8_t* e = plate.edge.data() + i;
        const int d0 = e[0], d1 = e[1], d2 = e[stride], d3 = e[stride + 1];
        const bool near = std::abs(d0) < kEdgeFar || std::abs(d1) < kEdgeFar || std::abs(d2) < kEdgeFar ||
                          std::abs(d3) < kEdgeFar;
        const bool tint = d0 == kEdgeTint || d1 == kEdgeTint || d2 == kEdgeTint || d3 == kEdgeTint;
        if (near && !tint) {
          const int d = (d0 * w00 + d1 * w10 + d2 * w01 + d3 * w11 + 32768) >> 16;
          out.distance[at(u + 1, v + 1, wide)] = static_cast<std::int16_t>(d);
          if (inside) {
            out.cover[at(u, v, w)] =
                static_cast<std::uint8_t>(std::clamp((kEdgeStep / 2 - d) * 255 / kEdgeStep, 0, 255));
          }
          continue;
        }
      }
      if (!inside) continue;
      const std::uint8_t* c = plate.cover.data() + i;
      out.cover[at(u, v, w)] = static_cast<std::uint8_t>(
          (c[0] * w00 + c[1] * w10 + c[stride] * w01 + c[stride + 1] * w11 + 32768) >> 16);
    }
  }
}

RunMixer::RunMixer(const OverprintTable& table, std::vector<int> groups)
    : table_(&table),
      groups_(std::move(groups)),
      slots_(kSlots),
      shares_(static_cast<std::size_t>(table.plates())) {
  static_assert(kMostPlates <= 16);
}

void RunMixer::begin_shirt(const OverprintTable* table) {
  of_shirt_ = table;
  ++shirt_;
}

bool RunMixer::is_joint(const Tuple& tuple) const {
  for (std::size_t p = 0; p < groups_.size(); ++p) {
    if (groups_[p] < 0 || tuple.of(p) == 0 || tuple.of(p) == 255) continue;
    for (std::size_t q = 0; q < p; ++q) {
      if (groups_[q] == groups_[p] && tuple.of(q) != 0 && tuple.of(q) != 255) return true;
    }
  }
  return false;
}

std::size_t RunMixer::slot_of(const Tuple& tuple) {
  // Covers of the first two plates that are near each other lie near each other, as neighbouring pixels' do.
  const std::uint64_t rest =
      ((tuple.words[0] >> 16) ^ (tuple.words[1] * 0xC2B2AE3D27D4EB4Full)) * 0x9E3779B97F4A7C15ull;
  return 2 * ((tuple.words[0] ^ (rest >> 48)) & 0xFFFF);
}

const std::array<float, 3>& RunMixer::mixed(const Tuple& tuple) {
  // Two places for each tuple; the one used longer ago, about, makes room.
  Slot* slot = slots_.data() + slot_of(tuple);
  for (int i = 0; i < 2; ++i) {
    if (slot[i].key == tuple && (slot[i].shirt == 1 || slot[i].shirt == shirt_)) return slot[i].value;
  }
  if (slot[0].shirt == 1 || slot[0].shirt == shirt_) std::swap(slot[0], slot[1]);
  return mixed_anew(tuple, slot[0]);
}

const std::array<float, 3>& RunMixer::mixed_anew(const Tuple& tuple, Slot& slot) {
  for (std::size_t p = 0; p < shares_.size(); ++p) shares_[p] = tuple.of(p) / 255.0;
  const bool joint = is_joint(tuple);
  const XYZ c = (joint && of_shirt_ ? of_shirt_ : table_)->mix(shares_);
  slot.key = tuple;
  slot.value = opponent_of({static_cast<float>(c.x), static_cast<float>(c.y), static_cast<float>(c.z)});
  slot.shirt = joint ? shirt_ : 1;
  return slot.value;
}

/// A pixel cut by contours: the area mean of its sides, as the renderer has it.
std::array<float, 3> RunMixer::cut(std::span<const TilePlate> plates, std::span<const int> edges,
                                   const Tuple& tuple, int x, int y, int w) {
  Tuple sides = tuple;
  std::array<float, 3> out{};
  const auto add = [&](float share) {
    const std::array<float, 3>& c = mixed(sides);
    for (std::size_t i = 0; i < 3; ++i) out[i] += share * c[i];
  };
  if (edges.size() == 1) {
    const auto e = static_cast<std::size_t>(edges[0]);
    const float share = static_cast<float>(tuple.of(e)) / 255;
    sides.set(e, 255);
    add(share);
    sides.set(e, 0);
    add(1 - share);
    return out;
  }
  std::array<std::uint64_t, kMostPlates> masks{};
  for (std::size_t e = 0; e < edges.size(); ++e) {
    const std::int16_t* d =
        plates[static_cast<std::size_t>(edges[e])].distance.data() + at(x + 1, y + 1, w + 2);
    float gx = static_cast<float>(d[1] - d[-1]) / (2 * kEdgeStep),
          gy = static_cast<float>(d[w + 2] - d[-(w + 2)]) / (2 * kEdgeStep);
    const float length = std::hypot(gx, gy);
    if (length > 1) {
      gx /= length;
      gy /= length;
    }
    const float middle = static_cast<float>(d[0]) / kEdgeStep;
    for (int j = 0; j < kGrid; ++j) {
      for (int i = 0; i < kGrid; ++i) {
        const float ox = (static_cast<float>(i) + 0.5F) / kGrid - 0.5F,
                    oy = (static_cast<float>(j) + 0.5F) / kGrid - 0.5F;
        if (middle + gx * ox + gy * oy < 0) masks[e] |= std::uint64_t{1} << (j * kGrid + i);
      }
    }
  }
  for (unsigned c = 0; c < 1u << edges.size(); ++c) {
    std::uint64_t points = ~std::uint64_t{0};
    for (std::size_t e = 0; e < edges.size(); ++e) {
      const bool inside = (c >> e & 1u) != 0;
      points &= inside ? masks[e] : ~masks[e];
      sides.set(static_cast<std::size_t>(edges[e]), inside ? 255 : 0);
    }
    if (points != 0) add(static_cast<float>(std::popcount(points)) / 64);
  }
  return out;
}

void RunMixer::mix_tile(std::span<const TilePlate> plates, int w, int h, int side,
                        std::array<std::array<float, kEyeTile * kEyeTile>, 3>& sum) {
  Tuple still;
  struct Moving {
    const std::uint8_t* cover;
    std::size_t word, by;
  };
  std::array<Moving, kMostPlates> moving{};
  std::array<std::size_t, kMostPlates> contours{};
  std::size_t moving_count = 0, contour_count = 0;
  for (std::size_t p = 0; p < plates.size(); ++p) {
    if (plates[p].flat) {
      still.set(p, plates[p].value);
    } else {
      moving[moving_count++] = {plates[p].cover.data(), p / 8, 8 * (p % 8)};
    }
    if (plates[p].contours) contours[contour_count++] = p;
  }
  std::array<int, kMostPlates> edges{};
  Tuple last = still;
  std::array<float, 3> colour = mixed(still);
  for (int y = 0; y < h; ++y) {
    const int v = y / side, tall = std::min(side, h - v * side);
    // A row's tuples first, so that their places in memory are on the way when they are asked for.
    row_.assign(static_cast<std::size_t>(w), still);
    for (std::size_t m = 0; m < moving_count; ++m) {
      const std::uint8_t* cover = moving[m].cover + at(0, y, w);
      for (std::size_t x = 0; x < row_.size(); ++x)
        row_[x].words[moving[m].word] |= std::uint64_t{cover[x]} << moving[m].by;
    }
    for (const Tuple& tuple : row_) __builtin_prefetch(slots_.data() + slot_of(tuple));
    for (int x0 = 0; x0 < w; x0 += side) {
      const int x1 = std::min(w, x0 + side);
      std::array<float, 3> part{};
      for (int x = x0; x < x1; ++x) {
        const Tuple& tuple = row_[static_cast<std::size_t>(x)];
        std::size_t count = 0;
        for (std::size_t e = 0; e < contour_count; ++e) {
          const std::size_t p = contours[e];
          if (std::abs(plates[p].distance[at(x + 1, y + 1, w + 2)]) < kEdgeStep / 2)
            edges[count++] = static_cast<int>(p);
        }
        if (count > 0) {
          const std::array<float, 3> c = cut(plates, std::span(edges).first(count), tuple, x, y, w);
          for (std::size_t k = 0; k < 3; ++k) part[k] += c[k];
          continue;
        }
        if (!(tuple == last)) {
          colour = mixed(tuple);
          last = tuple;
        }
        for (std::size_t k = 0; k < 3; ++k) part[k] += colour[k];
      }
      const float share = 1 / static_cast<float>((x1 - x0) * tall);
      const std::size_t o = at(x0 / side, v, kEyeTile);
      for (std::size_t k = 0; k < 3; ++k) sum[k][o] += share * part[k];
    }
  }
}

}  // namespace kirtle
