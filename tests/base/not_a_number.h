#pragma once
#include <limits>

namespace kirtle::test {

inline constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

}  // namespace kirtle::test
