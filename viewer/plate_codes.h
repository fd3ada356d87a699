#pragma once
// A plate as the graphics card holds it: one 16-bit code a pixel, which says either what the film's tone is
// or how far the printed contour lies. Register is not in it: it moves the codes.
#include "base/progress.h"
#include "print/cover.h"

#include <cstdint>
#include <memory>
#include <vector>

namespace kirtle {

/// Codes. A distance runs from -reach (inside) to +reach over kCodeDistance .. 65535; a tint's film value
/// from 0 to 1 over kCodeTint .. kCodeTint + kCodeTintSteps.
constexpr std::uint16_t kCodeNone = 0, kCodeSolid = 1, kCodeTint = 2, kCodeDistance = 32768;
constexpr int kCodeTintSteps = 32764, kCodeDistanceSteps = 32767;

struct PlateCodes {
  int width = 0, height = 0;
  double reach_px = 0, spread_px = 0;
  bool field = false;
  std::vector<std::uint16_t> code;
  std::vector<std::uint16_t> dose;  ///< of a field: its wicked dose at arm's length, 0..65535; else empty
};

/// What a code says, as the shader reads it.
struct DecodedPixel {
  bool tint = false, edge = false;
  double film = 0;      ///< 0..1: of a tint; of an edge what its distance says
  double distance = 0;  ///< plate pixels to the printed contour, negative inside; +-reach away from any
};
DecodedPixel decode(const PlateCodes& plate, std::uint16_t code);

/// Codes of one plate. The register of `cover` is left out. Throws Cancelled.
std::shared_ptr<const PlateCodes> make_plate_codes(const PlateImage& image, double ppi,
                                                   CoverSettings settings, unsigned threads,
                                                   const Progress& progress = {});

}  // namespace kirtle
