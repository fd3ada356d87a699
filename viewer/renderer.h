#pragma once
// Draws prints and films into panes. All colour comes from sim: the shader mixes what sim has worked out.
//
// A pane is drawn into a floating-point canvas as XYZ. While nothing changes, passes are added at other
// places within each pixel, so that the picture becomes smooth; the canvas then goes to the monitor through a
// table.
#include "display_table.h"
#include "gpu_print.h"
#include "renderer_types.h"
#include "soft_painter.h"

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

class Renderer {
 public:
  Renderer();
  RenderSettings settings;

  /// Monitor's profile; none = sRGB. Throws InputError.
  void set_profile(std::optional<std::filesystem::path> profile);
  /// The monitor's space and how far the table is off, once something was drawn.
  const DisplayTable* display_table() const { return tables_.empty() ? nullptr : &tables_.front().table; }

  /// Draws the panes and shows them at (x, y), from the lower left, of a framebuffer. True if another call
  /// would make the picture finer.
  bool draw(const Session& session, std::span<const Pane> panes, int width, int height, GLuint framebuffer,
            int x, int y);
  int passes() const { return passes_; }

  /// XYZ of the canvas after draw(), rows from the top, 4 floats a pixel (X, Y, Z, cover).
  std::vector<float> xyz() const;

  /// 0 at arm's length .. 1 under the loupe, at this scale.
  static double loupe_weight(const Build& build, double px_per_mm);

 private:
  void draw_points(const Session& session, std::span<const Pane> panes, int height, bool moved);
  /// most_points: a pixel side; 0 = as many as there should be.
  void draw_pane(const Session& session, const Pane& pane, int canvas_height, int most_points);
  void draw_doses(const Build& build, const PrintPrograms& programs, const Pane& pane, double step);
  void bind_plates(const GlProgram& program, const Build& build, const PlateTextures& textures,
                   const std::shared_ptr<const Build>& owner);
  struct Table {
    DisplayTable table;
    GlTexture texture;
  };
  const Table& table_for(const XYZ& white);
  void show(const Session& session, std::span<const Pane> panes, GLuint framebuffer, int x, int y);
  std::vector<double> frame_key(const Session& session, std::span<const Pane> panes, int width,
                                int height) const;

  void draw_softly(const Session& session, std::span<const Pane> panes, bool moved);

  GpuPrints gpu_;
  SoftPainter soft_;
  std::vector<float> soft_canvas_;
  double soft_ms_ = 0;  ///< what the last pass took
  bool soft_coarse_ = false;
  GlStopwatch stopwatch_;
  int timed_points_ = 0;   ///< points a pixel side, of what the stopwatch times
  double point_ms_ = 0;    ///< what one point a pixel takes
  int moving_points_ = 1;  ///< a pixel side, while things move
  bool coarse_ = false;    ///< the last frame had fewer points than it should
  GLuint vertices_ = 0, block_ = 0;
  GlCanvas canvas_;
  GlProgram display_, blur_;
  GlTexture garment_, nothing_;
  std::vector<Table> tables_;
  std::optional<std::filesystem::path> profile_;
  std::vector<GlCanvas> dose_, dose_between_;
  float dose_place_[4] = {};
  std::vector<double> key_;
  int passes_ = 0;
};

}  // namespace kirtle
