#pragma once
// Draws prints and films into panes. All colour comes from sim: the shader mixes what sim has worked out.
//
// A pane is drawn into a floating-point canvas as XYZ. While nothing changes, passes are added at other
// places within each pixel, so that the picture becomes smooth; the canvas then goes to the monitor through a
// table.
#include "display_table.h"
#include "gpu_print.h"

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// A rectangle of the canvas, pixels from its top left corner, and what it shows.
struct Pane {
  int x = 0, y = 0, width = 0, height = 0;
  int clip_left = 0, clip_right = 0;  ///< columns drawn, from the pane's left; 0, 0 = all
  View view;
  bool film = false;  ///< a plate's film; else the print
  int plate = 0;
  bool other = false;  ///< the build right of the line
  std::string light;   ///< "" = the scene's
  bool garment = false;
};

struct RenderSettings {
  int points = 1;        ///< a pixel, across and down, in each pass
  int most_points = 4;   ///< where a screen pixel covers several of the plate's, in each pass
  int most_passes = 16;  ///< while nothing changes
  float surround =
      0.46F;  ///< display value of the grey around: about Y 18 (neutral, in the spirit of ISO 3664)
  bool sims_pictures = true;    ///< what sim has drawn is shown where it fits; false for tests of the shader
  std::optional<double> loupe;  ///< for tests: 0 arm's length, 1 loupe, whatever the scale
  bool show_code = false;       ///< for tests: the overprint's number as X
};

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

  /// When the weight of the loupe starts and ends, in screen pixels a period of the finest screen.
  static constexpr double kLoupeFrom = 5, kLoupeWhole = 9;
  static double loupe_weight(const Build& build, double px_per_mm);

 private:
  void draw_pane(const Session& session, const Pane& pane, int canvas_height);
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

  GpuPrints gpu_;
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
