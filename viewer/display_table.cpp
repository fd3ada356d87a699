#include "display_table.h"

#include "base/diagnostics.h"
#include "base/parallel.h"
#include "light/delta_e_2000.h"
#include "light/icc_output.h"
#include "light/srgb.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

namespace {

/// Exact display values of colours, sRGB or through a profile.
class Exact {
 public:
  Exact(const XYZ& white, const std::optional<std::filesystem::path>& profile) : srgb_(white) {
    if (profile) icc_.emplace(IccOutput::from_file(*profile, {white, Intent::relative, true}));
    if (icc_ && icc_->channels() != 3) {
      throw InputError({profile->string(), 0, 0}, "this is not the profile of a monitor",
                       "name an RGB display profile, or leave it out: then the picture is sRGB");
    }
  }
  std::array<float, 3> at(const XYZ& xyz) const {
    if (!icc_) {
      const Rgb16 c = srgb_.encode16(xyz);
      return {code(c[0]), code(c[1]), code(c[2])};
    }
    const std::array<float, 3> in{static_cast<float>(xyz.x), static_cast<float>(xyz.y),
                                  static_cast<float>(xyz.z)};
    std::array<std::uint16_t, 3> out{};
    icc_->convert16(in, out, nullptr);
    return {code(out[0]), code(out[1]), code(out[2])};
  }
  std::string name() const { return icc_ ? icc_->description() : "sRGB"; }

 private:
  static float code(std::uint16_t c) { return static_cast<float>(c) / 65535.0F; }
  SrgbEncoder srgb_;
  std::optional<IccOutput> icc_;
};

/// Mirrored below 0, so that colours outside keep their place.
double encoded(double linear) { return linear < 0 ? -srgb_encode(-linear) : srgb_encode(linear); }
double decoded(double e) { return e < 0 ? -srgb_decode(-e) : srgb_decode(e); }

/// Lab of display values, read as sRGB: measures how far apart two of them look.
Lab lab_of(const float* rgb, const XYZ& white) {
  const auto linear = [](float v) { return srgb_decode(static_cast<double>(v)); };
  return lab_from_xyz(xyz_from_linear_srgb({linear(rgb[0]), linear(rgb[1]), linear(rgb[2])}, white), white);
}

}  // namespace

DisplayTable make_display_table(const XYZ& white, const std::optional<std::filesystem::path>& profile) {
  const Exact exact(white, profile);
  DisplayTable out;
  out.white = white;
  out.space = exact.name();
  const LinearRgb x = linear_srgb_from_xyz({1, 0, 0}, white), y = linear_srgb_from_xyz({0, 1, 0}, white),
                  z = linear_srgb_from_xyz({0, 0, 1}, white);
  out.to_linear = {{{x.r, y.r, z.r}, {x.g, y.g, z.g}, {x.b, y.b, z.b}}};
  constexpr int n = DisplayTable::kSide;
  const auto node = [](int i) { return decoded(DisplayTable::kFrom + DisplayTable::kStep * i); };
  out.rgb.resize(3UL * n * n * n);
  parallel_for(n, 0, [&](std::size_t b, unsigned) {
    for (int g = 0; g < n; ++g) {
      for (int r = 0; r < n; ++r) {
        const auto c = exact.at(xyz_from_linear_srgb({node(r), node(g), node(static_cast<int>(b))}, white));
        std::copy(c.begin(), c.end(),
                  out.rgb.begin() + 3 * static_cast<std::ptrdiff_t>((static_cast<int>(b) * n + g) * n + r));
      }
    }
  });
  // Its error on colours that the space holds: a grid of sRGB, off the nodes.
  int count = 0;
  for (double r = 0.03; r < 1; r += 0.1171) {
    for (double g = 0.03; g < 1; g += 0.1171) {
      for (double b = 0.03; b < 1; b += 0.1171) {
        const XYZ xyz = xyz_from_linear_srgb({srgb_decode(r), srgb_decode(g), srgb_decode(b)}, white);
        const auto wanted = exact.at(xyz);
        float got[3];
        display_rgb(out, xyz, got);
        const double de = delta_e_2000(lab_of(wanted.data(), white), lab_of(got, white));
        out.mean_de00 += de;
        out.largest_de00 = std::max(out.largest_de00, de);
        ++count;
      }
    }
  }
  out.mean_de00 /= count;
  return out;
}

void display_rgb(const DisplayTable& table, const XYZ& xyz, float rgb[3]) {
  constexpr int n = DisplayTable::kSide;
  const XYZ linear = table.to_linear * xyz;
  const double at[3] = {encoded(linear.x), encoded(linear.y), encoded(linear.z)};
  int low[3];
  double t[3];
  for (int i = 0; i < 3; ++i) {
    const double a = std::clamp((at[i] - DisplayTable::kFrom) / DisplayTable::kStep, 0.0, n - 1.0);
    low[i] = std::min(static_cast<int>(a), n - 2);
    t[i] = a - low[i];
  }
  double sum[3] = {};
  for (int k = 0; k < 8; ++k) {
    double w = 1;
    int node[3];
    for (int i = 0; i < 3; ++i) {
      const int up = k >> i & 1;
      w *= up ? t[i] : 1 - t[i];
      node[i] = low[i] + up;
    }
    const float* v = table.rgb.data() +
                     3 * ((static_cast<std::size_t>(node[2]) * n + static_cast<std::size_t>(node[1])) * n +
                          static_cast<std::size_t>(node[0]));
    for (int c = 0; c < 3; ++c) sum[c] += w * static_cast<double>(v[c]);
  }
  for (int c = 0; c < 3; ++c) rgb[c] = static_cast<float>(sum[c]);
}

}  // namespace kirtle
