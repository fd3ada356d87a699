#include "light/srgb.h"

#include "base/check.h"
#include "light/delta_e_2000.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {
namespace {

constexpr Matrix3 kRgbToXyz = {
    {{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}};
constexpr double kLinearLimit = 0.0031308;

/// From XYZ on the Y = 100 scale under `white` to linear RGB on the scale of 1.
Matrix3 rgb_matrix(const XYZ& white) {
  Matrix3 m = inverse(kRgbToXyz) * bradford(white, kSrgbWhite);
  for (auto& row : m)
    for (double& value : row) value /= 100.0;
  return m;
}

LinearRgb as_rgb(const XYZ& v) { return {v.x, v.y, v.z}; }

/// How far the worst channel lies outside 0..1; negative or 0 inside.
double overshoot(const LinearRgb& c) {
  const auto [low, high] = std::minmax({c.r, c.g, c.b});
  return std::max(-low, high - 1.0);
}

LinearRgb cut(const LinearRgb& c) {
  return {std::clamp(c.r, 0.0, 1.0), std::clamp(c.g, 0.0, 1.0), std::clamp(c.b, 0.0, 1.0)};
}

/// Largest share of the chroma of `lab` such that it and all lower ones are inside. The steps see a place
/// where a ray leaves the gamut and comes back; the bracketed secant (Illinois) then finds the wall.
double share_inside(const Lab& lab, const XYZ& white, const Matrix3& to_rgb) {
  constexpr int kSteps = 16;
  constexpr double kWallTolerance = 1e-7;  // of linear light: a tenth of a 16-bit code at black
  constexpr int kMaxIterations = 60;
  const auto excess = [&](double share) {
    return overshoot(as_rgb(to_rgb * xyz_from_lab({lab.l, share * lab.a, share * lab.b}, white)));
  };
  double low = 0, low_excess = excess(0), high = 1, high_excess = 0;
  if (low_excess > 0) return 0;  // black and white sit on the wall, give or take rounding
  for (int step = 1; step <= kSteps; ++step) {
    high = static_cast<double>(step) / kSteps;
    high_excess = excess(high);
    if (high_excess > 0) break;
    low = high;
    low_excess = high_excess;
  }
  for (int i = 0; i < kMaxIterations && low_excess < -kWallTolerance && high - low > 1e-12; ++i) {
    const double middle = (low * high_excess - high * low_excess) / (high_excess - low_excess);
    const double middle_excess = excess(middle);
    if (middle_excess > 0) {
      high = middle;
      high_excess = middle_excess;
      low_excess *= 0.5;
    } else {
      low = middle;
      low_excess = middle_excess;
      high_excess *= 0.5;
    }
  }
  return low;
}

SrgbColour clipped_colour(const XYZ& xyz, const XYZ& white, const Matrix3& to_rgb) {
  const Lab asked = lab_from_xyz(xyz, white);
  Lab given = asked;
  given.l = std::clamp(asked.l, 0.0, 100.0);
  const double share = share_inside(given, white, to_rgb);
  given.a *= share;
  given.b *= share;
  return {cut(as_rgb(to_rgb * xyz_from_lab(given, white))), true, delta_e_2000(asked, given)};
}

void check_finite(const XYZ& xyz) {
  KIRTLE_CHECK(std::abs(xyz.x), <=, 1e30);
  KIRTLE_CHECK(std::abs(xyz.y), <=, 1e30);
  KIRTLE_CHECK(std::abs(xyz.z), <=, 1e30);
}

/// False for NaN.
bool is_inside(const LinearRgb& c) {
  constexpr double kLow = -kSrgbInside, kHigh = 1.0 + kSrgbInside;
  return c.r >= kLow && c.r <= kHigh && c.g >= kLow && c.g <= kHigh && c.b >= kLow && c.b <= kHigh;
}

SrgbColour colour_of(const XYZ& xyz, const XYZ& white, const Matrix3& to_rgb) {
  const LinearRgb rgb = as_rgb(to_rgb * xyz);
  if (is_inside(rgb)) return {cut(rgb), false, 0};
  check_finite(xyz);
  return clipped_colour(xyz, white, to_rgb);
}

std::uint8_t code8(double encoded) { return static_cast<std::uint8_t>(255.0 * encoded + 0.5); }

/// 1.055 v^(1/2.4) - 0.055 over the square root of v, where it bends little: with straight lines between 4097
/// points the error stays below 1e-7 (0.01 code of 16 bits) above the straight piece of the encoding.
constexpr int kRootSteps = 4096;
const double* root_table() {
  static const auto table = [] {
    std::array<double, kRootSteps + 2> t{};
    for (int i = 0; i < kRootSteps + 2; ++i) {
      const double root = static_cast<double>(i) / kRootSteps;
      t[static_cast<std::size_t>(i)] = 1.055 * std::pow(root * root, 1.0 / 2.4) - 0.055;
    }
    return t;
  }();
  return table.data();
}

double fast_encode(double linear, const double* table) {
  if (linear <= kLinearLimit) return 12.92 * linear;
  const double at = std::sqrt(linear) * kRootSteps;
  const auto index = static_cast<int>(at);
  const double share = at - index;
  return table[index] + share * (table[index + 1] - table[index]);
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

}  // namespace

double srgb_encode(double linear) {
  return linear <= kLinearLimit ? 12.92 * linear : 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

double srgb_decode(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

LinearRgb linear_srgb_from_xyz(const XYZ& xyz, const XYZ& white) { return as_rgb(rgb_matrix(white) * xyz); }

XYZ xyz_from_linear_srgb(const LinearRgb& rgb, const XYZ& white) {
  return bradford(kSrgbWhite, white) * (kRgbToXyz * XYZ{100.0 * rgb.r, 100.0 * rgb.g, 100.0 * rgb.b});
}

SrgbColour srgb_from_xyz(const XYZ& xyz, const XYZ& white) {
  return colour_of(xyz, white, rgb_matrix(white));
}

Rgb8 srgb_codes8(const LinearRgb& inside) {
  KIRTLE_CHECK(overshoot(inside), <=, 0.0);
  return {code8(srgb_encode(inside.r)), code8(srgb_encode(inside.g)), code8(srgb_encode(inside.b))};
}

std::string hex_text(const Rgb8& rgb) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out = "#";
  for (const std::uint8_t c : rgb) {
    out += kDigits[c / 16];
    out += kDigits[c % 16];
  }
  return out;
}

std::optional<Rgb8> rgb8_from_hex(std::string_view text) {
  if (text.size() != 7 || text[0] != '#') return std::nullopt;
  Rgb8 out{};
  for (std::size_t i = 0; i < 3; ++i) {
    const int high = hex_digit(text[1 + 2 * i]), low = hex_digit(text[2 + 2 * i]);
    if (high < 0 || low < 0) return std::nullopt;
    out[i] = static_cast<std::uint8_t>(16 * high + low);
  }
  return out;
}

XYZ xyz_from_srgb8(const Rgb8& rgb, const XYZ& white) {
  return xyz_from_linear_srgb(
      {srgb_decode(rgb[0] / 255.0), srgb_decode(rgb[1] / 255.0), srgb_decode(rgb[2] / 255.0)}, white);
}

void ClipReport::merge(const ClipReport& other) {
  colours += other.colours;
  clipped += other.clipped;
  largest_de00 = std::max(largest_de00, other.largest_de00);
}

SrgbEncoder::SrgbEncoder(const XYZ& white)
    : white_(white), to_rgb_(rgb_matrix(white)), root_table_(root_table()) {}

LinearRgb SrgbEncoder::inside(const XYZ& xyz, ClipReport* report) const {
  if (report != nullptr) ++report->colours;
  const LinearRgb rgb = as_rgb(to_rgb_ * xyz);
  if (is_inside(rgb)) return cut(rgb);
  check_finite(xyz);
  const SrgbColour colour = clipped_colour(xyz, white_, to_rgb_);
  if (report != nullptr) {
    ++report->clipped;
    report->largest_de00 = std::max(report->largest_de00, colour.clip_de00);
  }
  return colour.linear;
}

Rgb8 SrgbEncoder::encode8(const XYZ& xyz, ClipReport* report) const {
  const LinearRgb c = inside(xyz, report);
  return {code8(fast_encode(c.r, root_table_)), code8(fast_encode(c.g, root_table_)),
          code8(fast_encode(c.b, root_table_))};
}

Rgb16 SrgbEncoder::encode16(const XYZ& xyz, ClipReport* report) const {
  const LinearRgb c = inside(xyz, report);
  const auto code = [this](double linear) {
    return static_cast<std::uint16_t>(65535.0 * fast_encode(linear, root_table_) + 0.5);
  };
  return {code(c.r), code(c.g), code(c.b)};
}

}  // namespace kirtle
