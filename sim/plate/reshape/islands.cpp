// Islands and holes: connected runs of pixels, joined row by row.
#include "plate/reshape/rows.h"

#include <numbers>

namespace kirtle::detail {

namespace {

struct Run {
  int y, from, to;
  std::uint32_t parent;
  double sum;  // of its pixels' strength; of the root in the end: of all
  int peak;
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
std::vector<IslandRun> runs_of(const PlateImage& plate, const std::vector<Sample>& ink, double area_px,
                               bool holes) {
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
      Run run{y, x, x, static_cast<std::uint32_t>(runs.size()), 0, 0};
      for (; run.to < plate.width && strength(row[run.to]) > faint; ++run.to) {
        run.sum += strength(row[run.to]);
        run.peak = std::max(run.peak, strength(row[run.to]));
      }
      x = run.to;
      runs.push_back(run);
      // Corners touch.
      while (touch < here && runs[touch].to < run.from) ++touch;
      for (std::size_t k = touch; k < here && runs[k].from <= run.to; ++k)
        join(runs, static_cast<std::uint32_t>(k), run.parent);
    }
  }
  // A root is the first of its runs, so it is passed before them.
  for (std::uint32_t i = 0; i < runs.size(); ++i) {
    const std::uint32_t root = root_of(runs, i);
    if (root == i) continue;
    runs[root].sum += runs[i].sum;
    runs[root].peak = std::max(runs[root].peak, runs[i].peak);
  }
  std::vector<IslandRun> out;
  for (std::uint32_t i = 0; i < runs.size(); ++i) {
    const std::uint32_t root = root_of(runs, i);
    const double area = runs[root].sum / runs[root].peak;
    if (area < area_px) out.push_back({runs[i].y, runs[i].from, runs[i].to, area});
  }
  return out;
}

}  // namespace

std::vector<IslandRun> island_runs(const PlateImage& plate, double area_px, bool holes) {
  if (!(area_px > 0)) return {};
  return plate.bits == 8 ? runs_of(plate, plate.ink8, area_px, holes)
                         : runs_of(plate, plate.ink16, area_px, holes);
}

void drop_islands(PlateImage& plate, double area_px, bool holes) {
  for (const IslandRun& run : island_runs(plate, area_px, holes))
    for (int x = run.from; x < run.to; ++x) put_film(plate, index_of(plate, x, run.y), holes ? 1 : 0);
}

double disc_px(Mm diameter, double ppi) {
  const double px = diameter.v / kMmPerInch * ppi;
  return std::numbers::pi / 4 * px * px;
}

}  // namespace kirtle::detail
