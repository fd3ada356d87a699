#pragma once
// How far a tint fills in when every dot edge moves outward by the same length.
#include "screen/screen.h"

namespace kirtle {

/// Share of the period that is ink after every edge moved outward by `spread` periods (negative: inward).
/// 0..1, rising with coverage and spread; coverage 0 stays 0 and 1 stays 1.
///   shape    not noise (noise_print.h)
///   coverage 0..1
/// Source: plane geometry; a dot is a convex outline in its own period, grown with round corners or shrunk,
/// and
///   cut off at the period's edge, where the neighbour's begins. Above half, inverting dots are their holes.
///   Outlines of 96 points a quarter: within 1e-4.
/// Limits: of dots that overlap, each is shrunk by itself (a neck between them goes a little too soon).
double spread_coverage(DotShape shape, double coverage, double spread);

}  // namespace kirtle
