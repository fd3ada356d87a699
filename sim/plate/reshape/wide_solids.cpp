#include "plate/reshape/wide_solids.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace kirtle {

namespace {

constexpr float kNoSeed = 1e12F;
// Pixels: where an edge lies against the centres that decide, on the mean; and how far beyond a part's middle
// its anti-aliased edge may reach.
constexpr double kEdge = 0.16, kMargin = 1.5;

/// Squared distances along one line: the lower envelope of parabolas.
class LineTransform {
 public:
  explicit LineTransform(std::size_t n) : at_(n), from_(n + 1), in_(n) {}

  void run(float* values, std::size_t n, std::size_t stride) {
    for (std::size_t i = 0; i < n; ++i) in_[i] = values[i * stride];
    std::size_t k = 0;
    at_[0] = 0;
    from_[0] = -std::numeric_limits<double>::infinity();
    from_[1] = std::numeric_limits<double>::infinity();
    for (std::size_t q = 1; q < n; ++q) {
      double s = meet(q, at_[k]);
      while (s <= from_[k]) s = meet(q, at_[--k]);
      at_[++k] = q;
      from_[k] = s;
      from_[k + 1] = std::numeric_limits<double>::infinity();
    }
    k = 0;
    for (std::size_t q = 0; q < n; ++q) {
      while (from_[k + 1] < static_cast<double>(q)) ++k;
      const double d = static_cast<double>(q) - static_cast<double>(at_[k]);
      values[q * stride] = static_cast<float>(d * d + static_cast<double>(in_[at_[k]]));
    }
  }

 private:
  double meet(std::size_t q, std::size_t p) const {
    const auto square = [](std::size_t v) { return static_cast<double>(v) * static_cast<double>(v); };
    return (static_cast<double>(in_[q]) + square(q) - static_cast<double>(in_[p]) - square(p)) /
           (2 * (static_cast<double>(q) - static_cast<double>(p)));
  }
  std::vector<std::size_t> at_;
  std::vector<double> from_;
  std::vector<float> in_;
};

/// 0 at the seeds and kNoSeed elsewhere becomes the squared distance to the nearest seed, in pixels.
void squared_distances(std::vector<float>& field, int width, int height, unsigned threads) {
  const auto w = static_cast<std::size_t>(width), h = static_cast<std::size_t>(height);
  constexpr std::size_t kLines = 64;
  parallel_for((w + kLines - 1) / kLines, threads, [&](std::size_t i, unsigned) {
    LineTransform line(h);
    for (std::size_t x = i * kLines; x < std::min(w, (i + 1) * kLines); ++x) line.run(&field[x], h, w);
  });
  parallel_for((h + kLines - 1) / kLines, threads, [&](std::size_t i, unsigned) {
    LineTransform line(w);
    for (std::size_t y = i * kLines; y < std::min(h, (i + 1) * kLines); ++y) line.run(&field[y * w], w, 1);
  });
}

}  // namespace

PlateImage wide_solids(const PlateImage& plate, double solid_from, Mm wide, double ppi, unsigned threads) {
  KIRTLE_CHECK(ppi, >, 0);
  const double reach = 0.5 * wide.v * ppi / kMmPerInch;
  std::vector<float> field(plate.pixels());
  for (int y = 0; y < plate.height; ++y) {
    for (int x = 0; x < plate.width; ++x)
      field[static_cast<std::size_t>(y) * plate.width + x] = plate.film(x, y) >= solid_from ? kNoSeed : 0.0F;
  }
  squared_distances(field, plate.width, plate.height, threads);
  const auto deep = static_cast<float>((reach + kEdge) * (reach + kEdge));
  for (float& d : field) d = d >= deep ? 0.0F : kNoSeed;
  squared_distances(field, plate.width, plate.height, threads);
  PlateImage out = plate;
  const auto near = static_cast<float>((reach + kMargin) * (reach + kMargin));
  for (std::size_t i = 0; i < field.size(); ++i) {
    if (field[i] <= near) continue;
    if (out.bits == 8)
      out.ink8[i] = 0;
    else
      out.ink16[i] = 0;
  }
  return out;
}

}  // namespace kirtle
