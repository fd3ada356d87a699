#pragma once
// The print under the loupe: real dots, at device resolution.
//
// Every device pixel is one overprint: each plate, where its own register puts it, has ink there or none
// (loupe_plate.h); a soaked plate has its wicked dose. The colour is that of the pile, from the table that
// serves at arm's length too; then light spreads sideways in the ground (loupe_scatter.h). Nothing is
// averaged before it is mixed.
//
// The window is cut in tiles of fixed size from its own top left corner, each worked out with a border as
// wide as wicking and light reach (six mean radii, which leaves 0.25 %), so that the values depend neither on
// threads nor on memory.
#include "base/progress.h"
#include "print/cover.h"
#include "print/loupe_kinds.h"
#include "print/loupe_plate.h"
#include "print/renderer.h"

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

namespace kirtle {

struct LoupePiece;

constexpr double kLeastLoupeDpi = 300, kMostLoupeDpi = 4800;

/// Part of the print, from its top left corner.
struct LoupeWindow {
  Mm x{0}, y{0}, width{0}, height{0};
  double dpi = 1200;  ///< device pixels per inch, kLeastLoupeDpi..kMostLoupeDpi
};

struct LoupeSettings {
  bool scatter = true;     ///< light spreads sideways; without, each pile is seen by itself
  std::uint32_t seed = 1;  ///< which dots near the stencil's limit are lost
  int band_step = 2;       ///< the spread is worked out in every such band, 1..9; 1 = all
  DotRaster dots = DotRaster::counted;
  /// In place of LoupeScatter, if there is one: adds the light that goes sideways to xyz. For slow twins.
  void (*other_scatter)(const LoupePiece&, std::span<const double> fibre_shares,
                        std::span<XYZf> xyz) = nullptr;
};

class Loupe {
 public:
  /// covers: one a plate of the table, in its order, all of one size. Both must outlive this.
  Loupe(const OverprintTable& table, const std::vector<PlateCover>& covers,
        const LoupeSettings& settings = {});

  /// Device pixels of a window.
  static int pixels(Mm length, double dpi);

  /// The window, row by row from the top. scale 0 < scale <= 1: each output pixel is the area mean, in XYZ,
  /// of the device pixels under it. The values do not depend on `threads`. Throws Cancelled.
  void render(const LoupeWindow& window, double scale, unsigned threads, const Progress& progress,
              const std::function<void(int y0, int rows, std::span<const XYZf> xyz)>& sink) const;

  /// Border of a tile in device pixels, on each side.
  int border(double dpi) const;

 private:
  struct Layers;
  struct Worker;
  void tile(const DeviceRaster& raster, const std::vector<PlateBand>& bands, const DeviceRect& rect,
            int border, Worker& worker, std::span<XYZf> out, std::size_t stride) const;
  void mix(const Layers& layers, const DeviceRect& rect, int border, std::size_t wide, Worker& worker,
           XYZf* out, std::size_t stride) const;

  const OverprintTable& table_;
  std::vector<LoupePlate> plates_;
  LoupeSettings settings_;
  LoupeKinds kinds_;
};

}  // namespace kirtle
