#include "compare/picture_change.h"

#include "base/check.h"
#include "compare/evaluate.h"
#include "light/delta_e_2000.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace kirtle {

namespace {

constexpr double kMeanOverMm = 0.5;
constexpr double kBareDe00 = 1;  ///< nearer to the shirt counts as bare
constexpr int kBins = 1000;      ///< of 0.1 dE00

std::vector<XYZf> small_print(const Prediction& print, double scale, unsigned threads) {
  std::vector<XYZf> out;
  print.renderer().render(scale, threads, {}, [&](int, int, std::span<const XYZf> rows) {
    out.insert(out.end(), rows.begin(), rows.end());
  });
  return out;
}

}  // namespace

ArrivedPicture::ArrivedPicture(const Prediction& arrived, unsigned threads)
    : scale_(std::min(1.0, kMmPerInch / kMeanOverMm / arrived.ppi())) {
  xyz_ = small_print(arrived, scale_, threads);
  pixel_mm2_ = arrived.width_mm() * arrived.height_mm() / static_cast<double>(xyz_.size());
}

PictureChange ArrivedPicture::change_to(const Prediction& build, unsigned threads) const {
  const std::vector<XYZf> other = small_print(build, scale_, threads);
  KIRTLE_CHECK(other.size(), ==, xyz_.size());
  const XYZ& white = build.model().table.weights().white;
  const auto lab_of = [&](const XYZf& c) {
    return lab_from_xyz({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)},
                        white);
  };
  const Lab bare =
      lab_from_xyz(build.model().table.mix(std::vector<double>(build.model().plates.size(), 0.0)), white);
  PictureChange out;
  std::array<std::size_t, kBins> counts{};
  std::size_t printed = 0;
  for (std::size_t i = 0; i < xyz_.size(); ++i) {
    const Lab before = lab_of(xyz_[i]), after = lab_of(other[i]);
    if (delta_e_2000(bare, before) < kBareDe00 && delta_e_2000(bare, after) < kBareDe00) continue;
    const double de = delta_e_2000(before, after);
    ++printed;
    ++counts[static_cast<std::size_t>(std::min(10 * de, kBins - 1.0))];
    if (de > kRefusedDe00) out.off_mm2 += pixel_mm2_;
  }
  out.printed_mm2 = static_cast<double>(printed) * pixel_mm2_;
  std::size_t within = 0;
  for (int bin = 0; bin < kBins && printed > 0; ++bin) {
    within += counts[static_cast<std::size_t>(bin)];
    out.p95_de00 = (bin + 1) / 10.0;
    if (static_cast<double>(within) >= 0.95 * static_cast<double>(printed)) break;
  }
  return out;
}

}  // namespace kirtle
