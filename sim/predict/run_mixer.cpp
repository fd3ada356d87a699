#include "predict/run_mixer.h"

#include "base/check.h"
#include "base/simd.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <utility>

namespace kirtle {

namespace {

constexpr std::size_t kSlots = 2 * 65536;
constexpr double kBendPx = 0.02;  // under which a tile is only shifted
constexpr int kGrid = 8;          // points a pixel side where several contours cut it

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
KIRTLE_WIDE void move_cover(const std::uint8_t* from, int stride, const Between& b, int w, int h,
                            std::uint8_t* to) {
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

/// Shares of the four pixels about a sample, in 1/65536: here, right, below, below right.
struct Shares {
  int w00 = 0, w10 = 0, w01 = 0, w11 = 0;
  explicit Shares(const Between& b) : w11(b.fx * b.fy) {
    w10 = 256 * b.fx - w11;
    w01 = 256 * b.fy - w11;
    w00 = 65536 - w11 - w10 - w01;
  }
};

/// One sample of a plate with contours: its cover, and the distance to the contour where one is near.
struct EdgeSample {
  std::int16_t distance;
  std::uint8_t cover;
};
inline EdgeSample sample_edge(const std::int8_t* e, const std::uint8_t* c, std::size_t stride,
                              const Shares& s) {
  const int d0 = e[0], d1 = e[1], d2 = e[stride], d3 = e[stride + 1];
  // Tints have the lowest value of all, and what is far on either side the next.
  const int low = std::min(std::min(d0, d1), std::min(d2, d3));
  const int nearest = std::min(std::min(std::abs(d0), std::abs(d1)), std::min(std::abs(d2), std::abs(d3)));
  const bool contour = low != kEdgeTint && nearest < kEdgeFar;
  const int d = (d0 * s.w00 + d1 * s.w10 + d2 * s.w01 + d3 * s.w11 + 32768) >> 16;
  const int of_contour = std::clamp((kEdgeStep / 2 - d) * 255 / kEdgeStep, 0, 255);
  const int of_plate =
      (c[0] * s.w00 + c[1] * s.w10 + c[stride] * s.w01 + c[stride + 1] * s.w11 + 32768) >> 16;
  return {static_cast<std::int16_t>(contour ? d : kEdgeFar),
          static_cast<std::uint8_t>(contour ? of_contour : of_plate)};
}

KIRTLE_WIDE void move_edge_row(const std::int8_t* __restrict e, const std::uint8_t* __restrict c,
                               std::size_t stride, const Shares& shares, std::size_t count,
                               std::int16_t* __restrict distance, std::uint8_t* __restrict cover) {
  const Shares s = shares;
  for (std::size_t i = 0; i < count; ++i) {
    const EdgeSample sample = sample_edge(e + i, c + i, stride, s);
    distance[i] = sample.distance;
    cover[i] = sample.cover;
  }
}

}  // namespace

void move_plate(const RunPlates& all, const RunPlate& plate, const TileSource& from, int w, int h,
                TilePlate& out) {
  out.cover.resize(row_major(0, h, w));
  const double bend = std::max({std::abs(from.xx), std::abs(from.xy), std::abs(from.yx), std::abs(from.yy)});
  const bool shift_alone = bend * std::max(w, h) < kBendPx;
  const Between b(from.x, from.y);
  const auto stride = static_cast<std::size_t>(all.stride);
  if (!out.contours) {
    if (shift_alone) {
      move_cover(plate.cover.data() + all.at(b.x, b.y), all.stride, b, w, h, out.cover.data());
      return;
    }
    for (int v = 0; v < h; ++v) {
      for (int u = 0; u < w; ++u) {
        const Between own(from.x + u + from.xx * u + from.xy * v, from.y + v + from.yx * u + from.yy * v);
        const Shares s(own);
        const std::uint8_t* c = plate.cover.data() + all.at(own.x, own.y);
        out.cover[row_major(u, v, w)] = static_cast<std::uint8_t>(
            (c[0] * s.w00 + c[1] * s.w10 + c[stride] * s.w01 + c[stride + 1] * s.w11 + 32768) >> 16);
      }
    }
    return;
  }
  const int wide = w + 2;
  out.distance.resize(row_major(0, h + 2, wide));
  out.row.resize(static_cast<std::size_t>(wide));
  for (int v = -1; v <= h; ++v) {
    std::int16_t* distance = out.distance.data() + row_major(0, v + 1, wide);
    if (shift_alone) {
      const std::size_t i = all.at(b.x - 1, b.y + v);
      move_edge_row(plate.edge.data() + i, plate.cover.data() + i, stride, Shares(b), out.row.size(),
                    distance, out.row.data());
    } else {
      for (int u = -1; u <= w; ++u) {
        const Between own(from.x + u + from.xx * u + from.xy * v, from.y + v + from.yx * u + from.yy * v);
        const std::size_t i = all.at(own.x, own.y);
        const EdgeSample s = sample_edge(plate.edge.data() + i, plate.cover.data() + i, stride, Shares(own));
        distance[u + 1] = s.distance;
        out.row[static_cast<std::size_t>(u + 1)] = s.cover;
      }
    }
    if (v >= 0 && v < h)
      std::copy_n(out.row.begin() + 1, w,
                  out.cover.begin() + static_cast<std::ptrdiff_t>(row_major(0, v, w)));
  }
}

RunMixer::RunMixer(const OverprintTable& table, std::vector<int> groups)
    : table_(&table), groups_(std::move(groups)), shares_(static_cast<std::size_t>(table.plates())) {
  static_assert(kMostPlates <= 16);
  const bool alone = std::all_of(groups_.begin(), groups_.end(), [](int group) { return group < 0; });
  if (table.plates() <= 2 && alone) {
    pairs_.assign(65536, {std::numeric_limits<float>::quiet_NaN(), 0, 0});
  } else {
    slots_.resize(kSlots);
  }
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
  if (!pairs_.empty()) {
    std::array<float, 3>& value = pairs_[tuple.words[0]];
    if (std::isnan(value[0])) value = mixed_anew(tuple);
    return value;
  }
  // Two places for each tuple; the one used longer ago, about, makes room.
  Slot* slot = slots_.data() + slot_of(tuple);
  for (int i = 0; i < 2; ++i) {
    if (slot[i].key == tuple && (slot[i].shirt == 1 || slot[i].shirt == shirt_)) return slot[i].value;
  }
  if (slot[0].shirt == 1 || slot[0].shirt == shirt_) std::swap(slot[0], slot[1]);
  const bool joint = is_joint(tuple);
  slot[0] = {tuple, mixed_anew(tuple), joint ? shirt_ : 1};
  return slot[0].value;
}

std::array<float, 3> RunMixer::mixed_anew(const Tuple& tuple) {
  for (std::size_t p = 0; p < shares_.size(); ++p) shares_[p] = tuple.of(p) / 255.0;
  const XYZ c = (of_shirt_ && is_joint(tuple) ? of_shirt_ : table_)->mix(shares_);
  return opponent_of({static_cast<float>(c.x), static_cast<float>(c.y), static_cast<float>(c.z)});
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
        plates[static_cast<std::size_t>(edges[e])].distance.data() + row_major(x + 1, y + 1, w + 2);
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

namespace {

/// Marks pixels whose cover is not that of the pixel on their left.
KIRTLE_WIDE void mark_changes(const std::uint8_t* __restrict cover, int count,
                              std::uint8_t* __restrict marks) {
  for (int x = 1; x < count; ++x) marks[x] |= static_cast<std::uint8_t>(cover[x] ^ cover[x - 1]);
}

/// Marks pixels that a contour cuts, and the ones after them.
KIRTLE_WIDE void mark_cuts(const std::int16_t* __restrict distance, int count,
                           std::uint8_t* __restrict marks) {
  constexpr int kHalf = kEdgeStep / 2;
  for (int x = 0; x < count; ++x)
    marks[x] |= static_cast<std::uint8_t>(distance[x] < kHalf && distance[x] > -kHalf ? 1 : 0);
  for (int x = 1; x < count; ++x)
    marks[x] |= static_cast<std::uint8_t>(distance[x - 1] < kHalf && distance[x - 1] > -kHalf ? 1 : 0);
}

}  // namespace

void RunMixer::mix_tile(std::span<const TilePlate> plates, int w, int h, int side,
                        std::array<std::array<float, kEyeTile * kEyeTile>, 3>& sum) {
  Tuple still;
  struct Moving {
    const std::uint8_t* cover;
    bool first;  ///< of a tuple's two words
    std::size_t by;
  };
  std::array<Moving, kMostPlates> moving{};
  std::array<std::size_t, kMostPlates> contours{};
  std::size_t moving_count = 0, contour_count = 0;
  for (std::size_t p = 0; p < plates.size(); ++p) {
    if (plates[p].flat) {
      still.set(p, plates[p].value);
    } else {
      moving[moving_count++] = {plates[p].cover.data(), p < 8, 8 * (p % 8)};
    }
    if (plates[p].contours) contours[contour_count++] = p;
  }
  std::array<int, kMostPlates> edges{};
  marks_.resize(static_cast<std::size_t>(w));
  runs_.resize(static_cast<std::size_t>(w) + 1);
  for (int y = 0; y < h; ++y) {
    const int v = y / side, tall = std::min(side, h - v * side);
    // Where in the row a run of pixels begins that are all alike.
    std::fill(marks_.begin(), marks_.end(), std::uint8_t{0});
    for (std::size_t m = 0; m < moving_count; ++m)
      mark_changes(moving[m].cover + row_major(0, y, w), w, marks_.data());
    for (std::size_t e = 0; e < contour_count; ++e)
      mark_cuts(plates[contours[e]].distance.data() + row_major(1, y + 1, w + 2), w, marks_.data());
    // The runs' tuples first, so that their places in memory are on the way when they are asked for.
    std::size_t runs = 0;
    for (int x = 0; x < w; ++x) {
      if (x > 0 && marks_[static_cast<std::size_t>(x)] == 0) continue;
      std::uint64_t first = still.words[0], second = still.words[1];  // apart, so that they stay in registers
      for (std::size_t m = 0; m < moving_count; ++m) {
        const std::uint64_t cover = std::uint64_t{moving[m].cover[row_major(x, y, w)]} << moving[m].by;
        (moving[m].first ? first : second) |= cover;
      }
      Run& run = runs_[runs++];
      run.x = x;
      run.tuple.words[0] = first;
      run.tuple.words[1] = second;
      if (pairs_.empty()) __builtin_prefetch(slots_.data() + slot_of(run.tuple));
    }
    runs_[runs].x = w;
    int u = -1, box_end = 0;  // the picture's pixel at work
    const float whole = 1 / static_cast<float>(side * tall);
    float share = whole;
    for (std::size_t r = 0; r < runs; ++r) {
      const auto& [x0, tuple] = runs_[r];
      std::size_t count = 0;
      for (std::size_t e = 0; e < contour_count; ++e) {
        const std::size_t p = contours[e];
        if (std::abs(plates[p].distance[row_major(x0 + 1, y + 1, w + 2)]) < kEdgeStep / 2)
          edges[count++] = static_cast<int>(p);
      }
      const std::array<float, 3> colour =
          count > 0 ? cut(plates, std::span(edges).first(count), tuple, x0, y, w) : mixed(tuple);
      const int x1 = runs_[r + 1].x;
      for (int x = x0; x < x1;) {
        if (x == box_end) {
          ++u;
          box_end = std::min(w, box_end + side);
          share = box_end - u * side == side ? whole : 1 / static_cast<float>((box_end - u * side) * tall);
        }
        const int end = std::min(x1, box_end);
        const std::size_t o = row_major(u, v, kEyeTile);
        const float part = share * static_cast<float>(end - x);
        for (std::size_t k = 0; k < 3; ++k) sum[k][o] += part * colour[k];
        x = end;
      }
    }
  }
}

}  // namespace kirtle
