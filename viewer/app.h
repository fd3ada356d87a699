#pragma once
// The window's contents: session, renderer and panels, into whatever framebuffer there is.
#include "panels/panel.h"

#include <memory>

namespace kirtle {

class App {
 public:
  /// The context must be current, Dear ImGui's own context made. scale: of text, 1 at 96 dots per inch.
  App(Session& session, float scale, bool software);

  /// Between ImGui::NewFrame and ImGui::Render: the panels.
  void panels(float width, float height);
  /// After it: the print into the canvas's place. True if another frame would make it finer. only_canvas: the
  /// print fills everything.
  bool draw(int width, int height, GLuint framebuffer, bool only_canvas = false);

  Renderer& renderer() { return renderer_; }
  WindowState& window() { return window_; }
  Layout layout(float width, float height) const { return Layout::of(width, height, look_.scale); }

 private:
  void look_close(const std::vector<Pane>& panes);
  Session& session_;
  std::vector<double> still_view_;
  double still_since_ = 0;
  Look look_;
  Renderer renderer_;
  WindowState window_;
};

}  // namespace kirtle
