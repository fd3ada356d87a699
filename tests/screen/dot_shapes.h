#pragma once
#include "screen/dot.h"

namespace kirtle::test {

/// All but dots of noise.
inline constexpr DotShape kShapes[] = {DotShape::round, DotShape::elliptical, DotShape::inverting,
                                       DotShape::line, DotShape::square};

}  // namespace kirtle::test
