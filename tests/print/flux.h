#pragma once
// The flux model of resolved dots: light that enters the cloth through one dot and leaves through another,
// sample by sample. The slow reference for the pair form (pair_form.h); made so that a view through the loupe
// can draw it too.
//
// At each sample of a cell that repeats without end, with R0, T, R0' the layers above a ground of reflectance
// rg that spreads light sideways by P (normalised):
//     d = T + R0' u                       light going down onto the ground
//     u = sqrt(rg) P * ( sqrt(rg) d )     light coming back up from it
//     R = R0 + T u
// d is iterated until it stands still. P without width gives Kubelka's pile at every sample; endless width
// with clear layers gives Clapper and Yule's form, and without a surface Yule and Nielsen's with n = 2.
// Source: derived from Kubelka 1954, doi:10.1364/JOSA.44.000330 (piles), with sideways spread as in
//   Ruckdeschel, Hauser 1978, Appl. Opt. 17, 3376 (from memory), whose case is the clear ink. P: scatter.h.
// Limits: layers above the ground spread nothing themselves (they are thin against the dots); P is that of an
//   even ground of the mean K and S. Film that lies under all dots is ground: see flux_band.
#include "layer/ks.h"
#include "stack/stack.h"

#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// One period of the print, row by row. Screens of several angles need a cell in which all of them repeat.
struct FluxCell {
  int width = 0, height = 0;
  double sample_um = 0;              ///< side of a sample, > 0
  std::vector<std::uint16_t> kinds;  ///< which kind of pile lies at each sample
};

/// Part of the light spread with one mean radius (transform in scatter.h).
struct SpreadPart {
  double share = 1;  ///< 0..1; the shares of a band sum to 1
  double mean_um = 0;
};

/// The kinds of pile in one band.
struct FluxBand {
  std::vector<LayerRT> above;  ///< layers above the ground, one a kind
  std::vector<double> ground;  ///< rg, 0..1, one a kind
  std::vector<SpreadPart> spread;
};

/// Reflectance at every sample of the cell in one band, 0..1, to `tolerance` (root mean square).
/// Throws std::domain_error if an entry is out of range or some R0' rg is above 0.999 (light that never
/// leaves).
std::vector<double> flux_samples(const FluxCell& cell, const FluxBand& band, double tolerance = 1e-9);

/// Its mean over the cell.
double flux_mean(const FluxCell& cell, const FluxBand& band, double tolerance = 1e-9);

/// One fibre, one band of a set of overprints. Their ground is the cloth and the film layers that all of them
/// share from the bottom up; P is the mean of the kinds', weighted by `area` (one a kind, sum 1): what a
/// shared film turns back spreads by that film's own scatter, what passes it by what lies below. fibre and
/// band are indices.
FluxBand flux_band(std::span<const Overprint> kinds, std::span<const double> area, std::size_t fibre,
                   std::size_t band);

/// Mean reflectance of the cell in every band, fibres added by their shares. 0..1. Throws as flux_samples.
Spectrum flux_reflectance(const FluxCell& cell, std::span<const Overprint> kinds, double tolerance = 1e-9);

}  // namespace kirtle
