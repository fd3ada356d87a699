#include "print/plane_fourier.h"

#include "base/check.h"
#include "base/simd.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

namespace kirtle {

namespace {

using Lanes = float __attribute__((vector_size(32)));

struct Complex {
  Lanes re, im;
};

KIRTLE_INLINE void load(const FourierPair& from, Complex& to) {
  std::memcpy(&to.re, from.re, sizeof to.re);
  std::memcpy(&to.im, from.im, sizeof to.im);
}
KIRTLE_INLINE void store(const Complex& from, FourierPair& to) {
  std::memcpy(to.re, &from.re, sizeof from.re);
  std::memcpy(to.im, &from.im, sizeof from.im);
}
KIRTLE_INLINE void turn(Complex& a, float re, float im) {
  const Lanes r = a.re * re - a.im * im;
  a.im = a.re * im + a.im * re;
  a.re = r;
}

// Transforms of 2, 3, 4 and 5 numbers in place, forward (exp(-i)) or back.
template <bool Back>
KIRTLE_INLINE void small(Complex (&a)[2]) {
  const Complex b = a[0];
  a[0] = {b.re + a[1].re, b.im + a[1].im};
  a[1] = {b.re - a[1].re, b.im - a[1].im};
}

template <bool Back>
KIRTLE_INLINE void small(Complex (&a)[3]) {
  constexpr float kSine = (Back ? 1.0F : -1.0F) * 0.866025403784438647F;
  const Lanes sum_re = a[1].re + a[2].re, sum_im = a[1].im + a[2].im;
  const Lanes turned_re = (a[2].im - a[1].im) * kSine, turned_im = (a[1].re - a[2].re) * kSine;
  const Lanes middle_re = a[0].re - 0.5F * sum_re, middle_im = a[0].im - 0.5F * sum_im;
  a[0].re += sum_re;
  a[0].im += sum_im;
  a[1] = {middle_re + turned_re, middle_im + turned_im};
  a[2] = {middle_re - turned_re, middle_im - turned_im};
}

template <bool Back>
KIRTLE_INLINE void small(Complex (&a)[4]) {
  const Lanes even_re = a[0].re + a[2].re, even_im = a[0].im + a[2].im;
  const Lanes less_re = a[0].re - a[2].re, less_im = a[0].im - a[2].im;
  const Lanes odd_re = a[1].re + a[3].re, odd_im = a[1].im + a[3].im;
  const Lanes cross_re = Back ? a[3].im - a[1].im : a[1].im - a[3].im,
              cross_im = Back ? a[1].re - a[3].re : a[3].re - a[1].re;
  a[0] = {even_re + odd_re, even_im + odd_im};
  a[1] = {less_re + cross_re, less_im + cross_im};
  a[2] = {even_re - odd_re, even_im - odd_im};
  a[3] = {less_re - cross_re, less_im - cross_im};
}

template <bool Back>
KIRTLE_INLINE void small(Complex (&a)[5]) {
  constexpr float kCos1 = 0.309016994374947424F, kCos2 = -0.809016994374947424F;
  constexpr float kSign = Back ? 1.0F : -1.0F;
  constexpr float kSin1 = kSign * 0.951056516295153572F, kSin2 = kSign * 0.587785252292473129F;
  const Lanes s1_re = a[1].re + a[4].re, s1_im = a[1].im + a[4].im;
  const Lanes s2_re = a[2].re + a[3].re, s2_im = a[2].im + a[3].im;
  const Lanes d1_re = a[1].re - a[4].re, d1_im = a[1].im - a[4].im;
  const Lanes d2_re = a[2].re - a[3].re, d2_im = a[2].im - a[3].im;
  const Lanes m1_re = a[0].re + kCos1 * s1_re + kCos2 * s2_re,
              m1_im = a[0].im + kCos1 * s1_im + kCos2 * s2_im;
  const Lanes m2_re = a[0].re + kCos2 * s1_re + kCos1 * s2_re,
              m2_im = a[0].im + kCos2 * s1_im + kCos1 * s2_im;
  const Lanes n1_re = kSin1 * d1_re + kSin2 * d2_re, n1_im = kSin1 * d1_im + kSin2 * d2_im;
  const Lanes n2_re = kSin2 * d1_re - kSin1 * d2_re, n2_im = kSin2 * d1_im - kSin1 * d2_im;
  a[0].re += s1_re + s2_re;
  a[0].im += s1_im + s2_im;
  a[1] = {m1_re - n1_im, m1_im + n1_re};
  a[4] = {m1_re + n1_im, m1_im - n1_re};
  a[2] = {m2_re - n2_im, m2_im + n2_re};
  a[3] = {m2_re + n2_im, m2_im - n2_re};
}

/// One stage of Stockham's transform (self-sorting; Van Loan 1992): `parts` groups of `Radix`, `stride`
/// apart.
template <int Radix, bool Back>
KIRTLE_INLINE void stage(const FourierPair* from, FourierPair* to, int parts, int stride,
                         const float* turns) {
  for (int p = 0; p < parts; ++p) {
    const float* w = turns + static_cast<std::ptrdiff_t>(p) * 2 * (Radix - 1);
    for (int q = 0; q < stride; ++q) {
      Complex a[Radix];
      for (int j = 0; j < Radix; ++j) load(from[q + stride * (p + parts * j)], a[j]);
      small<Back>(a);
      if (p > 0)
        for (int j = 1; j < Radix; ++j) turn(a[j], w[2 * j - 2], Back ? -w[2 * j - 1] : w[2 * j - 1]);
      for (int j = 0; j < Radix; ++j) store(a[j], to[q + stride * (Radix * p + j)]);
    }
  }
}

/// A line of eight in a; b is scratch. Returns the one of both that has the result.
template <bool Back>
KIRTLE_INLINE FourierPair* transform(int length, const int* radices, int stages, const float* turns,
                                     FourierPair* a, FourierPair* b) {
  int left = length, stride = 1;
  for (int i = 0; i < stages; ++i) {
    const int radix = radices[i], parts = left / radix;
    if (radix == 2) stage<2, Back>(a, b, parts, stride, turns);
    if (radix == 3) stage<3, Back>(a, b, parts, stride, turns);
    if (radix == 4) stage<4, Back>(a, b, parts, stride, turns);
    if (radix == 5) stage<5, Back>(a, b, parts, stride, turns);
    turns += static_cast<std::ptrdiff_t>(parts) * 2 * (radix - 1);
    std::swap(a, b);
    left = parts;
    stride *= radix;
  }
  return a;
}

/// Rows of eight become columns.
KIRTLE_INLINE void transpose(Lanes (&r)[8]) {
  Lanes t[8], u[8];
  for (int i = 0; i < 4; ++i) {
    const Lanes &a = r[2 * i], &b = r[2 * i + 1];
    t[2 * i] = __builtin_shufflevector(a, b, 0, 8, 1, 9, 4, 12, 5, 13);
    t[2 * i + 1] = __builtin_shufflevector(a, b, 2, 10, 3, 11, 6, 14, 7, 15);
  }
  for (int i = 0; i < 4; ++i) {
    const Lanes &a = t[i / 2 * 4 + i % 2], &b = t[i / 2 * 4 + i % 2 + 2];
    u[2 * i] = __builtin_shufflevector(a, b, 0, 1, 8, 9, 4, 5, 12, 13);
    u[2 * i + 1] = __builtin_shufflevector(a, b, 2, 3, 10, 11, 6, 7, 14, 15);
  }
  for (int i = 0; i < 4; ++i) {
    r[i] = __builtin_shufflevector(u[i], u[4 + i], 0, 1, 2, 3, 8, 9, 10, 11);
    r[4 + i] = __builtin_shufflevector(u[i], u[4 + i], 4, 5, 6, 7, 12, 13, 14, 15);
  }
}

struct Shape {
  int length, stages;
  const int* radices;
  const float* turns;
};

Shape shape(const auto& line) {
  return {line.length, static_cast<int>(line.radices.size()), line.radices.data(), line.turns.data()};
}

KIRTLE_WIDE void columns_forward(const float* plane, int width, const Shape& line, FourierPair* a,
                                 FourierPair* b, float* re, float* im) {
  const int height = line.length;
  for (int x = 0; x < width; x += 16) {
    for (int y = 0; y < height; ++y)
      std::memcpy(&a[y], plane + static_cast<std::ptrdiff_t>(y) * width + x, 64);
    const FourierPair* z = transform<false>(height, line.radices, line.stages, line.turns, a, b);
    for (int k = 0; k <= height / 2; ++k) {
      // Two columns in one complex transform: the even part is the first's, the odd part the second's.
      Complex p, m;
      load(z[k], p);
      load(z[k == 0 ? 0 : height - k], m);
      const Lanes first_re = 0.5F * (p.re + m.re), first_im = 0.5F * (p.im - m.im);
      const Lanes second_re = 0.5F * (p.im + m.im), second_im = 0.5F * (m.re - p.re);
      const std::ptrdiff_t at = static_cast<std::ptrdiff_t>(k) * width + x;
      std::memcpy(re + at, &first_re, 32);
      std::memcpy(im + at, &first_im, 32);
      std::memcpy(re + at + 8, &second_re, 32);
      std::memcpy(im + at + 8, &second_im, 32);
    }
  }
}

KIRTLE_WIDE void columns_inverse(const float* re, const float* im, int width, const Shape& line,
                                 FourierPair* a, FourierPair* b, float scale, float* plane) {
  const int height = line.length;
  for (int x = 0; x < width; x += 16) {
    for (int k = 0; k <= height / 2; ++k) {
      const std::ptrdiff_t at = static_cast<std::ptrdiff_t>(k) * width + x;
      Lanes first_re, first_im, second_re, second_im;
      std::memcpy(&first_re, re + at, 32);
      std::memcpy(&first_im, im + at, 32);
      std::memcpy(&second_re, re + at + 8, 32);
      std::memcpy(&second_im, im + at + 8, 32);
      store({first_re - second_im, first_im + second_re}, a[k]);
      if (k > 0 && k < height / 2) store({first_re + second_im, second_re - first_im}, a[height - k]);
    }
    const FourierPair* z = transform<true>(height, line.radices, line.stages, line.turns, a, b);
    for (int y = 0; y < height; ++y) {
      Complex c;
      load(z[y], c);
      c.re *= scale;
      c.im *= scale;
      float* to = plane + static_cast<std::ptrdiff_t>(y) * width + x;
      std::memcpy(to, &c.re, 32);
      std::memcpy(to + 8, &c.im, 32);
    }
  }
}

KIRTLE_WIDE void rows_forward(const float* re, const float* im, const Shape& line, FourierPair* a,
                              FourierPair* b, FourierPair* out) {
  const int width = line.length;
  for (int x = 0; x < width; x += 8) {
    Lanes r[8], i[8];
    for (int y = 0; y < 8; ++y) {
      std::memcpy(&r[y], re + static_cast<std::ptrdiff_t>(y) * width + x, 32);
      std::memcpy(&i[y], im + static_cast<std::ptrdiff_t>(y) * width + x, 32);
    }
    transpose(r);
    transpose(i);
    for (int k = 0; k < 8; ++k) store({r[k], i[k]}, a[x + k]);
  }
  const FourierPair* z = transform<false>(width, line.radices, line.stages, line.turns, a, b);
  std::memcpy(out, z, static_cast<std::size_t>(width) * sizeof *out);
}

KIRTLE_WIDE void rows_inverse(FourierPair* spectrum, const Shape& line, FourierPair* b, float* re,
                              float* im) {
  const int width = line.length;
  const FourierPair* z = transform<true>(width, line.radices, line.stages, line.turns, spectrum, b);
  for (int x = 0; x < width; x += 8) {
    Lanes r[8], i[8];
    for (int k = 0; k < 8; ++k) {
      std::memcpy(&r[k], z[x + k].re, 32);
      std::memcpy(&i[k], z[x + k].im, 32);
    }
    transpose(r);
    transpose(i);
    for (int y = 0; y < 8; ++y) {
      std::memcpy(re + static_cast<std::ptrdiff_t>(y) * width + x, &r[y], 32);
      std::memcpy(im + static_cast<std::ptrdiff_t>(y) * width + x, &i[y], 32);
    }
  }
}

}  // namespace

int fourier_side(int length) {
  for (int side = (length + 15) / 16 * 16;; side += 16) {
    int rest = side;
    for (const int prime : {2, 3, 5})
      while (rest % prime == 0) rest /= prime;
    if (rest == 1) return side;
  }
}

PlaneFourier::PlaneFourier(int width, int height)
    : width_(width), height_(height), across_(line(width)), down_(line(height)) {
  KIRTLE_CHECK(fourier_side(width), ==, width);
  KIRTLE_CHECK(fourier_side(height), ==, height);
  a_.resize(static_cast<std::size_t>(std::max(width, height)));
  b_.resize(a_.size());
  re_.assign(static_cast<std::size_t>(groups()) * 8 * static_cast<std::size_t>(width), 0.0F);
  im_ = re_;
}

PlaneFourier::Line PlaneFourier::line(int length) {
  Line out{length, {}, {}};
  for (int left = length; left > 1;) {
    const int radix = left % 5 == 0 ? 5 : left % 3 == 0 ? 3 : left % 4 == 0 ? 4 : 2;
    out.radices.push_back(radix);
    for (int p = 0; p < left / radix; ++p) {
      for (int j = 1; j < radix; ++j) {
        const double angle = -2 * std::numbers::pi * p * j / left;
        out.turns.push_back(static_cast<float>(std::cos(angle)));
        out.turns.push_back(static_cast<float>(std::sin(angle)));
      }
    }
    left /= radix;
  }
  return out;
}

void PlaneFourier::forward(const Plane& plane, Spectrum8& out) {
  const auto width = static_cast<std::size_t>(width_);
  out.resize(static_cast<std::size_t>(groups()) * width);
  columns_forward(plane.data(), width_, shape(down_), a_.data(), b_.data(), re_.data(), im_.data());
  for (std::size_t g = 0; g < static_cast<std::size_t>(groups()); ++g)
    rows_forward(re_.data() + 8 * g * width, im_.data() + 8 * g * width, shape(across_), a_.data(), b_.data(),
                 out.data() + g * width);
}

void PlaneFourier::inverse(Spectrum8& spectrum, Plane& out) {
  const auto width = static_cast<std::size_t>(width_);
  out.resize(width * static_cast<std::size_t>(height_));
  for (std::size_t g = 0; g < static_cast<std::size_t>(groups()); ++g)
    rows_inverse(spectrum.data() + g * width, shape(across_), b_.data(), re_.data() + 8 * g * width,
                 im_.data() + 8 * g * width);
  columns_inverse(re_.data(), im_.data(), width_, shape(down_), a_.data(), b_.data(),
                  1.0F / static_cast<float>(out.size()), out.data());
}

}  // namespace kirtle
