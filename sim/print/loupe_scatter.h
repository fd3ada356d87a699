#pragma once
// What the sideways spread of light adds to, and takes from, the colours of a piece of the print: the flux
// model of flux.h at device resolution, over a ground that differs from place to place.
//
// At each pixel, with T, R0' the layers above the ground and rho_n the light that the ground returns with
// mean radius L_n (their sum is rg):
//     d = T + R0' u                                        light going down onto the ground
//     u = sum_n sqrt(rho_n) P_n * ( sqrt(rho_n) d )        light coming back up from it
// and the reflectance differs from the pile's own by T (u - rg T / (1 - R0' rg)). Over an even ground this is
// flux.h's form; the root on both sides keeps what goes from one place to another equal to what comes back.
// Films of the ground end where their plate does. What a film would send beyond its end it keeps, since the
// film may go on there as a dot above another ground; the cloth goes on everywhere and loses to dark
// neighbours what it sends them. The bracket is worked out in every `step`-th band and follows a smooth curve
// between; T and the pile's own colour, which are less smooth, count in every band.
#include "print/loupe_kinds.h"
#include "print/renderer.h"

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

namespace kirtle {

/// A piece of the print; it repeats without end, so its border must be left out of what is used.
struct LoupePiece {
  int width = 0, height = 0;
  double pitch_um = 0;
  std::vector<std::uint32_t> kind;  ///< index into kinds, row by row
  std::vector<LoupeKind> kinds;
};

/// The bands in which the spread is worked out, every `step`-th, centred.
std::vector<int> loupe_bands(int step);

/// Works that out. Bands are not followed one by one: what goes out sideways in all of them is held by few
/// planes (few_directions.h), and so is what comes back at all radii (spread_radii.h), so that few Fourier
/// transforms serve all bands. Where soaked plates make very many kinds of pile, planes would not be few, and
/// each band goes by itself. Its slow twin stands with its tests.
class LoupeScatter {
 public:
  LoupeScatter();
  LoupeScatter(LoupeScatter&&) noexcept;
  ~LoupeScatter();
  /// Adds the difference to xyz, row by row. Light is followed until what is still missing is under 2e-5 of
  /// reflectance (root mean square). Sides of the piece: from fourier_side().
  void add(const LoupePiece& piece, std::span<const double> fibre_shares, std::span<XYZf> xyz);

  struct Scratch;

 private:
  std::unique_ptr<Scratch> scratch_;  ///< planes, kept from piece to piece
};

}  // namespace kirtle
