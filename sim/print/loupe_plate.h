#pragma once
// One plate under the loupe: where its ink lies, at device resolution.
#include "plate/contour.h"
#include "print/cover.h"
#include "screen/dot_period.h"
#include "screen/threshold.h"

#include <cstdint>
#include <span>
#include <vector>

namespace kirtle {

/// A raster of device pixels on the print; pixel (x, y) has its centre at mm (x_mm + x pitch, y_mm + y pitch)
/// from the print's top left corner.
struct DeviceRaster {
  double x_mm = 0, y_mm = 0;
  double pitch_mm = 0;
};

struct DeviceRect {
  int x = 0, y = 0, width = 0, height = 0;
  std::size_t pixels() const { return static_cast<std::size_t>(width) * static_cast<std::size_t>(height); }
};

/// What lies at a device pixel: bit 0 ink; bit 1 within a tint, where dots come and go.
constexpr std::uint8_t kDeviceInk = 1, kDeviceTint = 2;

/// The rows of a plate that a band of device rows needs.
struct PlateBand {
  DistanceRows rows;
  /// What lies between four pixels, the first of them (x0 + column, rows.y0 + row): kBandMixed, kBandPaper,
  /// kBandInk, or kBandTint and more where all four are one tint.
  std::vector<std::int32_t> squares;
  int x0 = 0, columns = 0;
  std::int32_t square(int x, int y) const {
    const int column = x - x0, row = y - rows.y0;
    if (column < 0 || column >= columns || row < 0 || row >= rows.rows - 1) return kBandMixed;
    return squares[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                   static_cast<std::size_t>(column)];
  }
  static constexpr std::int32_t kBandMixed = -1, kBandPaper = 0, kBandInk = 1, kBandTint = 2;
};

/// How dots are laid on the device raster.
enum class DotRaster {
  counted,  ///< each period with its right number of pixels (dot_cells.h), so that the raster adds no beat
  plain     ///< each pixel for itself, as a shader can
};

/// Edges are where the distance to the contour, linear between plate pixels, changes sign; tints are dots of
/// the film's tone, linear between plate pixels. The dots are fixed to the plate: register moves them with
/// it.
class LoupePlate {
 public:
  /// cover must outlive this. seed: which dots near the stencil's limit are lost.
  LoupePlate(const PlateCover& cover, std::uint32_t seed, DotRaster dots = DotRaster::counted);

  /// Device pixels beyond the rect that doses inside it depend on: the wicking's reach.
  int margin(double pitch_mm) const;
  /// rect: everything whose states will be asked of the band, margins included. Whole periods beyond it, for
  /// counting, are added here.
  PlateBand band(const DeviceRaster& raster, const DeviceRect& rect) const;
  /// States of a film's pixels, row by row.
  void states(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
              std::span<std::uint8_t> out) const;
  /// Dose 0..1 of a soaked plate: its dots, wicked. What the wicking leaves of the dots is in it.
  void doses(const PlateBand& band, const DeviceRaster& raster, const DeviceRect& rect,
             std::span<float> out) const;

  bool field() const { return cover_.field(); }

 private:
  class Points;
  struct Places;
  /// Device pixels that others of its period can lie beyond one of them; 0 if dots are not counted.
  int period_margin(double pitch_mm) const;
  PeriodStep period_step(double pitch_mm) const;
  void find_squares(double low, double high, PlateBand& band) const;
  bool counted_states(const PlateBand& band, const Places& places, std::span<std::uint8_t> out) const;
  void lose_dots(std::span<const double> film, std::span<const double> u, std::span<const double> v,
                 std::uint8_t* row) const;

  const PlateCover& cover_;
  PrintedDots dots_;
  DotRaster raster_;
};

}  // namespace kirtle
