#include "screen/dot_period.h"

#include "base/check.h"
#include "screen/threshold.h"

#include <array>
#include <cmath>
#include <memory>
#include <mutex>

namespace kirtle {

namespace {

constexpr int kSide = 200;   // samples along a quarter period
constexpr int kTones = 400;  // steps of tone

}  // namespace

double rounding_share(const PeriodIndex& period) { return dot_chance(period.u, period.v, 0x2545F491u); }

ExactMoments::ExactMoments(DotShape shape) : uu_(kTones + 1), vv_(kTones + 1) {
  struct Sample {
    double threshold, uu, vv;
  };
  std::vector<Sample> samples;
  for (int y = 0; y < kSide; ++y) {
    for (int x = 0; x < kSide; ++x) {
      const double u = (x + 0.5) / (2 * kSide), v = (y + 0.5) / (2 * kSide);
      samples.push_back({dot_threshold(shape, u, v), u * u, v * v});
    }
  }
  std::stable_sort(samples.begin(), samples.end(),
                   [](const Sample& a, const Sample& b) { return a.threshold < b.threshold; });
  constexpr int kAll = kSide * kSide;
  double uu = 0, vv = 0;
  for (int i = 0, tone = 0; tone <= kTones; ++tone) {
    for (; i < kAll / kTones * tone; ++i) {
      uu += samples[static_cast<std::size_t>(i)].uu / kAll;
      vv += samples[static_cast<std::size_t>(i)].vv / kAll;
    }
    uu_[static_cast<std::size_t>(tone)] = static_cast<float>(uu);
    vv_[static_cast<std::size_t>(tone)] = static_cast<float>(vv);
  }
}

const ExactMoments& ExactMoments::of(DotShape shape) {
  KIRTLE_CHECK(shape != DotShape::noise, ==, true);
  static std::array<std::once_flag, 8> once;
  static std::array<std::unique_ptr<const ExactMoments>, 8> made;
  const auto i = static_cast<std::size_t>(shape);
  std::call_once(once.at(i), [&] { made[i] = std::make_unique<const ExactMoments>(shape); });
  return *made[i];
}

DotMoments ExactMoments::at(double tone) const {
  const double at = std::clamp(tone, 0.0, 1.0) * kTones;
  const auto i = static_cast<std::size_t>(std::min(static_cast<int>(at), kTones - 1));
  const double f = at - static_cast<double>(i);
  const auto between = [&](const std::vector<float>& t) {
    return (1 - f) * static_cast<double>(t[i]) + f * static_cast<double>(t[i + 1]);
  };
  return {0, 0, between(uu_), 0, between(vv_)};
}

}  // namespace kirtle
