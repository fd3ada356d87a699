#include "predict/run_drift.h"

#include "base/parallel.h"
#include "light/delta_e_2000.h"
#include "predict/run_plates.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

namespace kirtle {

namespace {

constexpr int kCoverSteps = 16;
constexpr std::size_t kMostTints = 24;
constexpr double kGridMm = 0.5;
constexpr int kAway = 3;  // pixels to either side that must be tint too: not an edge

using Tint = std::array<std::uint8_t, kMostPlates>;  ///< of every plate, in steps

struct CommonTint {
  Tint cover{};
  double area_mm2 = 0;
};

int step_at(const PrintingPlate& plate, const PlateImage& image, int x, int y) {
  return static_cast<int>(std::lround(kCoverSteps * plate.tone.printed(image.film(x, y))));
}

bool is_tint(int step) { return step > 0 && step < kCoverSteps; }

/// Every combination in which tints of one screen meet, the largest area first.
std::vector<CommonTint> tints_of(const Prediction& prediction) {
  const std::vector<PrintingPlate>& plates = prediction.model().plates;
  const OverprintTable& table = prediction.model().table;
  const int grid = std::max(1, static_cast<int>(std::lround(kGridMm * prediction.ppi() / kMmPerInch)));
  const double cell_mm = grid * kMmPerInch / prediction.ppi();
  const int width = prediction.renderer().width(), height = prediction.renderer().height();
  std::map<Tint, std::size_t> counts;
  for (int y = kAway; y < height - kAway; y += grid) {
    for (int x = kAway; x < width - kAway; x += grid) {
      Tint tint{};
      std::array<bool, kMostPlates> tinted{};
      for (std::size_t p = 0; p < plates.size(); ++p) {
        const PlateImage& image = prediction.covers()[p].image();
        const int here = step_at(plates[p], image, x, y);
        tint[p] = static_cast<std::uint8_t>(here);
        tinted[p] = !plates[p].dots.field && is_tint(here) &&
                    is_tint(step_at(plates[p], image, x - kAway, y)) &&
                    is_tint(step_at(plates[p], image, x + kAway, y)) &&
                    is_tint(step_at(plates[p], image, x, y - kAway)) &&
                    is_tint(step_at(plates[p], image, x, y + kAway));
        // An edge counts as what most of it is.
        if (!plates[p].dots.field && is_tint(here) && !tinted[p])
          tint[p] = here < kCoverSteps / 2 ? 0 : kCoverSteps;
      }
      bool meet = false;
      for (std::size_t p = 0; p < plates.size(); ++p) {
        for (std::size_t q = 0; q < p; ++q) {
          meet = meet ||
                 (tinted[p] && tinted[q] && table.share_screen(static_cast<int>(p), static_cast<int>(q)));
        }
      }
      if (meet) ++counts[tint];
    }
  }
  std::vector<CommonTint> out;
  for (const auto& [tint, count] : counts)
    out.push_back({tint, static_cast<double>(count) * cell_mm * cell_mm});
  std::stable_sort(out.begin(), out.end(),
                   [](const CommonTint& a, const CommonTint& b) { return a.area_mm2 > b.area_mm2; });
  return out;
}

std::vector<Lab> labs_of(const OverprintTable& table, const std::vector<CommonTint>& tints) {
  std::vector<Lab> out;
  std::vector<double> cover(static_cast<std::size_t>(table.plates()));
  for (const CommonTint& tint : tints) {
    for (std::size_t p = 0; p < cover.size(); ++p)
      cover[p] = static_cast<double>(tint.cover[p]) / kCoverSteps;
    out.push_back(lab_from_xyz(table.mix(cover), table.weights().white));
  }
  return out;
}

Scene moved(const Scene& scene, const std::vector<RegisterOffset>& offsets) {
  Scene out = scene;
  for (std::size_t i = 0; i < out.passes.size(); ++i) out.passes[i].offset = offsets[i];
  return out;
}

}  // namespace

RunDrift drift_of_tints(const Scene& scene, const Prediction& prediction, const RegisterRun& run, int shirts,
                        unsigned threads, const Progress& progress) {
  RunDrift out;
  std::vector<CommonTint> tints = tints_of(prediction);
  if (tints.empty()) return out;
  double all = 0, kept = 0;
  for (const CommonTint& t : tints) all += t.area_mm2;
  tints.resize(std::min(tints.size(), kMostTints));
  for (const CommonTint& t : tints) kept += t.area_mm2;
  out.tints = static_cast<int>(tints.size());
  out.share = kept / all;
  const std::vector<PrintingPlate>& plates = prediction.model().plates;
  const PrintModel in_register(moved(scene, std::vector<RegisterOffset>(scene.passes.size())));
  const std::vector<Lab> meant = labs_of(in_register.table, tints);

  std::vector<std::vector<Lab>> printed(static_cast<std::size_t>(shirts));
  constexpr int kBatch = 16;
  for (int done = 0; done < shirts; done += kBatch) {
    if (progress && !progress(static_cast<double>(done) / shirts)) throw Cancelled();
    parallel_for(
        static_cast<std::size_t>(std::min(kBatch, shirts - done)), threads, [&](std::size_t item, unsigned) {
          const std::size_t shirt = static_cast<std::size_t>(done) + item;
          const PrintModel model(moved(scene, run.offsets_of(static_cast<std::uint32_t>(shirt) + 1)));
          printed[shirt] = labs_of(model.table, tints);
        });
  }
  if (progress) progress(1);
  out.shirts = shirts;
  for (std::size_t p = 0; p < plates.size(); ++p) {
    for (std::size_t q = 0; q < p; ++q) {
      if (!prediction.model().table.share_screen(static_cast<int>(p), static_cast<int>(q))) continue;
      ShadeDrift pair;
      pair.plate_a = plates[q].name;
      pair.plate_b = plates[p].name;
      std::vector<double> of_shirt;
      for (const std::vector<Lab>& labs : printed) {
        double de = 0, area = 0, lighter = 0;
        for (std::size_t t = 0; t < tints.size(); ++t) {
          if (!is_tint(tints[t].cover[p]) || !is_tint(tints[t].cover[q])) continue;
          area += tints[t].area_mm2;
          de += tints[t].area_mm2 * delta_e_2000(meant[t], labs[t]);
          lighter += tints[t].area_mm2 * (labs[t].l - meant[t].l);
        }
        if (!(area > 0)) continue;
        pair.area_mm2 = area;
        pair.mean_dl += lighter / area / shirts;
        of_shirt.push_back(de / area);
      }
      if (of_shirt.empty()) continue;
      for (const double de : of_shirt) pair.mean_de00 += de / shirts;
      const auto worst = std::max_element(of_shirt.begin(), of_shirt.end());
      pair.worst_shirt = static_cast<int>(worst - of_shirt.begin()) + 1;
      const auto rank =
          static_cast<std::ptrdiff_t>(std::ceil(0.95 * static_cast<double>(of_shirt.size()))) - 1;
      std::nth_element(of_shirt.begin(), of_shirt.begin() + rank, of_shirt.end());
      pair.p95_de00 = of_shirt[static_cast<std::size_t>(rank)];
      out.pairs.push_back(pair);
    }
  }
  std::stable_sort(out.pairs.begin(), out.pairs.end(),
                   [](const ShadeDrift& a, const ShadeDrift& b) { return a.p95_de00 > b.p95_de00; });
  return out;
}

std::string shade_words(double de00) {
  if (de00 < 1) return "none to be seen";
  if (de00 < 2) return "seen side by side only";
  return de00 < 4 ? "seen" : "would be refused";
}

}  // namespace kirtle
