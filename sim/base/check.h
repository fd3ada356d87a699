#pragma once
// KIRTLE_CHECK(a, op, b): our own bug if it fails, in every build type. Both operands are in the message.
#include <sstream>
#include <stdexcept>
#include <string>

namespace kirtle {

/// A broken promise inside Kirtle, never the user's fault. Exit status 1.
class InternalError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

template <class A, class B>
[[noreturn]] void check_failed(const char* expression, const A& a, const B& b, const char* file, int line) {
  std::ostringstream out;
  out << "internal error at " << file << ':' << line << ": " << expression << " fails with " << a << " and "
      << b;
  throw InternalError(out.str());
}

}  // namespace kirtle

#define KIRTLE_CHECK(a, op, b)                                                           \
  do {                                                                                   \
    const auto& kirtle_a = (a);                                                          \
    const auto& kirtle_b = (b);                                                          \
    if (!(kirtle_a op kirtle_b))                                                         \
      ::kirtle::check_failed(#a " " #op " " #b, kirtle_a, kirtle_b, __FILE__, __LINE__); \
  } while (false)
