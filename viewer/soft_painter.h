#pragma once
// Prints drawn by the processor: for drivers that draw in software, where a shader of this kind takes a
// second a frame. The same codes, the same order of work as viewer/shaders; colours straight from sim's
// table, remembered.
#include "renderer_types.h"
#include "session.h"

#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

class SoftPainter {
 public:
  explicit SoftPainter(unsigned threads = 0);
  ~SoftPainter();

  /// Adds one pass of a pane to a canvas of XYZ and cover, 4 floats a pixel, rows from the top.
  ///   within  place in the pixel, -0.5..0.5 each way
  ///   coarse  so many pixels a side get one colour: 1, or more while things move
  /// What it leaves out against the shader: lost is the wicking of single dots under the loupe until sim has
  /// drawn it; the joint cover of plates of one screen is that of the last prediction while they are moved.
  void add(const Session& session, const Pane& pane, const RenderSettings& settings, const float within[2],
           int coarse, std::span<float> canvas, int canvas_width, int canvas_height);

 private:
  struct Colours;  // a table under one light, with what each thread remembers of it
  struct Small;    // sim's picture with smaller ones of it
  Colours& colours_of(const std::shared_ptr<const Build>& build, const std::string& light);
  const Small& small_of(const std::shared_ptr<const Pyramid>& pyramid);

  unsigned threads_;
  std::vector<std::unique_ptr<Colours>> colours_;
  std::unique_ptr<Small> small_;
};

}  // namespace kirtle
