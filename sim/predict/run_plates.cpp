#include "predict/run_plates.h"

#include "base/check.h"
#include "base/parallel.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

constexpr int kRows = 32;

void fill_rows(const PlateCover& cover, int y0, int rows, const RunPlates& all, RunPlate& out) {
  const CoverRows in = cover.rows(y0, rows);
  for (int y = 0; y < rows; ++y) {
    const std::size_t from = static_cast<std::size_t>(y) * static_cast<std::size_t>(all.width);
    const std::size_t to = all.at(0, y0 + y);
    for (int x = 0; x < all.width; ++x) {
      const std::size_t i = from + static_cast<std::size_t>(x), o = to + static_cast<std::size_t>(x);
      out.cover[o] = static_cast<std::uint8_t>((in.cover[i] + 128) / 257);
      if (out.edge.empty()) continue;
      const double steps = static_cast<double>(in.distance[i]) * kEdgeStep;
      out.edge[o] = in.tint[i] ? kEdgeTint
                               : static_cast<std::int8_t>(std::lround(std::clamp(
                                     steps, -static_cast<double>(kEdgeFar), static_cast<double>(kEdgeFar))));
    }
  }
}

}  // namespace

RunPlates::RunPlates(const Prediction& prediction, int margin_px, unsigned threads) {
  KIRTLE_CHECK(margin_px, >=, 0);
  width = prediction.renderer().width();
  height = prediction.renderer().height();
  margin = margin_px;
  stride = width + 2 * margin;
  const std::size_t size = static_cast<std::size_t>(stride) * static_cast<std::size_t>(height + 2 * margin);
  for (const PlateCover& printed : prediction.covers()) {
    CoverSettings settings = printed.settings();
    settings.offset = {};
    const PlateCover in_register(printed.image(), printed.ppi(), settings);
    RunPlate plate;
    plate.cover.assign(size, 0);
    if (!printed.field()) plate.edge.assign(size, static_cast<std::int8_t>(kEdgeFar));
    const int strips = (height + kRows - 1) / kRows;
    parallel_for(static_cast<std::size_t>(strips), threads, [&](std::size_t strip, unsigned) {
      const int y0 = static_cast<int>(strip) * kRows;
      fill_rows(in_register, y0, std::min(kRows, height - y0), *this, plate);
    });
    plates.push_back(std::move(plate));
  }
}

}  // namespace kirtle
