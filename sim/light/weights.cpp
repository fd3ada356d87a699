#include "light/weights.h"

#include "base/check.h"
#include "base/diagnostics.h"
#include "light/tables.h"

#include <algorithm>
#include <functional>

namespace kirtle {
namespace {

std::string upper(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return out;
}

using Weights = std::array<std::array<double, 3>, kBands>;

/// k of CIE 15: the perfect reflector gets Y = 100 under the very sum that is used.
double scale_to_100(const Weights& w) {
  double sum = 0;
  for (const auto& band : w) sum += band[1];
  return 100.0 / sum;
}

/// Plain 10 nm sum.
Weights smooth_light(const Spectrum& power, const Observer5nm& cmf) {
  Weights w{};
  for (std::size_t i = 0; i < kBands; ++i)
    for (std::size_t c = 0; c < 3; ++c) w[i][c] = power[i] * cmf[c][2 * i];
  return w;
}

/// 5 nm sum. R between two bands is their mean, so that each odd point gives half its weight to either
/// neighbour.
Weights narrow_band_lamp(const Power5nm& power, const Observer5nm& cmf) {
  Weights w{};
  for (std::size_t p = 0; p < kPoints5nm; ++p) {
    for (std::size_t c = 0; c < 3; ++c) {
      const double product = power[p] * cmf[c][p];
      if (p % 2 == 0) {
        w[p / 2][c] += product;
      } else {
        w[p / 2][c] += 0.5 * product;
        w[p / 2 + 1][c] += 0.5 * product;
      }
    }
  }
  return w;
}

struct Light {
  std::string name;
  std::function<Weights(const Observer5nm&)> weights;
};

const std::vector<Light>& lights() {
  static const std::vector<Light> all = [] {
    std::vector<Light> list;
    const auto smooth = [&](std::string name, const Spectrum& power) {
      list.push_back({std::move(name), [power](const Observer5nm& cmf) { return smooth_light(power, cmf); }});
    };
    smooth("D50", d50_power());
    smooth("D65", d65_power());
    smooth("A", illuminant_a_power());
    for (std::size_t f = 0; f < fluorescent_tables().size(); ++f)
      list.push_back({std::string("F").append(std::to_string(f + 1)), [f](const Observer5nm& cmf) {
                        return narrow_band_lamp(fluorescent_tables()[f], cmf);
                      }});
    smooth("LED-B3", led_b3_table());
    return list;
  }();
  return all;
}

}  // namespace

std::vector<std::string> light_names() {
  std::vector<std::string> names;
  for (const Light& light : lights()) names.push_back(light.name);
  return names;
}

ViewingWeights viewing_weights(std::string_view light, Observer observer) {
  const std::string wanted = upper(light);
  const auto found =
      std::find_if(lights().begin(), lights().end(), [&](const Light& l) { return l.name == wanted; });
  if (found == lights().end()) {
    const std::vector<std::string> known = light_names();
    std::string message = "unknown light \"";
    message += printable(light);
    message += "\"; known are ";
    for (const std::string& name : known) {
      if (name != known.front()) message += ", ";
      message += name;
    }
    const std::string near = nearest_name(wanted, known);
    throw InputError({}, std::move(message),
                     near.empty() ? "name one of the lights in the list" : "did you mean " + near + "?");
  }
  ViewingWeights out;
  out.light = found->name;
  out.observer = observer;
  out.w = found->weights(observer_table(observer));
  const double k = scale_to_100(out.w);
  for (auto& band : out.w)
    for (double& value : band) value *= k;
  out.white = xyz_from_reflectance(Spectrum::flat(1.0), out);
  return out;
}

XYZ xyz_from_reflectance(const Spectrum& reflectance, const ViewingWeights& weights) {
  XYZ sum;
  for (std::size_t i = 0; i < kBands; ++i) {
    sum.x += reflectance[i] * weights.w[i][0];
    sum.y += reflectance[i] * weights.w[i][1];
    sum.z += reflectance[i] * weights.w[i][2];
  }
  return sum;
}

void xyz_from_reflectances(std::span<const float> reflectances, const ViewingWeights& weights,
                           std::span<float> xyz) {
  const std::size_t count = reflectances.size() / kBands;
  KIRTLE_CHECK(reflectances.size(), ==, kBands * count);
  KIRTLE_CHECK(xyz.size(), ==, 3 * count);
  for (std::size_t n = 0; n < count; ++n) {
    const float* r = &reflectances[kBands * n];
    std::array<double, 3> sum{};
    for (std::size_t i = 0; i < kBands; ++i) {
      const double value = static_cast<double>(r[i]);
      for (std::size_t c = 0; c < 3; ++c) sum[c] += value * weights.w[i][c];
    }
    for (std::size_t c = 0; c < 3; ++c) xyz[3 * n + c] = static_cast<float>(sum[c]);
  }
}

Lab lab_from_reflectance(const Spectrum& reflectance, const ViewingWeights& weights) {
  return lab_from_xyz(xyz_from_reflectance(reflectance, weights), weights.white);
}

}  // namespace kirtle
