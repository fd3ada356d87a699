#pragma once
// The window itself: GLFW, Dear ImGui's backends, files dropped, drawing only when something changed.
#include "app.h"
#include "command_line.h"

#include <cstdint>
#include <memory>
#include <vector>

struct GLFWwindow;

namespace kirtle {

class Window {
 public:
  /// Throws InputError, GlError. debug: a debug context.
  explicit Window(const ViewerArguments& arguments, bool debug = false);
  ~Window();
  Window(const Window&) = delete;
  Window& operator=(const Window&) = delete;

  /// Takes in what happened and draws. Waits a little if nothing goes on and `may_wait`. False once the
  /// window is closed.
  bool frame(bool may_wait);
  /// RGB of the last frame, rows from the top.
  const std::vector<std::uint8_t>& grab();

  Session& session() { return session_; }
  App& app() { return *app_; }
  GLFWwindow* glfw() { return window_; }
  int width() const { return width_; }
  int height() const { return height_; }

 private:
  ViewerArguments arguments_;
  GLFWwindow* window_ = nullptr;
  Session session_;
  std::unique_ptr<App> app_;
  std::vector<std::uint8_t> pixels_;
  double last_ = 0;
  int width_ = 0, height_ = 0;
  bool more_ = true, fitted_ = false, grabs_ = false;
};

/// Opens the window and stays until it is closed. Throws InputError, GlError.
void run_window(const ViewerArguments& arguments);

}  // namespace kirtle
