#pragma once
#include "light/weights.h"

namespace kirtle {

/// How far two samples that match under one light part under another.
struct Metamerism {
  double index_de00 = 0;      ///< CIEDE2000 under the test light, after the correction. >= 0
  double reference_de00 = 0;  ///< CIEDE2000 under the reference light, before it. 0 if they match there
};

/// Special index of metamerism, change of illuminant, in CIEDE2000 units.
///   first, second   reflectances, 0..1; second is the one corrected
///   reference, test same observer
/// What mismatch is left under the reference light is taken out by multiplying: X2t' = X2t X1r / X2r, same
/// for Y, Z. Source: CIE 15 (multiplicative correction: from memory). Limits: a channel of `second` below
/// 1e-6 under the reference (a perfect black) is left uncorrected. Throws InternalError if the observers
/// differ.
Metamerism metamerism(const Spectrum& first, const Spectrum& second, const ViewingWeights& reference,
                      const ViewingWeights& test);

}  // namespace kirtle
