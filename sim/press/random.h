#pragma once
// Random numbers that have an address: the number of shirt 317, head 2, sideways, is the same whether it is
// made alone or in a run, on any number of threads and on any machine. Whole-number arithmetic, then + - * /
// and square root only (IEEE 754 rounds those one way), no function of the maths library.
#include <array>
#include <cstdint>

namespace kirtle {

/// The block function Philox4x32-10: 128 counter bits and 64 key bits to 128 random bits.
/// Source: Salmon, Moraes, Dror, Shaw 2011, SC '11, doi:10.1145/2063384.2063405.
std::array<std::uint32_t, 4> philox4x32_10(std::array<std::uint32_t, 4> counter,
                                           std::array<std::uint32_t, 2> key);

/// What a number is drawn for. The values are part of every seed's result: add, never renumber.
enum class DrawnFor : std::uint32_t {
  shift_across = 1,
  shift_down = 2,
  turn = 3,
  setup_across = 4,
  setup_down = 5,
  setup_turn = 6,
};

/// Where a number stands. No two addresses share a number.
struct DrawAddress {
  std::uint64_t seed = 0;
  std::uint32_t shirt = 0;
  std::uint32_t head = 0;
  DrawnFor drawn_for = DrawnFor::shift_across;
  std::uint32_t index = 0;  ///< for draws that need more than one
};

/// Evenly spread, never 0 or 1: (k + 1/2) / 2^52 with k of 52 random bits.
double uniform_number(const DrawAddress& at);

/// Normal with mean 0 and standard deviation 1, within +-8.21.
/// Source: inverse of the normal distribution (inverse_normal) at uniform_number.
double normal_number(const DrawAddress& at);

/// x with Phi(x) = p. p in (0, 1).
/// Source: Wichura 1988, Appl. Statist. 37(3):477, doi:10.2307/2347330, algorithm AS 241, PPND16 (about 1
/// part in 10^16), with portable_log for its logarithm. Limits: relative error under 2e-15 for p from 1e-300
/// to 1 - 1e-10. Throws std::domain_error unless 0 < p < 1.
double inverse_normal(double p);

/// Natural logarithm by arithmetic alone: exponent times ln 2, plus the series of 2 artanh((m - 1) / (m + 1))
/// for the fraction m in [sqrt(1/2), sqrt(2)]. x a normal number > 0; relative error under 5e-16. Throws
/// std::domain_error unless x is finite and >= 2.3e-308.
double portable_log(double x);

}  // namespace kirtle
