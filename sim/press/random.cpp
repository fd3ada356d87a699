#include "press/random.h"

#include <bit>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>

namespace kirtle {
namespace {

/// a[0] + a[1] x + a[2] x^2 + ...
template <std::size_t N>
double polynomial(const std::array<double, N>& a, double x) {
  double sum = a[N - 1];
  for (std::size_t i = N - 1; i-- > 0;) sum = sum * x + a[i];
  return sum;
}

// Coefficients of AS 241, PPND16 (Wichura 1988), checked by the round trip through erfc in the tests. Centre:
// |p - 1/2| <= 0.425; near tail: sqrt(-ln p) <= 5; far tail beyond.
constexpr std::array kCentreOver{3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
                                 1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                                 3.3430575583588128105e4, 2.5090809287301226727e3};
constexpr std::array kCentreUnder{1.0,
                                  4.2313330701600911252e1,
                                  6.8718700749205790830e2,
                                  5.3941960214247511077e3,
                                  2.1213794301586595867e4,
                                  3.9307895800092710610e4,
                                  2.8729085735721942674e4,
                                  5.2264952788528545610e3};
constexpr std::array kTailOver{1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                               3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                               2.27238449892691845833e-2, 7.74545014278341407640e-4};
constexpr std::array kTailUnder{1.0,
                                2.05319162663775882187e0,
                                1.67638483018380384940e0,
                                6.89767334985100004550e-1,
                                1.48103976427480074590e-1,
                                1.51986665636164571966e-2,
                                5.47593808499534494600e-4,
                                1.05075007164441684324e-9};
constexpr std::array kFarOver{6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                              2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                              2.71155556874348757815e-5, 2.01033439929228813265e-7};
constexpr std::array kFarUnder{1.0,
                               5.99832206555887937690e-1,
                               1.36929880922735805310e-1,
                               1.48753612908506148525e-2,
                               7.86869131145613259100e-4,
                               1.84631831751005468180e-5,
                               1.42151175831644588870e-7,
                               2.04426310338993978564e-15};

}  // namespace

std::array<std::uint32_t, 4> philox4x32_10(std::array<std::uint32_t, 4> counter,
                                           std::array<std::uint32_t, 2> key) {
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t a = std::uint64_t{0xD2511F53u} * counter[0];
    const std::uint64_t b = std::uint64_t{0xCD9E8D57u} * counter[2];
    counter = {static_cast<std::uint32_t>(b >> 32) ^ counter[1] ^ key[0], static_cast<std::uint32_t>(b),
               static_cast<std::uint32_t>(a >> 32) ^ counter[3] ^ key[1], static_cast<std::uint32_t>(a)};
    key[0] += 0x9E3779B9u;
    key[1] += 0xBB67AE85u;
  }
  return counter;
}

double uniform_number(const DrawAddress& at) {
  const std::array<std::uint32_t, 4> bits =
      philox4x32_10({at.shirt, at.head, static_cast<std::uint32_t>(at.drawn_for), at.index},
                    {static_cast<std::uint32_t>(at.seed), static_cast<std::uint32_t>(at.seed >> 32)});
  const std::uint64_t k = ((std::uint64_t{bits[0]} << 32) | bits[1]) >> 12;
  return (static_cast<double>(k) + 0.5) * 0x1p-52;
}

double normal_number(const DrawAddress& at) { return inverse_normal(uniform_number(at)); }

double inverse_normal(double p) {
  if (!(p > 0 && p < 1)) throw std::domain_error("inverse_normal: p is " + std::to_string(p) + "; 0 < p < 1");
  const double q = p - 0.5;
  if (q >= -0.425 && q <= 0.425) {
    const double r = 0.180625 - q * q;
    return q * polynomial(kCentreOver, r) / polynomial(kCentreUnder, r);
  }
  const double r = std::sqrt(-portable_log(q < 0 ? p : 1 - p));
  const double x = r <= 5 ? polynomial(kTailOver, r - 1.6) / polynomial(kTailUnder, r - 1.6)
                          : polynomial(kFarOver, r - 5) / polynomial(kFarUnder, r - 5);
  return q < 0 ? -x : x;
}

double portable_log(double x) {
  if (!(x >= std::numeric_limits<double>::min() && x <= std::numeric_limits<double>::max()))
    throw std::domain_error("portable_log: x is " + std::to_string(x) + "; it must be a normal number > 0");
  const auto bits = std::bit_cast<std::uint64_t>(x);
  int exponent = static_cast<int>(bits >> 52) - 1023;
  double m = std::bit_cast<double>((bits & 0x000fffffffffffffu) | 0x3ff0000000000000u);
  if (m > 1.4142135623730951) {
    m *= 0.5;
    ++exponent;
  }
  // |s| <= 0.1716: the first term left out, s^25/25, is under 3e-21.
  const double s = (m - 1) / (m + 1), s2 = s * s;
  double series = 0;
  for (int k = 23; k >= 3; k -= 2) series = (series + 1.0 / k) * s2;
  // ln 2 in two parts; the first has 21 trailing zero bits, so that exponent times it is exact.
  constexpr double kLn2High = 6.93147180369123816490e-01, kLn2Low = 1.90821492927058770002e-10;
  return exponent * kLn2High + (2 * s + (2 * s * series + exponent * kLn2Low));
}

}  // namespace kirtle
