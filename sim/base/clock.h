#pragma once
// How long a step takes, for what programs report of themselves. Nothing that is computed hangs on it.
#include <chrono>

namespace kirtle {

using Clock = std::chrono::steady_clock;

inline double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

}  // namespace kirtle
