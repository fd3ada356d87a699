#include "window.h"

#include "shot.h"

#include <GLFW/glfw3.h>
#include <algorithm>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>

namespace kirtle {

namespace {

std::string glfw_error;

void dropped(GLFWwindow* window, int count, const char** files) {
  if (count > 0) static_cast<Session*>(glfwGetWindowUserPointer(window))->open(files[0]);
}

GLFWwindow* opened(const ViewerArguments& a, bool debug) {
  glfwSetErrorCallback([](int, const char* text) { glfw_error = text; });
  if (glfwInit() != GLFW_TRUE) throw GlError("no window can be opened: " + glfw_error);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
  glfwWindowHint(GLFW_OPENGL_DEBUG_CONTEXT, debug ? GLFW_TRUE : GLFW_FALSE);
  GLFWwindow* window = glfwCreateWindow(a.width, a.height, "kirtle-view", nullptr, nullptr);
  if (window == nullptr) {
    glfwTerminate();
    throw GlError("no window with OpenGL 3.3 can be opened: " + glfw_error);
  }
  return window;
}

}  // namespace

Window::Window(const ViewerArguments& a, bool debug) : arguments_(a), window_(opened(a, debug)) {
  glfwMakeContextCurrent(window_);
  glfwSwapInterval(1);
  glfwSetWindowUserPointer(window_, &session_);
  glfwSetDropCallback(window_, dropped);
  ImGui::CreateContext();
  ImGui_ImplGlfw_InitForOpenGL(window_, true);
  ImGui_ImplOpenGL3_Init("#version 330 core");
  float scale_x = 1, scale_y = 1;
  glfwGetWindowContentScale(window_, &scale_x, &scale_y);
  const bool software = draws_in_software(reinterpret_cast<const char*>(glGetString(GL_RENDERER)));
  app_ = std::make_unique<App>(session_, a.scale_given ? static_cast<float>(a.scale) : scale_x, software);
  session_.screen_px_per_mm =
      3.78 * static_cast<double>(scale_x);  // 96 dots per inch, until a ruler says better
  if (a.profile) app_->renderer().set_profile(a.profile);
  glfwGetFramebufferSize(window_, &width_, &height_);
  const Area canvas = app_->layout(static_cast<float>(width_), static_cast<float>(height_)).canvas;
  apply(a, session_, static_cast<double>(canvas.width), static_cast<double>(canvas.height));
  fitted_ = session_.is_open();
  last_ = glfwGetTime();
}

Window::~Window() {
  app_.reset();
  ImGui_ImplOpenGL3_Shutdown();
  ImGui_ImplGlfw_Shutdown();
  ImGui::DestroyContext();
  glfwDestroyWindow(window_);
  glfwTerminate();
}

bool Window::frame(bool may_wait) {
  // Work beside the window is looked for ten times a second while nothing else goes on.
  if (!may_wait || more_ || session_.playing()) {
    glfwPollEvents();
  } else {
    glfwWaitEventsTimeout(session_.predicting() || session_.run_busy() ? 0.05 : 0.1);
  }
  const double now = glfwGetTime();
  session_.advance(now - last_);
  last_ = now;
  more_ = session_.poll();
  glfwGetFramebufferSize(window_, &width_, &height_);
  if (width_ == 0 || height_ == 0) return glfwWindowShouldClose(window_) == GLFW_FALSE;
  const Area canvas = app_->layout(static_cast<float>(width_), static_cast<float>(height_)).canvas;
  if (!fitted_ && session_.is_open()) {
    session_.fit(static_cast<double>(canvas.width), static_cast<double>(canvas.height), false);
    glfwSetWindowTitle(window_, (printable(session_.scene().title, 80) + " - kirtle-view").c_str());
    fitted_ = true;
  }
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  ImGui::NewFrame();
  app_->panels(static_cast<float>(width_), static_cast<float>(height_));
  ImGui::Render();
  glBindFramebuffer(GL_FRAMEBUFFER, 0);
  glViewport(0, 0, width_, height_);
  glClearColor(0.17F, 0.17F, 0.17F, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  more_ = app_->draw(width_, height_, 0) || more_;
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  if (grabs_) {
    pixels_.resize(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_) * 3);
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, width_, height_, GL_RGB, GL_UNSIGNED_BYTE, pixels_.data());
  }
  glfwSwapBuffers(window_);
  return glfwWindowShouldClose(window_) == GLFW_FALSE;
}

const std::vector<std::uint8_t>& Window::grab() {
  grabs_ = true;
  frame(false);
  grabs_ = false;
  const std::size_t row = static_cast<std::size_t>(width_) * 3, rows = static_cast<std::size_t>(height_);
  for (std::size_t y = 0; y < rows / 2; ++y)
    std::swap_ranges(pixels_.begin() + static_cast<std::ptrdiff_t>(y * row),
                     pixels_.begin() + static_cast<std::ptrdiff_t>((y + 1) * row),
                     pixels_.begin() + static_cast<std::ptrdiff_t>((rows - 1 - y) * row));
  return pixels_;
}

void run_window(const ViewerArguments& a) {
  Window window(a);
  while (window.frame(true)) {
  }
}

}  // namespace kirtle
