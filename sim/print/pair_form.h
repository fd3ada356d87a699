#pragma once
// The pair form: halftones over a ground in which light travels sideways, without a fitted exponent.
//
//   R = sum_pq w_p w_q Q_pq,   Q_pq = (R_p + R_q)/2 + 2 (H_pq(m) - H_pq(0))
//
// p, q overprints with weights w; R_p the whole pile; H_pq(m) what p and q give back where they lie half and
// half over their common ground (what they share from the bottom up) of reflectance rg, with R0, T, R0' the
// layers above it, if the ground's sideways scatter removes the share m of the dot pattern:
//     v = (1 - m) e + m mean(e),   e = sqrt(rg) (T + R0' sqrt(rg) v),   H = mean(R0 + T sqrt(rg) v)
// so that a single ink at 50 % is exact in m, every bounce between ground and film counted. m = 0 gives area
// mixing; with clear inks Q is (1 - m)(R_p + R_q)/2 + m sqrt(rg_p rg_q) T_p T_q, which for m = 1 is
// Yule-Nielsen n = 2.
//
// Source: derived from two-flux transport through a patterned layer over a spreading ground (flux.h), with
// the pattern's decay in the ground taken as one number; checked against it in the tests.
//
// Limits: where many overprints meet, light that bounces more than once meets the mean of the pair instead of
// the mean of all.
#include "print/scatter.h"
#include "stack/stack.h"

#include <vector>

namespace kirtle {

/// The halftone of one plate as the pair form needs it.
struct PlateDots {
  HalftoneScreen halftone;
  bool field = false;  ///< a soaked dose that wicks flat: no dots; levels of dose mix as on a common ground
  Mm offset_x{0},
      offset_y{0};  ///< where the register puts the plate; tells only against plates of the same screen
};

/// Scatter shares of every plate's dots; built once a scene.
class PairForm {
 public:
  /// tone: printed coverage for which m is taken. 0.5 serves all tones in predictions (see docs/model.md for
  /// the error).
  explicit PairForm(std::vector<PlateDots> plates, double tone = 0.5);

  /// Q_pq, one band after the other, fibres added by their shares. 0..1.
  ///   differing  plates whose dose differs between p and q; must not be empty unless p and q are the same
  Spectrum pair(const Overprint& p, const Overprint& q, const std::vector<int>& differing) const;

  /// The same with the scatter share given, for tests and for charts. m per band, 0..1.
  static Spectrum pair_at(const Overprint& p, const Overprint& q, const Spectrum& m);

  /// m per band for a pair on one fibre.
  Spectrum scatter_share(const Overprint& p, const Overprint& q, std::size_t fibre,
                         const std::vector<int>& differing) const;

 private:
  std::vector<PlateDots> plates_;
  std::vector<ScatterShare> shares_;  ///< one a plate
};

/// How many film layers, from the bottom up, p and q share.
std::size_t shared_film(const Overprint& p, const Overprint& q);

/// Film layers of p above its lowest `shared`, with the surface on top, in one band. Source: Kubelka 1954.
LayerRT layers_above(const Overprint& p, std::size_t shared, std::size_t band);

}  // namespace kirtle
