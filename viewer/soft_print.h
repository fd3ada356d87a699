#pragma once
// A print asked point by point, from the codes that the graphics card would hold: what viewer/shaders do, on
// the processor.
#include "build.h"
#include "screen/threshold.h"

#include <array>
#include <cstdint>
#include <memory>
#include <vector>

namespace kirtle {

using CoverTuple = std::array<std::uint16_t, kMostPlates>;

/// One plate where it lands.
struct SoftPlate {
  std::shared_ptr<const PlateCodes> codes;
  std::vector<std::uint16_t> cover;  ///< of a tint, by code
  double map[4] = {1, 0, 0, 1};      ///< print to plate, about the centre
  double shift_x = 0, shift_y = 0;   ///< pixels
  bool prints = true;                ///< its head is down
};

/// Share or dose of one plate at a point.
struct SoftLaid {
  float cover = 0;       ///< 0..65535
  float distance = 0;    ///< pixels to the printed contour
  bool contour = false;  ///< the distance counts: no tint takes part
};

class SoftPrint {
 public:
  /// loupe: dots are wanted. prints: one a plate.
  SoftPrint(std::shared_ptr<const Build> build, const std::vector<RegisterOffset>& offsets,
            const std::vector<bool>& prints, bool loupe);

  int width() const { return width_; }
  int height() const { return height_; }
  double mm_per_px() const { return mm_per_px_; }

  /// XYZ of a pixel of `size` plate pixels, at most 1 sharper than the plate's own; x, y in pixels of the
  /// print.
  XYZf arms_length(double x, double y, float size, Mixer& mixer) const;
  /// The dot that lies at a point.
  XYZf under_loupe(double x, double y, Mixer& mixer) const;
  /// What lies on a plate's film there, 0..1.
  double film(std::size_t plate, double x, double y) const;

 private:
  std::uint16_t code(const SoftPlate& p, int x, int y) const;
  void source(const SoftPlate& p, double x, double y, double& sx, double& sy) const;
  SoftLaid laid(const SoftPlate& p, double x, double y) const;
  bool inked(std::size_t i, double x, double y) const;
  float contour_at(const SoftPlate& p, double x, double y) const;
  std::uint64_t points_inside(const SoftPlate& p, float d, double x, double y, float size) const;

  std::shared_ptr<const Build> build_;
  std::vector<SoftPlate> plates_;
  std::vector<PrintedDots> dots_;
  int width_ = 0, height_ = 0;
  double mm_per_px_ = 0;
};

}  // namespace kirtle
