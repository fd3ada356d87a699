#pragma once
// What each plate covers on the cloth, row by row: tints through the tone curve, contours moved by the ink
// spread, soaked doses blurred by wicking, all of it where the plate lands.
//
// Order: tone curve and contours at plate resolution, then the register transform. Nothing is averaged before
// mixing.
#include "plate/contour.h"
#include "press/register.h"
#include "screen/tone.h"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace kirtle {

struct CoverSettings {
  ToneSettings tone;
  bool field = false;  ///< a soaked dose: its amount is kept, so no spread; wicking blurs it instead
  Mm wick{0};          ///< 1 s.d. of that blur
  RegisterOffset offset;
};

/// Rows of one plate as printed.
struct CoverRows {
  int width = 0, y0 = 0, rows = 0;
  std::vector<std::uint16_t>
      cover;                       ///< 0..65535: share of the pixel covered (dots, edges), or dose of a field
  std::vector<float> distance;     ///< to the printed contour in pixels, negative inside; empty for a field
  std::vector<std::uint8_t> tint;  ///< 1 where the cover is a tint's, not a contour's; empty for a field
  int x0 = 0;                      ///< of the first column, where not the whole width is meant
  std::vector<std::uint8_t>
      near;  ///< near_blocks(x0, width) a row: 0 where a block is beyond reach; empty for a field
};

/// Memory of PlateCover::box(), to be used again. One a thread.
struct CoverScratch {
  ContourScratch contour;
  DistanceRows distance;
  CoverRows sharp, unshifted;
  std::vector<std::uint16_t> differs;  ///< of even_cells(): one a column of the plate
  std::vector<int> since;
};

/// Columns of a cell of PlateCover::even_cells().
constexpr int kEvenCell = 16;

/// A pixel whose contour is nearer than this is cut by it.
constexpr float kEdgeHalfWidth = 0.5F;

/// Contours move by at most so many pixels; a spread beyond belongs to no plate of that resolution.
constexpr double kMostSpreadPx = 60;

/// One plate on the cloth. Thread-safe.
class PlateCover {
 public:
  /// The image must outlive this.
  PlateCover(const PlateImage& image, double ppi, const CoverSettings& settings);
  /// Rows y0 .. y0 + rows - 1 of the print; rows outside it are without ink.
  CoverRows rows(int y0, int rows) const;
  /// The same for a box whose columns lie within the print: the same values.
  CoverRows box(const PixelBox& box) const;
  /// The same into rows that may hold others; where CoverRows::near is 0, distances and tints may be
  /// anything.
  void box(const PixelBox& box, CoverScratch& scratch, CoverRows& out) const {
    make(box, DistanceFill::near, scratch, out);
  }
  /// Of cells of kEvenCell columns, side by side from the print's left border, in rows y0 .. y0 + rows - 1:
  /// the one cover (0..65535) of all pixels of a cell and of the pixels next to it, if film of one value lies
  /// there and around, so that no contour is near. Nothing is said of other cells, be they even or not.
  ///   cells  as many as the print has, (width + kEvenCell - 1) / kEvenCell
  void even_cells(int y0, int rows, CoverScratch& scratch,
                  std::span<std::optional<std::uint16_t>> cells) const;
  /// Coverage 0..1 of one pixel, worked out alone in double: the slow twin.
  double cover_at(int x, int y) const;

  /// Plate pixel, whole numbers at pixel centres, that lands on this place of the print (in its pixels).
  void source_of(double x, double y, double& sx, double& sy) const {
    const double cx = 0.5 * (image_.width - 1), cy = 0.5 * (image_.height - 1);
    const double px_per_mm = ppi_ / kMmPerInch;
    const double u = x - cx - settings_.offset.dx.v * px_per_mm,
                 v = y - cy - settings_.offset.dy.v * px_per_mm;
    sx = cx + map_[0] * u + map_[1] * v;
    sy = cy + map_[2] * u + map_[3] * v;
  }

  const PlateImage& image() const { return image_; }
  const CoverSettings& settings() const { return settings_; }
  bool field() const { return settings_.field; }
  double ppi() const { return ppi_; }
  /// How far contours move outward, and how far from them distances are known; in plate pixels.
  double spread_px() const { return spread_px_; }
  double reach_px() const { return reach_px_; }
  /// Plate pixels around one that have a say in what it covers.
  int halo_px() const;

 private:
  void make(const PixelBox& box, DistanceFill fill, CoverScratch& scratch, CoverRows& out) const;
  void unshifted(const PixelBox& box, DistanceFill fill, CoverScratch& scratch, CoverRows& out) const;
  void sharp(const PixelBox& box, DistanceFill fill, CoverScratch& scratch, CoverRows& out) const;
  template <class Sample>
  void tone_row(const Sample* v, std::size_t width, std::uint16_t* cover) const;
  template <class Sample>
  void even_cells_of(const Sample* ink, int y0, int rows, CoverScratch& scratch,
                     std::span<std::optional<std::uint16_t>> cells) const;
  PixelBox source_box(const PixelBox& box) const;
  void blur(const CoverRows& in, CoverRows& out) const;

  const PlateImage& image_;
  CoverSettings settings_;
  ToneCurve curve_;
  double ppi_ = 0, spread_px_ = 0, reach_px_ = 0;
  std::vector<std::uint16_t> tone_;  ///< printed, by code value
  std::vector<float> kernel_;        ///< half of the wicking blur, centre first
  double map_[4] = {1, 0, 0, 1};     ///< cloth to plate, about the centre
};

}  // namespace kirtle
