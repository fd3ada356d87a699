// Islands and holes: connected runs of pixels, joined row by row.
#include "plate/reshape/rows.h"

#include <numbers>

namespace kirtle::detail {

namespace {

struct Run {
  int y, from, to;
  std::uint32_t parent;
};

/// All runs joined to the one that the first of them is, by index; paths are halved on the way.
std::uint32_t root_of(std::vector<Run>& runs, std::uint32_t i) {
  while (runs[i].parent != i) i = runs[i].parent = runs[runs[i].parent].parent;
  return i;
}

void join(std::vector<Run>& runs, std::uint32_t a, std::uint32_t b) {
  a = root_of(runs, a);
  b = root_of(runs, b);
  runs[std::max(a, b)].parent = std::min(a, b);
}

template <class Sample>
Islands drop(PlateImage& plate, std::vector<Sample>& ink, double area_px, bool holes) {
  const int max = plate.max(), faint = max / 255;
  const auto strength = [&](Sample v) { return holes ? max - v : static_cast<int>(v); };
  std::vector<Run> runs;
  std::size_t above = 0, here = 0;  // first run of the row above, and of this one
  for (int y = 0; y < plate.height; ++y) {
    above = here;
    here = runs.size();
    std::size_t touch = above;
    const Sample* row = ink.data() + index_of(plate, 0, y);
    for (int x = 0; x < plate.width;) {
      if (strength(row[x]) <= faint) {
        ++x;
        continue;
      }
      Run run{y, x, x, static_cast<std::uint32_t>(runs.size())};
      while (run.to < plate.width && strength(row[run.to]) > faint) ++run.to;
      x = run.to;
      runs.push_back(run);
      // Corners touch.
      while (touch < here && runs[touch].to < run.from) ++touch;
      for (std::size_t k = touch; k < here && runs[k].from <= run.to; ++k)
        join(runs, static_cast<std::uint32_t>(k), run.parent);
    }
  }
  std::vector<double> sum(runs.size());
  std::vector<int> peak(runs.size());
  for (std::uint32_t i = 0; i < runs.size(); ++i) {
    const std::uint32_t root = root_of(runs, i);
    const Sample* row = ink.data() + index_of(plate, 0, runs[i].y);
    for (int x = runs[i].from; x < runs[i].to; ++x) {
      sum[root] += strength(row[x]);
      peak[root] = std::max(peak[root], strength(row[x]));
    }
  }
  Islands out;
  for (std::uint32_t i = 0; i < runs.size(); ++i) {
    const std::uint32_t root = root_of(runs, i);
    if (!(sum[root] / peak[root] < area_px)) continue;
    if (root == i && out.removed++ == 0) {
      out.x = runs[i].from;
      out.y = runs[i].y;
    }
    Sample* row = ink.data() + index_of(plate, 0, runs[i].y);
    std::fill(row + runs[i].from, row + runs[i].to, static_cast<Sample>(holes ? max : 0));
  }
  return out;
}

}  // namespace

Islands drop_islands(PlateImage& plate, double area_px, bool holes) {
  if (!(area_px > 0)) return {};
  return plate.bits == 8 ? drop(plate, plate.ink8, area_px, holes) : drop(plate, plate.ink16, area_px, holes);
}

double disc_px(Mm diameter, double ppi) {
  const double px = diameter.v / kMmPerInch * ppi;
  return std::numbers::pi / 4 * px * px;
}

}  // namespace kirtle::detail
