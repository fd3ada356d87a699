#include "print/flux.h"

#include "base/check.h"
#include "layer/domain.h"
#include "layer/kubelka_munk.h"
#include "print/pair_form.h"
#include "print/scatter.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <opencv2/core.hpp>

namespace kirtle {

namespace {

constexpr double kMostReturned = 0.999;

void check(const FluxCell& cell, const FluxBand& band) {
  KIRTLE_CHECK(cell.width, >=, 1);
  KIRTLE_CHECK(cell.height, >=, 1);
  KIRTLE_CHECK(cell.kinds.size(), ==, static_cast<std::size_t>(cell.width) * cell.height);
  KIRTLE_CHECK(band.above.size(), ==, band.ground.size());
  KIRTLE_CHECK(static_cast<std::size_t>(*std::max_element(cell.kinds.begin(), cell.kinds.end())), <,
               band.above.size());
  require_positive("sample_um", cell.sample_um);
  for (std::size_t i = 0; i < band.above.size(); ++i) {
    require_range("R0", band.above[i].r0, 0, 1);
    require_range("T", band.above[i].t, 0, 1);
    require_range("R0'", band.above[i].r0_back, 0, 1);
    require_range("rg", band.ground[i], 0, 1);
  }
  double shares = 0;
  for (const SpreadPart& part : band.spread) {
    require_range("share of the spread", part.share, 0, 1);
    require_not_negative("mean radius", part.mean_um);
    shares += part.share;
  }
  require_range("sum of the spread's shares", shares, 1 - 1e-9, 1 + 1e-9);
}

/// P at every frequency of the cell, in the order of the transform.
cv::Mat spread_transform(const FluxCell& cell, const std::vector<SpreadPart>& spread) {
  cv::Mat out(cell.height, cell.width, CV_64F);
  for (int y = 0; y < cell.height; ++y) {
    for (int x = 0; x < cell.width; ++x) {
      const double fx = std::min(x, cell.width - x) / (cell.width * cell.sample_um);
      const double fy = std::min(y, cell.height - y) / (cell.height * cell.sample_um);
      double p = 0;
      for (const SpreadPart& part : spread)
        p += part.share * scatter_transfer(std::hypot(fx, fy), part.mean_um);
      out.at<double>(y, x) = p;
    }
  }
  return out;
}

/// Light spread sideways. Scratch is kept, since this is the inner loop.
class Spreader {
 public:
  Spreader(const FluxCell& cell, const std::vector<SpreadPart>& spread)
      : transform_(spread_transform(cell, spread)) {}
  void apply(const cv::Mat& in, cv::Mat& out) {
    cv::dft(in, spectrum_, cv::DFT_COMPLEX_OUTPUT);
    for (int y = 0; y < spectrum_.rows; ++y) {
      auto* s = spectrum_.ptr<cv::Vec2d>(y);
      const auto* p = transform_.ptr<double>(y);
      for (int x = 0; x < spectrum_.cols; ++x) s[x] *= p[x];
    }
    cv::dft(spectrum_, out, cv::DFT_INVERSE | cv::DFT_SCALE | cv::DFT_REAL_OUTPUT);
  }

 private:
  cv::Mat transform_, spectrum_;
};

std::vector<double> areas(const FluxCell& cell, std::size_t kinds) {
  std::vector<double> area(kinds, 0.0);
  for (const std::uint16_t kind : cell.kinds) {
    KIRTLE_CHECK(static_cast<std::size_t>(kind), <, kinds);
    area[kind] += 1.0 / static_cast<double>(cell.kinds.size());
  }
  return area;
}

}  // namespace

std::vector<double> flux_samples(const FluxCell& cell, const FluxBand& band, double tolerance) {
  check(cell, band);
  require_positive("tolerance", tolerance);
  // Each round adds light that went once more down and up: at most `returned` of the round before, so what is
  // still missing is at most step * returned / (1 - returned).
  double returned = 0;
  for (std::size_t i = 0; i < band.above.size(); ++i) returned = std::max(returned, band.above[i].r0_back);
  returned *= *std::max_element(band.ground.begin(), band.ground.end());
  require_range("R0' rg", returned, 0, kMostReturned);

  std::vector<double> root(band.ground.size());
  std::transform(band.ground.begin(), band.ground.end(), root.begin(), [](double r) { return std::sqrt(r); });
  const int n = static_cast<int>(cell.kinds.size());
  cv::Mat down(cell.height, cell.width, CV_64F), up(cell.height, cell.width, CV_64F);  // times sqrt(rg)
  auto* d = down.ptr<double>();
  for (int i = 0; i < n; ++i) d[i] = root[cell.kinds[i]] * band.above[cell.kinds[i]].t;
  Spreader spreader(cell, band.spread);
  const double settled = returned > 0 ? tolerance * (1 - returned) / returned : 1;
  for (double step = 2 * settled; step > settled;) {
    spreader.apply(down, up);
    const auto* u = up.ptr<double>();
    double sum = 0;
    for (int i = 0; i < n; ++i) {
      const std::size_t kind = cell.kinds[i];
      const LayerRT& above = band.above[kind];
      const double next = root[kind] * (above.t + above.r0_back * root[kind] * u[i]);
      sum += (next - d[i]) * (next - d[i]);
      d[i] = next;
    }
    step = std::sqrt(sum / n);
  }
  spreader.apply(down, up);
  const auto* u = up.ptr<double>();
  std::vector<double> out(cell.kinds.size());
  for (int i = 0; i < n; ++i) {
    const LayerRT& above = band.above[cell.kinds[i]];
    out[i] = above.r0 + above.t * root[cell.kinds[i]] * u[i];
  }
  return out;
}

double flux_mean(const FluxCell& cell, const FluxBand& band, double tolerance) {
  const std::vector<double> r = flux_samples(cell, band, tolerance);
  return std::accumulate(r.begin(), r.end(), 0.0) / static_cast<double>(r.size());
}

FluxBand flux_band(std::span<const Overprint> kinds, std::span<const double> area, std::size_t fibre,
                   std::size_t band) {
  KIRTLE_CHECK(kinds.size(), ==, area.size());
  const Overprint& first = kinds.front();
  std::size_t shared = first.film.size();
  for (const Overprint& kind : kinds) shared = std::min(shared, shared_film(first, kind));
  FluxBand out;
  KS mean;
  double cloth = 0;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    const Ground& ground = kinds[i].grounds[fibre];
    double rg = ground.reflectance[band];
    cloth += area[i] * rg;
    mean.k += area[i] * ground.scatter.k[band];
    mean.s += area[i] * ground.scatter.s[band];
    for (std::size_t j = 0; j < shared; ++j)
      rg = reflectance_over_unchecked(kinds[i].film_rt[j].at(band), rg);
    out.above.push_back(layers_above(kinds[i], shared, band));
    out.ground.push_back(rg);
  }
  out.spread.push_back({1, mean_scatter_um(mean)});
  for (std::size_t j = 0; j < shared; ++j) {
    const LayerRT layer = first.film_rt[j].at(band);
    cloth = reflectance_over_unchecked(layer, cloth);
    const double own = cloth > 0 ? layer.r0 / cloth : 1;
    for (SpreadPart& part : out.spread) part.share *= 1 - own;
    out.spread.push_back({own, mean_scatter_um(first.film_ks[j].at(band))});
  }
  return out;
}

Spectrum flux_reflectance(const FluxCell& cell, std::span<const Overprint> kinds, double tolerance) {
  const std::vector<double> area = areas(cell, kinds.size());
  Spectrum out;
  for (std::size_t f = 0; f < kinds.front().grounds.size(); ++f) {
    for (std::size_t b = 0; b < kBands; ++b) {
      out[b] += kinds.front().grounds[f].share * flux_mean(cell, flux_band(kinds, area, f, b), tolerance);
    }
  }
  return out;
}

}  // namespace kirtle
