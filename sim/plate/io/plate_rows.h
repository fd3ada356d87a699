#pragma once
// Rows of samples out of a PNG or TIFF become film coverage in a plate. Internal to plate/io.
#include "plate/io/source_file.h"

#include <cstdint>

namespace kirtle::detail {

/// How the samples of one pixel lie.
struct PixelLayout {
  bool rgb = false;    ///< three samples that must be equal; else one grey
  bool alpha = false;  ///< one more sample, ignored
  int channels() const { return (rgb ? 3 : 1) + (alpha ? 1 : 0); }
};

class PlateRows {
 public:
  /// Makes room for the plate: sizes must have been checked. `invert`: ink = max - grey.
  PlateRows(const SourceFile& file, const PlateHeader& header, PixelLayout layout, bool invert);

  PixelLayout layout() const { return layout_; }
  /// Where row y goes: one-grey rows may be read straight into it and then be turned by finish_row().
  void* row(int y);
  void finish_row(int y, int count);

  /// `count` pixels, channels interleaved, to (x0, y), (x0 + step, y), ... Throws InputError at a pixel with
  /// colour.
  void put(int y, int x0, int step, int count, const void* samples);
  /// One plane alone of a planar picture: plane 0 is kept, the next two must equal it, the one after is
  /// alpha.
  void put_plane(int plane, int y, int x0, int count, const void* samples);

  /// Notices of what was accepted or ignored, then the plate.
  PlateImage take(Diagnostics& notes);

 private:
  template <class Sample>
  void put_samples(int y, int x0, int step, int count, const Sample* samples);
  template <class Sample>
  void put_plane_samples(int plane, int y, int x0, int count, const Sample* samples);
  template <class Sample>
  std::vector<Sample>& store();
  [[noreturn]] void refuse_colour(int x, int y, int r, int g, int b) const;

  const SourceFile& file_;
  PixelLayout layout_;
  bool invert_;
  bool transparent_ = false;
  PlateImage plate_;
};

}  // namespace kirtle::detail
