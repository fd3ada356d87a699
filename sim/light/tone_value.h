#pragma once
#include "light/colour.h"

#include <optional>

namespace kirtle {

/// Spot colour tone value (SCTV) of a tint, percent: 0 on the ground, 100 on the solid. >= 0; over 100 where
/// the tint lies farther from the ground than the solid does. nullopt if solid and ground are the same
/// colour.
///   ground  what lies below the tint: the cloth, or the underbase if there is one
///   solid, tint, white  XYZ under the same light and observer
/// Source: ISO 20654:2017 as three independent public implementations give it (text of the standard not
/// read):
///         V = 116 f(t) - 16 for X, Y, Z with f of ISO/CIE 11664-4, root of the ratio of the summed squares.
/// Limits: not a ratio of Lab distances; XYZ >= 0.
std::optional<double> tone_value_iso20654(const XYZ& ground, const XYZ& solid, const XYZ& tint,
                                          const XYZ& white);

}  // namespace kirtle
