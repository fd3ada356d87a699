#include "window.h"

#include "app.h"
#include "shot.h"

#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>

namespace kirtle {

namespace {

std::string glfw_error;

struct Glfw {
  Glfw() {
    glfwSetErrorCallback([](int, const char* text) { glfw_error = text; });
    if (glfwInit() != GLFW_TRUE) throw GlError("no window can be opened: " + glfw_error);
  }
  ~Glfw() { glfwTerminate(); }
};

void dropped(GLFWwindow* window, int count, const char** files) {
  if (count > 0) static_cast<Session*>(glfwGetWindowUserPointer(window))->open(files[0]);
}

}  // namespace

void run_window(const ViewerArguments& a) {
  const Glfw glfw;
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
  GLFWwindow* window = glfwCreateWindow(a.width, a.height, "kirtle-view", nullptr, nullptr);
  if (window == nullptr) throw GlError("no window with OpenGL 3.3 can be opened: " + glfw_error);
  glfwMakeContextCurrent(window);
  glfwSwapInterval(1);
  Session session;
  glfwSetWindowUserPointer(window, &session);
  glfwSetDropCallback(window, dropped);
  ImGui::CreateContext();
  ImGui_ImplGlfw_InitForOpenGL(window, true);
  ImGui_ImplOpenGL3_Init("#version 330 core");
  {
    float scale_x = 1, scale_y = 1;
    glfwGetWindowContentScale(window, &scale_x, &scale_y);
    const float scale = a.scale_given ? static_cast<float>(a.scale) : scale_x;
    App app(session, scale, draws_in_software(reinterpret_cast<const char*>(glGetString(GL_RENDERER))));
    session.screen_px_per_mm = 3.78 * static_cast<double>(scale_x);
    if (a.profile) app.renderer().set_profile(a.profile);
    int width = 0, height = 0;
    glfwGetFramebufferSize(window, &width, &height);
    const Area canvas = app.layout(static_cast<float>(width), static_cast<float>(height)).canvas;
    apply(a, session, static_cast<double>(canvas.width), static_cast<double>(canvas.height));
    double last = glfwGetTime();
    bool more = true;
    bool fitted = session.is_open();
    while (glfwWindowShouldClose(window) == GLFW_FALSE) {
      // Work beside the window is looked for ten times a second while nothing else goes on.
      if (more || session.playing())
        glfwPollEvents();
      else
        glfwWaitEventsTimeout(session.predicting() || session.run_busy() ? 0.05 : 0.1);
      const double now = glfwGetTime();
      session.advance(now - last);
      last = now;
      more = session.poll();
      glfwGetFramebufferSize(window, &width, &height);
      if (width == 0 || height == 0) continue;
      const Area place = app.layout(static_cast<float>(width), static_cast<float>(height)).canvas;
      if (!fitted && session.is_open()) {
        session.fit(static_cast<double>(place.width), static_cast<double>(place.height), false);
        glfwSetWindowTitle(window, (printable(session.scene().title, 80) + " - kirtle-view").c_str());
        fitted = true;
      }
      ImGui_ImplOpenGL3_NewFrame();
      ImGui_ImplGlfw_NewFrame();
      ImGui::NewFrame();
      app.panels(static_cast<float>(width), static_cast<float>(height));
      ImGui::Render();
      glBindFramebuffer(GL_FRAMEBUFFER, 0);
      glViewport(0, 0, width, height);
      glClearColor(0.17F, 0.17F, 0.17F, 1);
      glClear(GL_COLOR_BUFFER_BIT);
      more = app.draw(width, height, 0) || more;
      ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
      glfwSwapBuffers(window);
    }
  }
  ImGui_ImplOpenGL3_Shutdown();
  ImGui_ImplGlfw_Shutdown();
  ImGui::DestroyContext();
  glfwDestroyWindow(window);
}

}  // namespace kirtle
