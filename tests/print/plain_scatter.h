#pragma once
// The slow twin of LoupeScatter (print/loupe_scatter.h).
#include "print/loupe_scatter.h"

#include <span>

namespace kirtle::test {

/// Every band by itself, with OpenCV's transforms, followed to 1e-5; adds the difference to xyz.
void add_scatter_plainly(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz);

}  // namespace kirtle::test
