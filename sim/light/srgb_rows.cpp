#include "light/srgb_rows.h"

#include "base/check.h"
#include "base/simd.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>

namespace kirtle {

namespace {

constexpr int kColours = 64;  // encoded together
constexpr float kBorder = 1e-5F;
constexpr float kLinearLimit = 0.0031308F;
// 1.055 s^(5/3) - 0.055 for the fourth root s of linear light, 0.0031308^(1/4) .. 1, through the six
// Chebyshev points of that range: within 0.0025 code of 8 bits.
constexpr float kRoot[] = {-0.0616297051F, 0.164974004F, 1.24421394F,
                           -0.557555676F,  0.272752255F, -0.0627589896F};

/// Colours waiting to be encoded, channel by channel, and what came of them.
struct Colours {
  float in[3][kColours];
  std::uint8_t out[3][kColours];
  std::uint8_t border[kColours];     ///< 1: not well inside sRGB; `out` means nothing
  std::uint32_t from[kColours + 1];  ///< first pixel of each, and of what follows the last
};

KIRTLE_INLINE void encode_all(const float* m, Colours& c) {
  // All in lanes of four bytes until the end, which is what compilers make the best of.
  std::int32_t border[kColours]{}, code[3][kColours];
  for (int channel = 0; channel < 3; ++channel) {
    const float mx = m[3 * channel], my = m[3 * channel + 1], mz = m[3 * channel + 2];
    for (int i = 0; i < kColours; ++i) {
      const float v = mx * c.in[0][i] + my * c.in[1][i] + mz * c.in[2][i];
      // Written so that NaN is at the border, too.
      border[i] |= (v >= kBorder ? 0 : 1) | (v <= 1 - kBorder ? 0 : 1);
      const float s = std::sqrt(std::sqrt(v > 0.0F ? v : 0.0F));
      const float root =
          ((((kRoot[5] * s + kRoot[4]) * s + kRoot[3]) * s + kRoot[2]) * s + kRoot[1]) * s + kRoot[0];
      const float encoded = 255.0F * (v <= kLinearLimit ? 12.92F * v : root) + 0.5F;
      const float low = encoded > 0.0F ? encoded : 0.0F;
      code[channel][i] = static_cast<std::int32_t>(low < 255.0F ? low : 255.0F);
    }
  }
  for (int channel = 0; channel < 3; ++channel) {
    for (int i = 0; i < kColours; ++i) c.out[channel][i] = static_cast<std::uint8_t>(code[channel][i]);
  }
  for (int i = 0; i < kColours; ++i) c.border[i] = static_cast<std::uint8_t>(border[i]);
}

KIRTLE_AVX2 void encode_all_avx2(const float* m, Colours& c) { encode_all(m, c); }

/// How many pixels from `from` on are as the one before it.
std::size_t alike(const float* xyz, std::size_t from, std::size_t count) {
  constexpr std::size_t kStep = 16, kBytes = 3 * sizeof(float);
  std::size_t to = from;
  if (to < count && std::memcmp(xyz + 3 * to, xyz + 3 * (to - 1), kBytes) != 0) return 0;
  while (to + kStep <= count && std::memcmp(xyz + 3 * to, xyz + 3 * (to - 1), kStep * kBytes) == 0)
    to += kStep;
  while (to < count && std::memcmp(xyz + 3 * to, xyz + 3 * (to - 1), kBytes) == 0) ++to;
  return to - from;
}

/// work(pixel) for each pixel that is not as the one before it.
template <class Work>
void for_each_change(std::span<const float> xyz, const Work& work) {
  const std::size_t count = xyz.size() / 3;
  for (std::size_t x = 0; x < count;) {
    work(x);
    ++x;
    x += alike(xyz.data(), x, count);
  }
}

template <class Code>
void fill(Code* to, const Code* code, std::size_t pixels) {
  for (std::size_t i = 0; i < 3 * pixels; ++i) to[i] = code[i % 3];
}

/// The same, sixteen pixels at a time: up to fifteen pixels after the last are written over, too, but none at
/// or after `end`.
void fill_over(std::uint8_t* to, const Rgb8& code, std::size_t pixels, const std::uint8_t* end) {
  static_assert(std::endian::native == std::endian::little);
  if (pixels == 1) return fill(to, code.data(), 1);
  const std::uint64_t p =
      code[0] | static_cast<std::uint64_t>(code[1]) << 8 | static_cast<std::uint64_t>(code[2]) << 16;
  const std::uint64_t a = p | p << 24 | p << 48, b = p >> 16 | p << 8 | p << 32 | p << 56,
                      c = p >> 8 | p << 16 | p << 40;
  const std::uint64_t sixteen[6] = {a, b, c, a, b, c};
  std::uint8_t* const last = to + 3 * pixels;
  for (; to < last && static_cast<std::size_t>(end - to) >= sizeof sixteen; to += sizeof sixteen)
    std::memcpy(to, sixteen, sizeof sixteen);
  if (to < last) fill(to, code.data(), static_cast<std::size_t>(last - to) / 3);
}

/// here: of one colour, which `pixels` have.
void count_run(const ClipReport& here, std::size_t pixels, ClipReport& report) {
  report.clipped += here.clipped * pixels;
  report.largest_de00 = std::max(report.largest_de00, here.largest_de00);
}

XYZ colour_at(const float* v) {
  return {static_cast<double>(v[0]), static_cast<double>(v[1]), static_cast<double>(v[2])};
}

}  // namespace

SrgbRows::SrgbRows(const XYZ& white, bool any_processor) : one_(white), avx2_(has_avx2() && !any_processor) {
  for (int i = 0; i < 3; ++i) {
    const LinearRgb c = linear_srgb_from_xyz({i == 0 ? 1.0 : 0, i == 1 ? 1.0 : 0, i == 2 ? 1.0 : 0}, white);
    to_rgb_[i] = static_cast<float>(c.r);
    to_rgb_[3 + i] = static_cast<float>(c.g);
    to_rgb_[6 + i] = static_cast<float>(c.b);
  }
}

template <class ForEachBegin>
void SrgbRows::encode_runs8(std::span<const float> xyz, std::span<std::uint8_t> codes, ClipReport* report,
                            const ForEachBegin& for_each_begin) const {
  KIRTLE_CHECK(xyz.size(), ==, codes.size());
  const std::size_t count = xyz.size() / 3;
  Colours c{};
  std::size_t colours = 0;
  const auto flush = [&](std::size_t end) {
    c.from[colours] = static_cast<std::uint32_t>(end);
    if (avx2_) {
      encode_all_avx2(to_rgb_, c);
    } else {
      encode_all(to_rgb_, c);
    }
    for (std::size_t i = 0; i < colours; ++i) {
      const std::size_t from = c.from[i], pixels = c.from[i + 1] - from;
      Rgb8 code{c.out[0][i], c.out[1][i], c.out[2][i]};
      if (c.border[i]) {
        ClipReport here;
        code = one_.encode8(colour_at(xyz.data() + 3 * from), report != nullptr ? &here : nullptr);
        if (report != nullptr) count_run(here, pixels, *report);
      }
      fill_over(codes.data() + 3 * from, code, pixels, codes.data() + codes.size());
    }
    colours = 0;
  };
  for_each_begin([&](std::size_t x) {
    if (colours == kColours) flush(x);
    for (std::size_t k = 0; k < 3; ++k) c.in[k][colours] = xyz[3 * x + k];
    c.from[colours++] = static_cast<std::uint32_t>(x);
  });
  flush(count);
  if (report != nullptr) report->colours += count;
}

template <class ForEachBegin>
void SrgbRows::encode_runs16(std::span<const float> xyz, std::span<std::uint16_t> codes, ClipReport* report,
                             const ForEachBegin& for_each_begin) const {
  KIRTLE_CHECK(xyz.size(), ==, codes.size());
  const std::size_t count = xyz.size() / 3;
  std::size_t from = 0;
  const auto encode_to = [&](std::size_t end) {
    if (end == from) return;
    ClipReport here;
    const Rgb16 code = one_.encode16(colour_at(xyz.data() + 3 * from), report != nullptr ? &here : nullptr);
    fill(codes.data() + 3 * from, code.data(), end - from);
    if (report != nullptr) count_run(here, end - from, *report);
    from = end;
  };
  for_each_begin(encode_to);
  encode_to(count);
  if (report != nullptr) report->colours += count;
}

void SrgbRows::encode8(std::span<const float> xyz, std::span<std::uint8_t> codes, ClipReport* report) const {
  encode_runs8(xyz, codes, report, [xyz](const auto& work) { for_each_change(xyz, work); });
}
void SrgbRows::encode8(const ColourRuns& colours, std::span<std::uint8_t> codes, ClipReport* report) const {
  encode_runs8(colours.xyz, codes, report, [&](const auto& work) { colours.for_each_begin(work); });
}
void SrgbRows::encode16(std::span<const float> xyz, std::span<std::uint16_t> codes,
                        ClipReport* report) const {
  encode_runs16(xyz, codes, report, [xyz](const auto& work) { for_each_change(xyz, work); });
}
void SrgbRows::encode16(const ColourRuns& colours, std::span<std::uint16_t> codes, ClipReport* report) const {
  encode_runs16(colours.xyz, codes, report, [&](const auto& work) { colours.for_each_begin(work); });
}

}  // namespace kirtle
